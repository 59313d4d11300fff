"""The user's own world from the command line: a day of work, and every way it can fail."""

import json
import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Kb
from tests.cli.schemas import faults


def test_a_list_is_taken_shown_undone(kb: Kb, own: Path) -> None:
    kb("own", "list")
    own.unlink()
    assert "Nothing of your own yet" in kb("own", "list").out
    assert not own.exists()
    said = kb("own", "add", "materials.csv")
    assert said.code == 0
    assert "own-meadow-butter" in said.out
    assert "Meadow butter" in kb("own", "list").out
    assert "34 to 38" in kb("own", "show", "Meadow", "butter").out
    assert "added materials.csv" in kb("own", "undo").out
    assert "Nothing of your own yet" in kb("own", "list").out
    assert kb("own", "undo").code == 2


def test_own_values_say_that_they_are_yours_and_what_ours_is(kb: Kb) -> None:
    out = kb("own", "list").out
    row = next(line for line in out.splitlines() if "viscosity" in line)
    assert "52 mPa.s" in row and "(ours" in row and "yours" in row


def test_faults_name_line_and_column_and_nothing_is_taken(kb: Kb, own: Path) -> None:
    before = own.read_bytes()
    Path("odd.csv").write_text("name,form,melting_point\nThing,odd,-900\n", "utf-8")
    said = kb("own", "add", "odd.csv")
    assert said.code == 3
    assert said.out == ""
    for word in ("odd.csv:2 [form]", "odd.csv:2 [melting_point]", "odd.csv:2 [roles]", "wanted"):
        assert word in said.err
    tree = json.loads(kb("own", "add", "odd.csv", "--json").out)
    assert faults("error", tree) == []
    assert own.read_bytes() == before


