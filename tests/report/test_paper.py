"""Text of a page: never wider than it, never harmful, figures that keep their value."""

import math
import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.report.paper import (
    WIDTH,
    bullet,
    columns,
    entry,
    figure,
    fit,
    plain,
    printable,
    shares,
    signed,
    span,
    table,
    wrap,
)

ANY = st.text(max_size=400)
REAL = st.floats(min_value=-1e11, max_value=1e11, allow_nan=False)


@given(ANY)
def test_printable_leaves_nothing_a_terminal_acts_on(text: str) -> None:
    seen = printable(text)
    assert not [c for c in seen if unicodedata.category(c) in {"Cc", "Cf", "Cs", "Co"}]
    assert printable(seen) == seen
    assert len(seen.splitlines()) <= 1


def test_printable_keeps_letters_of_all_kinds() -> None:
    text = "Süßmandelöl, óxido, 蜂蝋, α-tocopherol, \U0001f9f4, 5 µm, x÷"
    assert printable(text) == text
    assert printable("e\u0301") == "é"


@given(ANY, st.sampled_from(["", "  ", "    "]))
def test_wrap_stays_on_the_page_and_loses_no_word(text: str, indent: str) -> None:
    lines = wrap(text, indent)
    assert lines
    assert all(columns(line) <= WIDTH for line in lines)
    kept = "".join("".join(lines).split())
    assert kept == "".join(printable(" ".join(text.split())).split())


@given(ANY, ANY)
def test_entry_and_bullet_stay_on_the_page(label: str, text: str) -> None:
    for line in (*entry(printable(label)[:9], text), *bullet([text])):
        assert columns(line) <= WIDTH


@given(st.lists(st.tuples(ANY, ANY, ANY, ANY), max_size=6), st.sets(st.integers(0, 3)))
def test_table_stays_on_the_page_and_in_columns(
    rows: list[tuple[str, str, str, str]], give: set[int]
) -> None:
    lines = table(rows, "<><<", "  ", give=tuple(give))
    assert len(lines) == len(rows)
    assert all(columns(line) <= WIDTH for line in lines)


def test_table_gives_way_where_told() -> None:
    rows = [("a" * 60, "12.5", "b" * 40), ("short", "1", "c")]
    first, second = table(rows, "<><", give=(0,))
    assert first.endswith("\u2026  12.5  " + "b" * 40)
    assert first.index("12.5") + 3 == second.index("1")
    first, _ = table(rows, "<><", give=(0, 2))
    assert first.count("\u2026") == 2
    only = table([("a" * 100, "12.5")], "<>", give=(0,))[0]
    assert only.endswith("\u2026  12.5")
    assert columns(only) == WIDTH


def test_table_counts_wide_letters_as_two() -> None:
    lines = table([("蜂蝋", "1"), ("wax", "2")], "<<")
    assert lines == ["蜂蝋  1", "wax   2"]


@given(ANY, st.integers(1, 100))
def test_fit_is_never_wider(text: str, width: int) -> None:
    assert columns(fit(text, width)) <= width


@given(REAL)
def test_figure_keeps_three_digits(value: float) -> None:
    read = float(figure(value).replace(",", ""))
    assert math.isclose(read, value, rel_tol=0.005, abs_tol=0.5e-12)


@pytest.mark.parametrize(
    ("value", "digits", "wanted"),
    [
        (None, 3, "-"),
        (0.0, 3, "0"),
        (100.0, 2, "100"),
        (130.0, 2, "130"),
        (999.6, 3, "1,000"),
        (0.0999, 2, "0.1"),
        (60.4, 3, "60.4"),
        (12.0, 3, "12"),
        (23467.0, 3, "23,500"),
        (83_600_000.0, 3, "83,600,000"),
        (1e-6, 2, "0.000001"),
        (-2.5, 3, "-2.5"),
    ],
)
def test_figure(value: float | None, digits: int, wanted: str) -> None:
    assert figure(value, digits) == wanted


def test_span_shows_a_range_only_where_there_is_one() -> None:
    assert span(None, 3.0) == span(2.0, None) == span(5.5, 5.5) == ""
    assert span(1.0, 2.0) == "1 to 2"
    assert span(0.996, 0.9974) == "0.996 to 0.997"
    assert span(0.00012, 0.00013) == "0.00012 to 0.00013"


def test_signed() -> None:
    assert [signed(x) for x in (None, 0.0, 1.25, -1.25)] == ["-", "0", "+1.2", "-1.2"]


def test_shares_have_one_number_of_decimals() -> None:
    assert shares([60.4, 0.7, 11.0]) == ["60.4", "0.7", "11.0"]
    assert shares([60.4, 0.075]) == ["60.400", "0.075"]
    assert shares([]) == []


@given(st.lists(st.floats(0.0, 100.0), max_size=8))
def test_shares_line_up(numbers: list[float]) -> None:
    decimals = {len(text.split(".")[1]) for text in shares(numbers)}
    assert len(decimals) <= 1
    for number, text in zip(numbers, shares(numbers), strict=True):
        assert abs(float(text) - number) <= 0.051


def test_plain_writes_out_exponents_and_nothing_else() -> None:
    assert plain("1.3e+02 to 4e-03 Pa") == "130 to 0.004 Pa"
    for same in ("C12-15", "E 901", "vitamin e+10", "peg-3e+", "1e5", "rule 2e-x"):
        assert plain(same) == same
    assert re.search(r"e\+", plain("2.9e+15"))
