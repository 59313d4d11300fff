"""The shelf: amounts as people write them, prices, lots, dates."""

import datetime
from pathlib import Path

import pytest

from kb.own.adding import OwnProblemsError
from kb.own.content import read_content, undo
from kb.own.lists import parse_table
from kb.own.shelf import grams_in, kept_stock, price_per_kg, shelf_rows, take_shelf
from kb.own.template import template


def test_a_stock_list_is_kept(own: Path) -> None:
    assert take_shelf("stock.csv", own) == 4
    rows = {row["name"]: row for row in read_content(own)["shelf"]}
    wax = rows["Valley beeswax"]
    assert (wax["stock_g"], wax["price"], wax["pack_g"]) == (2500.0, 18.5, 1000.0)
    assert (wax["supplier"], wax["lot"]) == ("the beekeeper", "24-117")
    assert price_per_kg(wax) == 18.5
    assert price_per_kg(rows["Shea butter"]) is None


def test_what_is_used_up_or_past_its_date_is_not_in_stock(own: Path) -> None:
    take_shelf("stock.csv", own)
    on = datetime.date(2026, 1, 1)
    assert kept_stock(own, on=on).names == ["Shea butter", "Valley beeswax"]
    assert kept_stock(own, on=on).prices == {"Valley beeswax": 18.5}
    assert kept_stock(own, on=on).currency == "EUR"
    assert kept_stock(own, on=datetime.date(2020, 1, 31)).names == [
        "Jojoba oil",
        "Shea butter",
        "Valley beeswax",
    ]


def test_of_several_lots_the_dearest_counts_and_currencies_do_not_mix(own: Path) -> None:
    Path("lots.csv").write_text(
        "name,price,pack,currency,lot\nBeeswax,9,1 kg,EUR,1\nBeeswax,6,500,EUR,2\n"
        "Beeswax,99,1 kg,USD,3\nShea butter,7,1 kg,USD,1\n",
        "utf-8",
    )
    take_shelf("lots.csv", own)
    stock = kept_stock(own)
    assert stock.names == ["Beeswax", "Shea butter"]
    assert (stock.prices, stock.currency) == ({"Beeswax": 12.0}, "EUR")


def test_a_new_list_takes_the_place_of_the_old(own: Path) -> None:
    take_shelf("stock.csv", own)
    Path("new.csv").write_text("Rohstoff;Bestand\nRapsöl;3 kg\n", "utf-8")
    take_shelf("new.csv", own)
    assert [(r["name"], r["stock_g"]) for r in read_content(own)["shelf"]] == [("Rapsöl", 3000.0)]
    undo(own)
    assert len(read_content(own)["shelf"]) == 4


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("Beeswax,a jar,,,,,,", "stock"),
        ("Beeswax,-1,,,,,,", "stock"),
        ("Beeswax,1,dear,1 kg,,,,", "price"),
        ("Beeswax,1,18,,,,,", "pack"),
        ("Beeswax,1,18,0,,,,", "pack"),
        ("Beeswax,1,,,,,,31.03.2027", "expiry"),
        ("-,1,,,,,,", "name"),
        ("Beeswax,1,,,,,7,\nbeeswax,2,,,,,7,", "lot"),
    ],
)
def test_faults_name_line_and_column_and_nothing_is_taken(own: Path, row: str, column: str) -> None:
    take_shelf("stock.csv", own)
    Path("bad.csv").write_text(f"{template('shelf').splitlines()[0]}\n{row}\n", "utf-8")
    with pytest.raises(OwnProblemsError) as caught:
        take_shelf("bad.csv", own)
    line = 3 if column == "lot" else 2
    assert [(p.line, p.column) for p in caught.value.problems] == [(line, column)]
    assert len(read_content(own)["shelf"]) == 4


def test_a_list_without_names_is_refused() -> None:
    rows, problems = shelf_rows(parse_table("what,how much\na,1\n", "x.csv"))
    assert rows == []
    assert [(p.line, p.column) for p in problems] == [(1, "name")]


@pytest.mark.parametrize(
    ("text", "grams"),
    [("2.5 kg", 2500), ("2,5kg", 2500), ("400", 400), ("400 g", 400), ("0", 0), ("1e12 kg", None)],
)
def test_amounts(text: str, grams: float | None) -> None:
    assert grams_in(text) == grams