def test_the_text_reads_in_again(kb: Kb, own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = kb("own", "export").out
    assert kb("own", "export", "-o", "mine.toml").code == 0
    assert Path("mine.toml").read_text("utf-8") == first
    assert kb("own", "export", "-o", "mine.toml").code == 2
    assert kb("own", "export", "-o", "mine.csv").code == 2
    monkeypatch.setenv("KB_OWN", "other.sqlite")
    assert kb("own", "add", "mine.toml").code == 0
    assert kb("own", "export").out == first


def test_templates_are_written_and_not_over_a_file(kb: Kb) -> None:
    for kind in ("materials", "facts", "edges", "limits", "shelf"):
        assert kb("own", "template", "--of", kind, "-o", f"{kind}-new.csv").code == 0
        assert Path(f"{kind}-new.csv").read_text("utf-8") == kb("own", "template", "--of", kind).out
    assert kb("own", "template", "-o", "cream.toml").code == 2
    assert kb("own", "template", "--of", "odd").code == 2


def test_backup_then_restore(kb: Kb, own: Path) -> None:
    assert kb("own", "backup", "kept.sqlite").code == 0
    assert kb("own", "backup", "kept.sqlite").code == 2
    assert kb("own", "backup", str(own), "--force").code == 2
    assert kb("own", "remove", "meadow butter").code == 0
    assert "Meadow butter" not in kb("own", "export").out.split("[[shelf]]")[0]
    assert kb("own", "restore", "kept.sqlite").code == 0
    assert "Meadow butter" in kb("own", "export").out.split("[[shelf]]")[0]
    assert kb("own", "restore", "cream.toml").code == 4


def test_own_file_that_is_newer_foreign_or_damaged(kb: Kb, own: Path) -> None:
    good = own.read_bytes()
    with closing(sqlite3.connect("newer.sqlite")) as raw:
        raw.execute("CREATE TABLE theirs (a)")
    foreign = Path("newer.sqlite").read_bytes()
    newer = good[:60] + (99).to_bytes(4, "big") + good[64:]
    for content, word in (
        (newer, "newer than this program"),
        (foreign, "no file of your own world"),
        (b"text", "damaged"),
        (good[: len(good) // 2], "damaged"),
    ):
        own.write_bytes(content)
        for command in (
            ("own", "list"),
            ("own", "show", "meadow butter"),
            ("own", "add", "materials.csv"),
            ("own", "shelf", "stock.csv"),
            ("own", "undo"),
            ("own", "export"),
            ("measured", "--list"),
            ("sheet", "cream.toml", "--batch", "1kg"),
            ("compare", "cream.toml", "lotion.toml"),
        ):
            said = kb(*command)
            assert (said.code, said.out) == (4, ""), (word, command)
            assert word in " ".join(said.err.split())
        assert own.read_bytes() == content
        assert os.listdir(own.parent) == ["own.sqlite"]
    # A damaged file gives way to a copy and is kept.
    assert kb("own", "restore", "copy.sqlite").code == 0
    assert len(os.listdir(own.parent)) == 2


def test_the_shelf_is_kept_and_priced(kb: Kb) -> None:
    tree = json.loads(kb("own", "shelf", "--json").out)
    rows = {row["name"]: row for row in tree["shelf"]}
    assert rows["Meadow butter"]["ingredient"] == "own-meadow-butter"
    assert rows["Meadow butter"]["price_per_kg"] == 18.5
    Path("new.csv").write_text("name,stock\nNo such thing zq,3 kg\n", "utf-8")
    said = kb("own", "shelf", "new.csv")
    assert said.code == 0
    assert "not known by this name" in said.out


def test_an_own_material_in_a_formula_is_made_and_compared(kb: Kb, own: Path) -> None:
    text = Path("cream.toml").read_text("utf-8").replace("Shea Butter", "Meadow butter")
    Path("mine.toml").write_text(text, "utf-8")
    tree = json.loads(kb("sheet", "mine.toml", "--batch", "1kg", "--json").out)
    assert tree["lines"][4]["ingredient"] == "own-meadow-butter"
    assert sum(line["grams"] for line in tree["lines"]) == pytest.approx(1000.0)
    assert "Meadow Seed Butter (yours)" in kb("compare", "cream.toml", "mine.toml").out


@pytest.mark.parametrize("ending", ["html", "md", "txt"])
def test_a_sheet_goes_to_a_file(kb: Kb, ending: str) -> None:
    name = f"sheet.{ending}"
    said = kb("sheet", "cream.toml", "--batch", "2.5kg", "-o", name)
    assert said.code == 0
    text = Path(name).read_text("utf-8")
    assert "Winter hand cream" in text and "1,510.0" in text
    again = kb("sheet", "cream.toml", "--batch", "1kg", "-o", name)
    assert again.code == 2
    assert Path(name).read_text("utf-8") == text


@pytest.mark.parametrize(
    "options",
    [
        ("--batch", "0"),
        ("--batch", "1kg", "-o", "sheet.docx"),
        ("--batch", "10g", "--balance", "5g"),
        (),
    ],
)
def test_a_sheet_that_cannot_be_made(kb: Kb, options: tuple[str, ...]) -> None:
    assert kb("sheet", "cream.toml", *options).code == 2


def test_measurements_are_logged_and_listed_by_formula(kb: Kb) -> None:
    how = ("--instrument", "rotational", "--spindle", "4", "--speed", "12 1/min", "--age", "24h")
    said = kb("measured", "cream.toml", "--consistency", "42000", *how, "--temperature", "25")
    assert said.code == 0
    assert "times that" in said.out
    assert kb("measured", "lotion.toml", "--ph", "5.2").code == 0
    tree = json.loads(kb("measured", "--list", "--json").out)
    assert len(tree["measured"]) == 2
    mine = json.loads(kb("measured", "cream.toml", "--list", "--json").out)["measured"]
    assert [(m["value"], m["spindle"], m["age_h"]) for m in mine] == [(42000, "4", 24)]
    assert mine[0]["measured_over_predicted"] > 0
    assert kb("measured", "cream.toml", "--list", "--ph", "5").code == 2
    assert kb("measured", "cream.toml", "--ph", "5", "--age", "old").code == 2


def test_a_full_disk_or_a_read_only_folder_is_told(
    kb: Kb, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kb.own import file as own_file

    real, before = own_file.open_file, own.read_bytes()

    def small(path: Path, mode: str) -> sqlite3.Connection:
        connection = real(path, mode)
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")
        return connection

    rows = "".join(f"Thing {n} {'x' * 60},{n}\n" for n in range(1000))
    Path("long.csv").write_text("name,stock\n" + rows, "utf-8")
    for opened, word in ((small, "disk is full"), (lambda p, m: real(p, "ro"), "KB_OWN")):
        monkeypatch.setattr(own_file, "open_file", opened)
        said = kb("own", "shelf", "long.csv")
        assert said.code == 4
        assert word in said.err
        assert own.read_bytes() == before
    monkeypatch.setattr(own_file, "open_file", real)
    shutil.rmtree(own.parent)
    assert kb("own", "list").code == 0


@pytest.mark.parametrize(
    ("command", "told"),
    [
        (["find", "meadow butter"], ["own-meadow-butter"]),
        (["show", "meadow butter"], ["yours: sheet 2025", "34 to 38"]),
        (["show", "jojoba oil"], ["52 (", "yours: sheet 2025"]),
        (["swap", "cream.toml", "beeswax", "--to", "valley beeswax"], ["yours", "63"]),
    ],
)
def test_every_command_knows_what_the_user_entered(
    kb: Kb, own: Path, command: list[str], told: list[str]
) -> None:
    said = kb(*command)
    assert said.code == 0, said.err
    for words in told:
        assert words in said.out
