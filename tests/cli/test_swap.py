"""What a user does with a swap: take it, limit it, name the line, keep lines as they are."""

import datetime
import io
import json
from pathlib import Path

import pytest

from kb.engine.accepting import key_of
from kb.engine.opening import open_formula
from kb.formula.reading import read_formula
from kb.store.opening import open_snapshot
from tests.cli.conftest import Kb, Said
from tests.cli.schemas import faults
from tests.cli.test_commands import tidy


def tree(said: Said) -> dict:
    return json.loads(said.out)


def stand_ins(said: Said) -> list[str]:
    return [swap["replace"][0]["ingredient"] for swap in tree(said)["swaps"]]


def test_first_answer_is_written_and_reads_back(kb: Kb, folder: Path) -> None:
    said = kb("swap", "cream.toml", "beeswax", "-o", "new.toml", "--json")
    assert said.code == 0
    assert said.err == "Wrote new.toml.\n"
    best = tree(said)["swaps"][0]
    new, old = read_formula("new.toml"), read_formula("cream.toml")
    assert abs(new.total - 100.0) < 1e-3
    assert len(new.lines) == len(old.lines)
    assert [n.stage for n in new.lines] == [o.stage for o in old.lines]
    for written, promised in zip(new.lines, best["formula"], strict=True):
        assert written.percent == pytest.approx(promised["percent"], abs=1e-3)
    assert new.lines[6].given == best["replace"][0]["inci"]
    assert (
        tree(kb("check", "new.toml", "--json"))["lines"][6]["ingredient"]
        == (best["replace"][0]["ingredient"])
    )
    version = new.versions[-1]
    assert version["file"] == "cream.toml"
    assert version["key"] == key_of(open_formula(old, open_snapshot()))[:12]
    assert version["date"] == datetime.date.today().isoformat()
    assert "instead of Cera Alba 2.5 %" in str(version["change"])
    assert version["why"]
    assert sorted(p.name for p in folder.iterdir()) == ["cream.toml", "lotion.toml", "new.toml"]


def test_an_existing_file_stays_unless_forced(kb: Kb, folder: Path) -> None:
    target = folder / "new.toml"
    target.write_text("mine")
    said = kb("swap", "cream.toml", "beeswax", "-o", "new.toml")
    assert (said.code, said.out) == (2, "")
    assert "--force" in said.err
    assert target.read_text() == "mine"
    assert kb("swap", "cream.toml", "beeswax", "-o", "new.toml", "--force").code == 0
    assert read_formula("new.toml").name == "Winter hand cream"


def test_a_place_that_cannot_be_written(kb: Kb, folder: Path) -> None:
    (folder / "shut").mkdir()
    for place in ("none/new.toml", "shut", "cream.toml/new.toml", "bad\0name.toml"):
        said = kb("swap", "cream.toml", "beeswax", "-o", place)
        assert said.code == 2, place
        assert "Traceback" not in said.err


@pytest.mark.skipif(not Path("/dev/null").exists(), reason="no devices here")
def test_a_device_is_never_replaced(kb: Kb) -> None:
    said = kb("swap", "cream.toml", "beeswax", "-o", "/dev/null", "--force")
    assert said.code == 2
    assert Path("/dev/null").is_char_device()
    assert kb("build", "-o", "/dev/null", "--force").code == 2
    assert Path("/dev/null").is_char_device()


def test_a_link_is_written_through_and_rights_stay(kb: Kb, folder: Path) -> None:
    real = folder / "real.toml"
    real.write_text("old")
    real.chmod(0o600)
    (folder / "link.toml").symlink_to(real)
    assert kb("swap", "cream.toml", "beeswax", "-o", "link.toml", "--force").code == 0
    assert (folder / "link.toml").is_symlink()
    assert real.stat().st_mode & 0o777 == 0o600
    assert read_formula(str(real)).name == "Winter hand cream"


def test_the_formula_itself_may_be_the_target(kb: Kb) -> None:
    before = read_formula("cream.toml")
    assert kb("swap", "cream.toml", "beeswax", "-o", "cream.toml").code == 2
    assert read_formula("cream.toml") == before
    assert kb("swap", "cream.toml", "beeswax", "-o", "cream.toml", "--force").code == 0
    assert read_formula("cream.toml").note.startswith(before.note)


def test_to_standard_output_alone(kb: Kb, folder: Path) -> None:
    said = kb("swap", "cream.toml", "beeswax", "-o", "-")
    assert (said.code, said.err) == (0, "")
    (folder / "piped.toml").write_text(said.out)
    assert abs(read_formula("piped.toml").total - 100.0) < 1e-3
    assert kb("check", "-", stdin=said.out.encode()).code == 0
    assert kb("swap", "cream.toml", "beeswax", "-o", "-", "--json").code == 2


