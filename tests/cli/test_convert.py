"""A formula written as TOML, CSV or a workbook, from the command line."""

from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from kb.formula.reading import read_formula
from tests.cli.conftest import Kb


def test_the_way_round_gives_the_same_formula(kb: Kb, folder: Path) -> None:
    assert kb("convert", "cream.toml", "-o", "a.xlsx", "--language", "de").code == 0
    assert kb("convert", "a.xlsx", "-o", "b.csv", "--language", "fr").code == 0
    assert kb("convert", "b.csv", "-o", "c.toml").code == 0
    old, new = read_formula("cream.toml"), read_formula("c.toml")
    assert [replace(x, place="") for x in new.lines] == [replace(x, place="") for x in old.lines]
    assert replace(new, lines=(), origin="") == replace(old, lines=(), origin="")
    assert "\nButyrospermum" not in Path("b.csv").read_text("utf-8")
    assert "2,5" in Path("b.csv").read_text("utf-8")


def test_a_workbook_holds_numbers_under_headings_of_the_language(kb: Kb, folder: Path) -> None:
    kb("convert", "cream.toml", "-o", "a.xlsx", "--language", "de")
    rows = list(openpyxl.load_workbook("a.xlsx").active.iter_rows(values_only=True))
    head = next(n for n, row in enumerate(rows) if row[0] == "Rohstoff")
    assert rows[head][:3] == ("Rohstoff", "Prozent", "Phase")
    assert rows[head + 7][:2] == ("Beeswax", 2.5)


def test_without_a_file_it_prints_toml(kb: Kb, folder: Path) -> None:
    kb("convert", "cream.toml", "-o", "a.csv")
    Path("b.toml").write_text(kb("convert", "a.csv").out, "utf-8")
    assert read_formula("b.toml").name == read_formula("cream.toml").name


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (("cream.toml", "-o", "a.xls"), 2, ".toml, .csv, .xlsx"),
        (("cream.toml", "-o", "a.csv", "--language", "dutch"), 2, "en, de, fr, es, it"),
        (("cream.toml", "-o", "a.toml", "--language", "de"), 2, "TOML has no headings"),
        (("cream.toml", "-o", "cream.toml"), 2, "--force"),
        (("cream.toml", "-o", "none/a.csv"), 2, "no such folder"),
        (("creme.toml", "-o", "a.csv"), 3, "no such formula file"),
    ],
)
def test_a_slip_is_told(
    kb: Kb, folder: Path, arguments: tuple[str, ...], code: int, said: str
) -> None:
    before = sorted(folder.iterdir())
    found = kb("convert", *arguments)
    assert (found.code, found.out) == (code, "")
    assert said in found.err
    assert sorted(folder.iterdir()) == before


def test_a_swap_is_accepted_as_a_workbook(kb: Kb, folder: Path) -> None:
    assert kb("swap", "cream.toml", "beeswax", "-o", "new.xlsx").code == 0
    new = read_formula("new.xlsx")
    assert "instead of Cera Alba" in str(new.versions[-1]["change"])
    assert kb("swap", "cream.toml", "beeswax", "-o", "new.pdf").code == 2


def test_a_sheet_is_written_as_a_workbook(kb: Kb, folder: Path) -> None:
    assert kb("sheet", "cream.toml", "--batch", "2.5kg", "-o", "sheet.xlsx").code == 0
    rows = list(openpyxl.load_workbook("sheet.xlsx").active.iter_rows(values_only=True))
    head = next(n for n, row in enumerate(rows) if row[:4] == ("material", "part", "%", "g"))
    total = next(n for n, row in enumerate(rows) if row[0] == "total")
    assert sum(row[3] for row in rows[head + 1 : total]) == pytest.approx(2500.0)
    titles = {row[0] for row in rows}
    assert {"Make", "Check", "Mind", "Trial card", "Ingredient list"} <= titles
