"""Files and names that are wrong, odd or meant to harm: one clear answer, never a traceback."""

import json
import random
from pathlib import Path

import pytest

from kb.cli import formulas
from kb.store import opening
from tests.cli.cases import CASES
from tests.cli.conftest import STRANGE, Kb, Said
from tests.cli.schemas import faults
from tests.cli.test_commands import tidy

HEAD = "name,percent\n"
FILES = {
    "typo.toml": b'[[line]]\ningredient = "Beeswax\npercent = 3\n',
    "key.toml": b'[[lines]]\ningredient = "Beeswax"\npercent = 3\n',
    "binary.toml": bytes(range(256)) * 40,
    "picture.csv": b"\x89PNG\r\n\x1a\n" + bytes(2000),
    "empty.csv": b"",
    "blank.csv": b"\xef\xbb\xbf \r\n\r\n",
    "big.csv": b"Beeswax,1\n" * 500_000,
    "book.xlsx": b"PK\x03\x04" + bytes(500),
    "words.txt": b"dear diary, today I made a cream and it was good\n",
    "zero.csv": b"name,percent\nBeeswax,0\nSunflower oil,0\n",
    "unknown.csv": b"name,percent\nUnobtainium,50\nKryptonite,50\n",
    "minus.csv": b"name,percent\nBeeswax,-5\nSunflower oil,105\n",
    "nan.csv": b"name,percent\nBeeswax,nan\nSunflower oil,50\n",
    "endless.csv": b"name,percent\nBeeswax,1e400\nSunflower oil,50\n",
    "long.csv": b"name,percent\n" + b"Bees" * 100 + b",50\nSunflower oil,50\n",
    "grams.csv": b"name,percent\nBeeswax,300\nSunflower oil,700\n",
    "many.csv": b"name,percent\n" + b"Sunflower oil,0.05\n" * 2000,
}


def answered(said: Said) -> None:
    """Assert that a failure is told in a few tidy lines."""
    assert said.code in {2, 3}
    assert said.out == ""
    assert 2 <= len(said.err.splitlines()) <= 12
    assert "Traceback" not in said.err
    tidy(said.err)


@pytest.mark.parametrize("name", FILES)
def test_a_wrong_file(kb: Kb, folder: Path, name: str) -> None:
    (folder / name).write_bytes(FILES[name])
    for command in (("check", name), ("swap", name, "beeswax"), ("why", "--formula", name, "hlb")):
        answered(kb(*command))
    said = kb("check", name, "--json")
    assert faults("error", json.loads(said.out)) == []
    answered(kb("check", "-", stdin=FILES[name]))


def test_a_folder_or_a_path_that_leads_nowhere(kb: Kb, folder: Path) -> None:
    for path in (".", "", "/", "none/cream.toml", "cream.toml/x", "a" * 5000, "nul\0l", STRANGE):
        answered(kb("check", path))
        answered(kb("swap", "cream.toml", "beeswax", "--shelf", path or "."))


@pytest.mark.skipif(not hasattr(__import__("os"), "geteuid"), reason="needs owners of files")
def test_a_file_that_may_not_be_read(kb: Kb, folder: Path, monkeypatch) -> None:
    def refuse(self: Path, *args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    answered(kb("check", "cream.toml"))


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "Beeswax,100\n",
        HEAD + "Water,100\n",
        HEAD + "Beeswax,0\nSunflower oil,100\n",
        HEAD + "Beeswax,50\nUnobtainium,50\n",
        HEAD + "Beeswax,3\n" + "Sunflower oil,0.3\n" * 300,
        HEAD + "Beeswax,0.000001\nSunflower oil,99.999999\n",
        HEAD + "Beeswax,30\nSunflower oil,99\n",
        "Rohstoff;Menge in %\r\nBienenwachs;10,5\r\nSonnenblumenöl;89,5\r\n",
        HEAD + f'"{STRANGE}",5\nBeeswax,5\nSunflower oil,90\n',
        HEAD
        + "蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋蜂蝋,5\nBeeswax,95\n",
    ],
)
def test_an_odd_formula_is_still_answered(kb: Kb, text: str) -> None:
    data = text.encode("utf-8", "surrogatepass")
    for command in (("check", "-"), ("why", "--formula", "-", "consistency_25c")):
        said = kb(*command, stdin=data)
        assert said.code == 0, said.err
        tidy(said.out)
    wanted = "beeswax" if "Be" in text or "Bi" in text else "water"
    said = kb("swap", "-", wanted, "--top", "2", stdin=data)
    assert said.code in {0, 2, 3, 5}, said.err
    tidy(said.out + said.err)