def test_policies_add_up(kb: Kb) -> None:
    free = stand_ins(kb("swap", "cream.toml", "beeswax", "--top", "30", "--json"))
    vegan = stand_ins(
        kb("swap", "cream.toml", "beeswax", "--top", "30", "--policy", "vegan", "--json")
    )
    both = kb(
        *("swap", "cream.toml", "beeswax", "--top", "30", "--json"),
        *("--policy", "Vegan", "--policy", "no-mineral-oil"),
    )
    assert {"lanolin", "cera-alba--white", "spermaceti"}.isdisjoint(vegan)
    assert "cera-microcristallina" in free
    assert "cera-microcristallina" not in stand_ins(both)
    refused = {r["ingredient"]: r["rule"] for r in tree(both)["rejected"]}
    assert refused["cera-microcristallina"] == "policy"


def test_an_unknown_policy_is_a_slip(kb: Kb) -> None:
    said = kb("swap", "cream.toml", "beeswax", "--policy", "veggan")
    assert said.code == 2
    assert "vegan" in said.err


def test_only_what_is_on_the_shelf(kb: Kb, folder: Path) -> None:
    (folder / "stock.csv").write_text("name,kg\nCandelilla wax,2\nSomething Odd\x1b[2J,1\nTalc,3\n")
    said = kb("swap", "cream.toml", "beeswax", "--shelf", "stock.csv", "--json")
    assert said.code == 0
    assert stand_ins(said) == ["euphorbia-cerifera-cera"]
    assert "not known and is left out" in said.err
    tidy(said.err)


@pytest.mark.parametrize("as_json", [False, True])
def test_nothing_acceptable_is_code_5_with_the_result(kb: Kb, folder: Path, as_json: bool) -> None:
    (folder / "stock.csv").write_text("name\nTalc\nMagnesium Sulfate\n")
    said = kb(
        *("swap", "cream.toml", "beeswax", "--shelf", "stock.csv", "-o", "new.toml"),
        *(["--json"] if as_json else []),
    )
    assert said.code == 5
    assert "Nothing was written" in said.err
    assert not (folder / "new.toml").exists()
    if as_json:
        assert faults("swap", tree(said)) == []
        assert tree(said)["swaps"] == []
        assert tree(said)["nearest_miss"]["rule"]
    else:
        tidy(said.out)
        assert "Nothing acceptable" in said.out
        assert "Nearest miss" in said.out


def lines(*rows: tuple[str, object, str]) -> str:
    return "\n".join(
        f'[[line]]\ningredient = "{name}"\npercent = {percent}\n{more}\n'
        for name, percent, more in rows
    )


TWICE = lines(
    ("Beeswax", 4, 'stage = "oil"'),
    ("Sunflower oil", 60, ""),
    ("Cera alba", 6, 'stage = "oil"'),
    ("Jojoba oil", 30, ""),
)


def test_a_name_on_two_lines_wants_a_number(kb: Kb, folder: Path) -> None:
    (folder / "twice.toml").write_text(TWICE)
    said = kb("swap", "twice.toml", "cera-alba")
    assert said.code == 3
    assert "lines 1 and 3" in said.err
    assert "--line" in said.err
    for number in ("1", "3"):
        said = kb("swap", "twice.toml", "cera-alba", "--line", number, "--json", "--top", "1")
        assert tree(said)["line"]["line"] == int(number)
    for number in ("2", "0", "5", "-1", "x"):
        assert kb("swap", "twice.toml", "cera-alba", "--line", number).code == 2, number


def test_a_locked_line_stays(kb: Kb, folder: Path) -> None:
    (folder / "locked.toml").write_text(
        lines(
            ("Beeswax", 10, "locked = true"),
            ("Sunflower oil", 60, "locked = true"),
            ("Jojoba oil", 20, ""),
            ("Candelilla wax", 10, ""),
        )
    )
    said = kb("swap", "locked.toml", "beeswax")
    assert said.code == 3
    assert "locked" in said.err
    said = kb("swap", "locked.toml", "candelilla wax", "--json", "--top", "3")
    for swap in tree(said)["swaps"]:
        kept = {one["ingredient"]: one["percent"] for one in swap["formula"]}
        assert kept["cera-alba"] == 10.0
        assert kept["helianthus-annuus-seed-oil"] == 60.0


def test_strict_stops_at_an_unknown_line(kb: Kb, folder: Path) -> None:
    text = lines(("Beeswax", 10, ""), ("Sunflower oil", 80, ""), ("Unobtainium wax", 10, ""))
    (folder / "odd.toml").write_text(text)
    assert kb("swap", "odd.toml", "beeswax", "--top", "1").code == 0
    for command in (("swap", "odd.toml", "beeswax"), ("check", "odd.toml")):
        said = kb(*command, "--strict", "--json")
        assert said.code == 3
        assert len(tree(said)["error"]["nearest"]) == 3
        assert "odd.toml" in tree(said)["error"]["where"]
    said = kb("swap", "odd.toml", "Unobtainium wax", "--json")
    assert said.code == 3
    assert len(tree(said)["error"]["nearest"]) == 3
    checked = tree(kb("check", "odd.toml", "--json"))
    assert checked["lines"][2]["ingredient"] is None
    assert [f["level"] for f in checked["findings"] if 3 in f["lines"]] == ["problem"]
    said = kb("check", "odd.toml")
    tidy(said.out)
    assert "Unobtainium wax" in said.out


