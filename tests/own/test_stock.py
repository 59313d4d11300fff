"""What a batch costs and takes, what runs out, when a change has paid for itself."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.engine.stock import Held, Worth, break_even_batches, held, joined, money_of
from kb.formula.shelf import Stock
from kb.own.shelf import usable
from kb.report.money import money_lines, money_tree, worth_lines, worth_tree
from kb.store.snapshot import Snapshot

HELD = Held(
    {"cera-alba": 12.0, "squalane": 30.0}, {"cera-alba--white": 100.0, "cera-alba": 250.0}, "EUR"
)
PARTS = {"cera-alba": 5.0, "squalane": 10.0, "aqua": 85.0}


def test_cost_counts_what_has_a_price_and_names_the_rest() -> None:
    money = money_of(HELD, PARTS, 1000.0)
    assert money.cost == pytest.approx(12.0 * 0.05 + 30.0 * 0.1)
    assert money.unpriced == ("aqua",)
    assert money.batches_left == 5
    assert [t.material for t in money.runs_out] == ["cera-alba"]
    assert money_of(Held(), PARTS, 1000.0).cost is None


def test_what_is_missing_for_the_batch_is_said(base: Snapshot) -> None:
    money = money_of(HELD, PARTS, 10_000.0)
    assert money.batches_left == 0
    assert money.runs_out[0].short_g == pytest.approx(250.0)
    text = " ".join(money_lines(money_tree(money, base)))
    assert "250 g are missing" in text and "36.00 EUR" in text and "Aqua" in text


def test_a_grade_costs_what_the_plain_one_does_unless_told() -> None:
    assert HELD.price("cera-alba--white") == 12.0
    assert HELD.stock("cera-alba--white") == 100.0
    assert HELD.stock("squalane--plant") is None


def test_names_of_one_material_count_together() -> None:
    stock = Stock(["Beeswax", "Cera Alba"], {"Beeswax": 10.0, "Cera Alba": 12.0}, "EUR")
    stock.grams.update({"Beeswax": 100.0, "Cera Alba": 50.0})
    found = held(stock, {"Beeswax": "cera-alba", "Cera Alba": "cera-alba"})
    assert found.prices == {"cera-alba": 12.0}
    assert found.grams == {"cera-alba": 150.0}
    both = joined([found, Held({"cera-alba": 1.0, "talc": 2.0}, {}, "USD")])
    assert both.prices == {"cera-alba": 12.0, "talc": 2.0}
    assert both.currency == "EUR"


@given(st.floats(0.01, 1e6), st.floats(0.001, 1e4))
def test_break_even_is_the_first_batch_that_pays(once: float, saves: float) -> None:
    count = break_even_batches(once, saves)
    assert count * saves >= once * (1 - 1e-6)
    assert (count - 1) * saves < once * (1 + 1e-6)


def test_a_change_that_costs_more_never_pays(base: Snapshot) -> None:
    after = money_of(HELD, PARTS, 1000.0)
    dear = Worth((10.0, 20.0), (0.5, 1.0), -2.0, 300.0, after)
    assert dear.break_even is None
    assert "never come back" in " ".join(worth_lines(worth_tree(dear, base)))
    cheap = Worth((20.0, 10.0), (1.0, 0.5), 2.0, 300.0, after)
    assert cheap.break_even == 150
    text = " ".join(worth_lines(worth_tree(cheap, base)))
    assert "back after 150 batches" in text and "1.00 EUR -> 0.50 EUR" in text
    unknown = Worth((None, 10.0), (None, 0.5), None, 0.0, after)
    assert "a price is missing" in " ".join(worth_lines(worth_tree(unknown, base)))


def test_what_is_used_up_keeps_its_price_and_counts_as_none() -> None:
    row = {"lot": "", "currency": "EUR", "supplier": "", "price": 20.0, "pack_g": 1000.0}
    rows = [
        {**row, "name": "Shea butter", "stock_g": 0.0, "expiry": ""},
        {**row, "name": "Old oil", "stock_g": 500.0, "expiry": "2020-01-31"},
        {**row, "name": "Beeswax", "stock_g": None, "expiry": ""},
        {**row, "name": "Talc", "stock_g": 3.0, "expiry": "2030-01-31"},
    ]
    stock = usable(rows, datetime.date(2026, 1, 1))
    assert stock.names == ["Beeswax", "Talc"]
    assert set(stock.prices) == {"Shea butter", "Old oil", "Beeswax", "Talc"}
    assert stock.grams == {"Shea butter": 0.0, "Old oil": 0.0, "Talc": 3.0}
