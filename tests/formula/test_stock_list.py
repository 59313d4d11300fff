"""Stock lists with prices: what is a price, per what, in which currency."""

import pytest

from kb.errors import FormulaError
from kb.formula.shelf import read_shelf, read_stock


@pytest.fixture
def stock(tmp_path):
    def read(text):
        path = tmp_path / "stock.csv"
        path.write_text(text, encoding="utf-8")
        return read_stock(str(path))

    return read


@pytest.mark.parametrize(
    ("heading", "cell", "price", "currency"),
    [
        ("price", "12.50", 12.5, ""),
        ("Price per kg (EUR)", "12.50", 12.5, "EUR"),
        ("EUR/kg", "12.50", 12.5, "EUR"),
        ("unit price", "12", 12.0, ""),
        ("Preis je kg €", "12", 12.0, "EUR"),
        ("$ per 100 g", "2.5", 25.0, "USD"),
        ("price/g", "0.02", 20.0, ""),
        ("cost per kg", "7", 7.0, ""),
        ("price", "12.50 EUR", 12.5, ""),
        ("price", "0", 0.0, ""),
    ],
)
def test_a_price_is_brought_to_a_kilogram(heading, cell, price, currency, stock):
    found = stock(f"name;kg;{heading}\nBeeswax;3;{cell}\nTalc;1;\n")
    assert found.names == ["Beeswax", "Talc"]
    assert found.prices == {"Beeswax": pytest.approx(price)}
    assert found.currency == currency


def test_beside_a_pack_the_price_is_that_of_the_pack(stock):
    found = stock(
        "name,stock,price,pack,currency\nBeeswax,2.5 kg,18.50,500 g,EUR\nTalc,1 kg,3,1 kg,EUR\n"
        "Kaolin,1 kg,3,,EUR\n"
    )
    assert found.prices == {"Beeswax": pytest.approx(37.0), "Talc": pytest.approx(3.0)}
    assert found.currency == "EUR"


@pytest.mark.parametrize("heading", ["kg", "cost", "supplier", "price per litre", "grade"])
def test_what_is_no_price_of_a_mass_is_left_out(heading, stock):
    assert stock(f"name;{heading}\nBeeswax;3\n").prices == {}


@pytest.mark.parametrize("cell", ["", "on request", "-3", "nan"])
def test_what_is_no_number_is_no_price(cell, stock):
    assert stock(f"name;price\nBeeswax;{cell}\nTalc;2\n").prices == {"Talc": 2.0}


def test_bare_names_are_a_stock_list_too(tmp_path):
    path = tmp_path / "stock.csv"
    path.write_text("Beeswax\nTalc\n")
    assert read_shelf(str(path)) == ["Beeswax", "Talc"]


def test_no_names_are_refused(stock):
    with pytest.raises(FormulaError, match="no names"):
        stock("name;price\n;3\n")