def test_top_and_detail(kb: Kb) -> None:
    few = kb("swap", "cream.toml", "beeswax", "--top", "2", "--detail", "0")
    assert "\n 1  " in few.out or "\n1  " in few.out
    assert "\n1. " not in few.out
    assert "\n3. " not in kb("swap", "cream.toml", "beeswax", "--top", "2").out
    assert kb("swap", "cream.toml", "beeswax", "--top", "0").code == 2


def test_a_name_may_be_several_words(kb: Kb) -> None:
    assert kb("show", "zinc", "oxide").out == kb("show", "zinc oxide").out
    one = kb("swap", "cream.toml", "cocoa", "butter", "--top", "1", "--json")
    assert tree(one)["line"]["ingredient"] == "theobroma-cacao-seed-butter"
    for blank in ("", "  "):
        assert kb("show", blank).code == 2
        assert kb("find", blank).code == 2
        assert kb("swap", "cream.toml", blank).code == 2


def test_a_formula_from_standard_input(kb: Kb, folder: Path) -> None:
    text = (folder / "cream.toml").read_bytes()
    assert kb("check", "-", stdin=text).out == kb("check", "cream.toml").out
    sheet = "Rohstoff;Menge %\nBienenwachs;10,5\nSonnenblumenöl;89,5\n".encode("cp1252")
    said = kb("swap", "-", "beeswax", "--json", "--top", "1", stdin=sheet)
    assert tree(said)["line"]["percent"] == 10.5


def test_a_terminal_as_standard_input_is_not_waited_for(
    kb: Kb, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Terminal(io.TextIOWrapper):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr("io.TextIOWrapper", Terminal)
    said = kb("check", "-")
    assert said.code == 2
    assert "terminal" in said.err


def test_what_is_in_stock_may_be_preferred_and_priced(kb: Kb, folder: Path) -> None:
    (folder / "stock.csv").write_text(
        "name;kg;EUR/kg\nCandelilla wax;2;40\nBeeswax;5;18\n"
        "Caprylic/Capric Triglyceride;9;11\nOdd;1;\n"
    )
    plain = kb("swap", "cream.toml", "beeswax", "--json")
    said = kb("swap", "cream.toml", "beeswax", "--prefer-shelf", "stock.csv", "--json")
    assert said.code == 0
    assert "'Odd' is not known" in said.err
    assert faults("swap", tree(said)) == []
    assert len(stand_ins(said)) == len(stand_ins(plain))
    wanted = "euphorbia-cerifera-cera"
    assert stand_ins(said).index(wanted) <= stand_ins(plain).index(wanted)
    parts = {s["replace"][0]["ingredient"]: s["score"]["parts"] for s in tree(said)["swaps"]}
    assert parts[wanted]["shelf"] == 1.0
    assert all("shelf" not in s["score"]["parts"] for s in tree(plain)["swaps"])
    costs = {s["replace"][0]["ingredient"]: s["effects"]["cost"] for s in tree(said)["swaps"]}
    assert costs[wanted]["change"]["value"] is not None
    assert costs[wanted]["unit"] == "EUR per kg of formula"
    others = [c for name, c in costs.items() if name != wanted]
    assert all(c["change"]["value"] is None for c in others)
    text = kb("swap", "cream.toml", "beeswax", "--to", "candelilla wax", "--shelf", "stock.csv")
    assert "cost" in text.out
    assert "EUR/kg" in text.out
    tidy(text.out)


def test_the_dose_curve_is_drawn(kb: Kb, folder: Path) -> None:
    pytest.importorskip("matplotlib", reason="install the extra `plot`")
    asked = ("swap", "cream.toml", "beeswax", "--to", "candelilla wax")
    said = kb(*asked, "--dose-plot", "dose.svg")
    assert (said.code, said.err) == (0, "Wrote dose.svg.\n")
    first = (folder / "dose.svg").read_bytes()
    assert first.startswith(b"<?xml")
    assert kb(*asked, "--dose-plot", "dose.svg").code == 2
    assert kb(*asked, "--dose-plot", "dose.svg", "--force").code == 0
    assert (folder / "dose.svg").read_bytes() == first
    assert kb(*asked, "--plot", "one.svg", "--dose-plot", "one.svg").code == 2
    assert kb(*asked, "--dose-plot", "dose.txt").code == 2


def test_where_nothing_can_be_drawn_it_is_said(kb: Kb, folder: Path) -> None:
    pytest.importorskip("matplotlib", reason="install the extra `plot`")
    (folder / "powder.toml").write_text(lines(("Talc", 60, ""), ("Kaolin", 40, "")))
    said = kb("swap", "powder.toml", "talc", "--dose-plot", "dose.svg")
    assert said.code == 0
    assert "was not written" in said.err
    assert not (folder / "dose.svg").exists()
