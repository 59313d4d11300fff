import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb.errors import FormulaError
from kb.formula.clean import one_line
from kb.formula.model import QS, SYSTEMS, Formula, Line
from kb.formula.names import NameIndex, normalise
from kb.formula.numbers import is_balance, number_in
from kb.formula.reading import decode, parse_formula
from kb.formula.writing import to_toml

ORIGINS = st.sampled_from(["a.toml", "a.csv", "a.txt", "standard input"])
PIECES = st.sampled_from(
    [
        *("[[line]]\n", "[product]\n", "ingredient", "percent", " = ", '"', "'", "\n", "\r\n", ";"),
        *(",", "\t", "|", "2,5", "2.5", "q.s.", "ad 100", "to 100", "%", "g", "kg", "Phase A"),
        *("Total", "100", "Water", "Glycerin", "#", "sep=;\n", "name", "INCI", "-1", "1e5", "ph"),
        *("system", "[", "]", "{", "}", "\ufeff", "\x00", "\x1b", "١", "½", "1.250,5", " "),
    ]
)
soups = st.lists(PIECES, max_size=40).map("".join)


def read_or_refuse(text, origin):
    try:
        formula = parse_formula(text, origin)
    except FormulaError as error:
        assert error.message and error.where and error.fix
        return
    assert formula.lines
    for line in formula.lines:
        assert line.given == one_line(line.given) != ""
        assert math.isfinite(line.percent) and 0 <= line.percent <= 100
        assert line.place
    assert sum(line.qs for line in formula.lines) <= 1


@given(st.text(max_size=300), ORIGINS)
def test_any_text_is_a_formula_or_refused(text, origin):
    read_or_refuse(text, origin)


@given(soups, ORIGINS)
@example("ingredient;g", "a.csv")
def test_any_soup_of_formula_words_is_a_formula_or_refused(text, origin):
    read_or_refuse(text, origin)


@given(soups)
def test_anything_in_a_sheet_is_read_or_refused(text):
    read_or_refuse("ingredient;percent\nWater;50\n" + text, "a.csv")


@given(st.binary(max_size=300), ORIGINS)
def test_any_bytes_are_a_formula_or_refused(raw, origin):
    try:
        text = decode(raw, origin)
    except FormulaError as error:
        assert error.message and error.where and error.fix
        return
    read_or_refuse(text, origin)


@given(st.text(max_size=400))
def test_normalising_twice_changes_nothing(text):
    once = normalise(text)
    assert normalise(once) == once


@given(st.text(max_size=60))
def test_any_name_resolves_or_not(text):
    index = NameIndex.from_rows(
        [("Glycerin", "glycerin", "inci"), ("56-81-5", "glycerin", "registry")]
    )
    answer = index.resolve(text)
    assert answer.match is None or answer.match.material == "glycerin"
    for match in answer.nearest:
        assert 0 <= match.score <= 100


@given(st.floats(0, 1e6).map(lambda x: round(x, 4)))
def test_numbers_survive_every_way_of_writing(number):
    plain = f"{number:.4f}"
    grouped = f"{number:,.4f}"
    swapped = grouped.replace(",", "_").replace(".", ",")
    for text in (
        plain,
        plain.replace(".", ","),
        grouped,
        swapped.replace("_", "."),
        swapped.replace("_", " "),
        grouped.replace(",", "'"),
        f"{number:.12e}",
    ):
        assert number_in(text) == pytest.approx(number, rel=1e-12)
        assert not is_balance(text)


words = st.text(st.characters(codec="utf-8"), max_size=30).map(one_line)
names = st.text(st.characters(codec="utf-8"), min_size=1, max_size=30).map(one_line).filter(bool)
values = st.recursive(
    st.booleans() | st.integers(-(2**60), 2**60) | st.floats(allow_nan=False) | words | st.dates(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=3),
    max_leaves=6,
)
blocks = st.dictionaries(words, values, max_size=3)


@st.composite
def formulas(draw):
    count = draw(st.integers(1, 8))
    filled = draw(st.none() | st.integers(0, count - 1))
    lines = []
    for n in range(count):
        percent = draw(st.floats(0.001, 100 / count))
        lines.append(
            Line(
                draw(names),
                0.0 if n == filled else percent,
                draw(words),
                n == filled,
                draw(words),
                draw(st.none() | st.booleans()),
                draw(st.booleans()),
            )
        )
    if filled is not None:
        left = round(100.0 - sum(x.percent for x in lines), 6)
        old = lines[filled]
        lines[filled] = Line(old.given, left, old.stage, True, old.role, old.active, old.locked)
    return Formula(
        tuple(lines),
        draw(words),
        draw(st.sampled_from(["", *SYSTEMS])),
        draw(st.none() | st.floats(0, 14)),
        draw(words),
        draw(blocks),
        draw(blocks),
    )


@given(formulas())
def test_what_is_written_reads_back_the_same(formula):
    text = to_toml(formula)
    again = parse_formula(text, "a.toml")
    assert again.remarks == ()
    for key in ("name", "system", "note", "product", "measured"):
        assert getattr(again, key) == getattr(formula, key)
    assert again.ph == (None if formula.ph is None else pytest.approx(formula.ph, rel=1e-9))
    assert len(again.lines) == len(formula.lines)
    for mine, theirs in zip(again.lines, formula.lines, strict=True):
        assert mine.percent == pytest.approx(theirs.percent, rel=1e-9, abs=2e-6 * theirs.qs)
        for key in ("given", "stage", "qs", "role", "active", "locked"):
            assert getattr(mine, key) == getattr(theirs, key)
    assert to_toml(again) == text


def test_a_balance_is_written_as_such():
    assert f'percent = "{QS}"' in to_toml(Formula((Line("Water", 100.0, qs=True),)))


def test_percents_are_written_short():
    assert "percent = 12.34\n" in to_toml(Formula((Line("Water", 12.340000000000002),)))