def test_names_never_reach_the_terminal_raw(kb: Kb, folder: Path) -> None:
    for command in (
        ("find", STRANGE),
        ("show", STRANGE),
        ("roles", STRANGE),
        ("suits", STRANGE, "--system", "w/o"),
        ("suits", "beeswax", "--system", STRANGE),
        ("why", "beeswax", STRANGE),
        ("check", STRANGE),
        ("swap", "cream.toml", STRANGE),
        ("swap", "cream.toml", "beeswax", "--policy", STRANGE),
        ("swap", "cream.toml", "beeswax", "--to", STRANGE),
        ("swap", "cream.toml", "beeswax", "--present", STRANGE),
        ("swap", "cream.toml", "beeswax", "--as", STRANGE),
        (STRANGE,),
        ("find", "x", f"--{STRANGE}"),
        ("find", "beeswax", "--limit", STRANGE),
    ):
        said = kb(*command)
        assert said.code in {0, 2, 3}, command
        tidy(said.out + said.err)
        raw = kb(*command, "--json")
        assert not {"\x1b", "\x07", "\x9b", "\u202e", "\u200f"} & set(raw.out + raw.err)
        assert isinstance(json.loads(raw.out), dict)


def test_bytes_that_are_no_text_in_an_argument(kb: Kb) -> None:
    said = kb("find", "wax\udcff\ud800", "--json")
    assert said.code == 0
    said.out.encode("utf-8")
    assert json.loads(said.out)["text"].startswith("wax")
    tidy(kb("show", "wax\udcff\ud800").err)


def test_build_never_replaces_what_is_no_base(kb: Kb, folder: Path) -> None:
    before = (folder / "cream.toml").read_bytes()
    said = kb("build", "-o", "cream.toml", "--force")
    answered(said)
    assert (folder / "cream.toml").read_bytes() == before


def test_a_cache_that_cannot_be_written(kb: Kb, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("KB_DATABASE")
    monkeypatch.setenv("XDG_CACHE_HOME", "/dev/null/cache")
    said = kb("find", "beeswax")
    assert said.code == 4
    assert "Traceback" not in said.err
    tidy(said.err)


def test_a_fault_of_the_program_is_one_line(kb: Kb, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: object, **kwargs: object) -> None:
        raise ZeroDivisionError("division\nby \x1b zero")

    monkeypatch.setattr(opening, "open_names", broken)
    said = kb("find", "beeswax")
    assert (said.code, said.out) == (1, "")
    assert "ZeroDivisionError" in said.err
    assert "Traceback" not in said.err
    tidy(said.err)
    error = json.loads(kb("find", "beeswax", "--json").out)
    assert faults("error", error) == []
    assert error["error"]["code"] == 1
    for place in (("--debug", "find", "beeswax"), ("find", "beeswax", "--debug")):
        with pytest.raises(ZeroDivisionError):
            kb(*place)


def test_stopping_is_code_130(kb: Kb, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*args: object, **kwargs: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(formulas, "read_file", stopped)
    said = kb("check", "cream.toml")
    assert (said.code, said.out, said.err.strip()) == (130, "", "Stopped.")


def test_random_words_never_break_it(kb: Kb, folder: Path) -> None:
    chance = random.Random(7)
    words = [word for case in CASES for word in (*case.good, *case.bad) if word != "build"]
    words += ["--json", "--limit", "3", "-1", "--", "-", "", "--top", "1", "-h", "--line", "7"]
    words += ["--formula", "--system", "--as", "present", "--strict", STRANGE, "\udcff", "-o"]
    starts = ["find", "show", "roles", "suits", "why", "check", "data", "help", "swap"]
    for _ in range(150):
        some = [chance.choice(starts), *chance.choices(words, k=chance.randint(0, 4))]
        said = kb(*some)
        assert said.code in {0, 2, 3, 5}, some
        assert "Traceback" not in said.err, some
