"""A formula written as TOML, CSV or a workbook, from the command line."""

import json
import math
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from kb.formula.reading import read_formula
from kb.formula.workbook_out import Page, to_workbook
from tests.cli.conftest import Kb
from tests.cli.schemas import faults


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


SHELF = """\
name;stock;price;pack;currency
Shea butter;0;18,50;1 kg;EUR
Mango butter;400 g;9;1 kg;EUR
Bienenwachs;2,5 kg;12;1 kg;EUR
"""


@pytest.fixture
def shelf(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("KB_OWN", str(folder / "mine" / "own.sqlite"))
    path = folder / "stock.csv"
    path.write_text(SHELF, "utf-8")
    return path


def test_the_kept_shelf_is_what_a_bare_shelf_means(kb: Kb, shelf: Path) -> None:
    said = kb("swap", "cream.toml", "shea butter", "--shelf")
    assert said.code == 2
    assert "kb own shelf FILE" in said.err
    assert kb("own", "shelf", "stock.csv").code == 0
    arguments = ("--batch", "2.5kg", "--tests", "350", "--labels", "80", "--json")
    kept = kb("swap", "cream.toml", "shea butter", "--shelf", *arguments)
    named = kb("swap", "cream.toml", "shea butter", "--shelf", "stock.csv", *arguments)
    assert kept.code == 0, kept.err
    assert faults("swap", json.loads(kept.out)) == []
    assert json.loads(kept.out) == json.loads(named.out)
    best = json.loads(kept.out)["swaps"][0]
    assert best["replace"][0]["ingredient"].startswith("mangifera-indica-seed-butter")
    money, percent = best["money"], best["replace"][0]["percent"]
    assert money["price_per_kg"] == {"before": 18.5, "after": 9.0}
    assert money["function_per_kg"]["after"] == pytest.approx(0.09 * percent)
    saves = 2.5 * (18.5 * 0.03 - 9.0 * percent / 100)
    if abs(percent - 3.0) < 1e-6:
        assert money["saves_per_batch"] == pytest.approx(saves, rel=1e-4)
        assert money["break_even_batches"] == math.ceil(430 / saves)
    assert any(
        "kept shelf" in text
        for text in kb("swap", "cream.toml", "shea butter", "--shelf", "-o", "-").out.splitlines()
    )


@pytest.mark.parametrize(
    "words",
    [
        ("--shelf", "cream.toml", "shea butter"),
        ("cream.toml", "--shelf", "shea butter"),
        ("cream.toml", "shea butter", "--shelf", "--json"),
        ("cream.toml", "shea butter", "--shelf", "stock.csv"),
    ],
)
def test_a_bare_shelf_may_stand_anywhere(kb: Kb, shelf: Path, words: tuple[str, ...]) -> None:
    kb("own", "shelf", "stock.csv")
    said = kb("swap", *words, "--top", "1")
    assert said.code == 0, said.err
    assert "not-on-shelf" in said.out
    missing = kb("swap", "cream.toml", "shea butter", "--shelf", "nope.csv")
    assert (missing.code, "no such stock list" in missing.err) == (3, True)


def test_compared_versions_tell_why_and_what_they_cost(kb: Kb, shelf: Path) -> None:
    kb("own", "shelf", "stock.csv")
    assert kb("swap", "cream.toml", "shea butter", "--shelf", "-o", "two.toml").code == 0
    said = kb("compare", "cream.toml", "two.toml", "--json")
    tree = json.loads(said.out)
    assert faults("compare", tree) == []
    assert tree["versions"][-1]["file"] == "cream.toml"
    assert tree["cost_per_kg"]["before"]["cost"] > tree["cost_per_kg"]["after"]["cost"]
    text = kb("compare", "cream.toml", "two.toml").out
    assert "two.toml comes from cream.toml" in " ".join(text.split())
    assert "Cost of a kilogram" in text


def test_costs_of_a_change_need_a_batch(kb: Kb, shelf: Path) -> None:
    said = kb("swap", "cream.toml", "shea butter", "--tests", "300")
    assert said.code == 2 and "--batch" in said.err
    assert kb("swap", "cream.toml", "shea butter", "--batch", "a jar").code == 2
    assert kb("swap", "cream.toml", "shea butter", "--tests", "-3", "--batch", "1kg").code == 2


def test_a_sheet_tells_what_the_batch_costs_and_what_runs_out(kb: Kb, shelf: Path) -> None:
    tree = json.loads(kb("sheet", "cream.toml", "--batch", "2.5kg", "--json").out)
    assert tree["money"] is None
    kb("own", "shelf", "stock.csv")
    said = kb("sheet", "cream.toml", "--batch", "2.5kg", "--json")
    tree = json.loads(said.out)
    assert faults("sheet", tree) == []
    assert tree["money"]["cost"] == pytest.approx(18.5 * 0.075 + 12 * 0.0625)
    assert tree["money"]["runs_out"][0]["ingredient"] == "butyrospermum-parkii-butter"
    assert "75 g are missing" in kb("sheet", "cream.toml", "--batch", "2.5kg").out


def test_the_shelf_goes_out_and_comes_in_again(kb: Kb, shelf: Path) -> None:
    assert kb("own", "shelf", "stock.csv").code == 0
    wanted = json.loads(kb("own", "shelf", "--json").out)["shelf"]
    for name in ("out.csv", "out.xlsx"):
        assert kb("own", "shelf", "-o", name).code == 0
        assert kb("own", "shelf", "-o", name).code == 2
        assert kb("own", "shelf", name, "--json").code == 0
        assert json.loads(kb("own", "shelf", "--json").out)["shelf"] == wanted
    assert kb("own", "shelf", "-o", "out.pdf").code == 2


SPECIFICATIONS = {
    "lot.csv": b"property;value\ninci;Cera Alba\ngrade;from the valley\nmelting_point;61,5-63\n",
    "lot.toml": b'inci = "Cera Alba"\ngrade = "from the valley"\n'
    b"[values]\nmelting_point = [61.5, 63]\n",
}


def test_a_specification_may_be_a_table(kb: Kb, folder: Path) -> None:
    for name, text in SPECIFICATIONS.items():
        (folder / name).write_bytes(text)
    rows = [["inci", "Cera Alba"], ["grade", "from the valley"], ["melting_point", "61.5-63"]]
    (folder / "lot.xlsx").write_bytes(to_workbook([Page("lot", rows)]))
    said = {
        name: json.loads(kb("swap", "cream.toml", "beeswax", "--to", name, "--json").out)
        for name in ("lot.toml", "lot.csv", "lot.xlsx")
    }
    lots = [tree["swaps"][0]["lot"] for tree in said.values()]
    assert lots[0] == lots[1] == lots[2]
    assert any(d["property"] == "melting_point" for d in lots[0]["differences"])
    (folder / "bad.csv").write_text("inci,Cera Alba\nmelting_point,soft\n")
    bad = kb("swap", "cream.toml", "beeswax", "--to", "bad.csv")
    assert bad.code == 3 and "bad.csv:2" in bad.err
