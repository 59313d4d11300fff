"""A formula stays the same through TOML, workbook and CSV, in every language."""

import datetime
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.formula.headers import header_kind
from kb.formula.model import SYSTEMS, Formula, Line
from kb.formula.reading import decode, parse_formula
from kb.formula.table import HEADINGS, LANGUAGES, formula_rows, to_csv
from kb.formula.table_head import KEYS, WORDS
from kb.formula.workbook_out import Page, to_workbook
from kb.formula.writing import to_toml
from kb.store.seed import seed_folder

DEMOS = sorted((seed_folder() / "formulas").glob("*.toml"))


def through(formula: Formula, language: str) -> Formula:
    """TOML -> XLSX -> CSV -> TOML, read again after each step."""
    read = parse_formula(to_toml(formula), "a.toml")
    book = to_workbook([Page("formula", formula_rows(read, language))])
    read = parse_formula(decode(book, "a.xlsx"), "a.xlsx")
    read = parse_formula(to_csv(read, language), "a.csv")
    return parse_formula(to_toml(read), "b.toml")


def bare(formula: Formula) -> Formula:
    """Return a formula without where it was read from."""
    lines = tuple(replace(line, place="", percent=0.0) for line in formula.lines)
    return replace(formula, lines=lines, origin="", remarks=())


def same(one: Formula, other: Formula) -> None:
    assert bare(one) == bare(other)
    for a, b in zip(one.lines, other.lines, strict=True):
        assert a.percent == pytest.approx(b.percent, rel=1e-8, abs=2e-6)
    assert [r.rule for r in other.remarks] == [r.rule for r in one.remarks]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("language", LANGUAGES)
def test_our_own_formulas_stay_the_same(path: Any, language: str) -> None:
    formula = parse_formula(path.read_text("utf-8"), path.name)
    same(formula, through(formula, language))


#: Words that readers of tables take for more, and marks that part cells.
TRAPS = st.sampled_from(
    "Total|Phase A|Oil phase|Summe|A|Wax:|=1+1|+x|-5|@a|'a|''|#name|# pH|q.s.|100|2,5|a;b;c|"
    'x, y|"quoted"|\'|ingredient|ingredient; percent|ad 100|a\tb|1 kg|Σ|true|2027-01-01|[1]'.split(
        "|"
    )
)
PLAIN = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")),
    max_size=12,
).map(lambda text: " ".join(text.split()))
TEXT = st.one_of(TRAPS, PLAIN)
NAMES = TEXT.map(lambda text: " ".join(text.split())).filter(bool)
VALUES = st.one_of(
    TEXT,
    st.booleans(),
    st.integers(-(10**9), 10**9),
    st.floats(-1e9, 1e9, allow_nan=False),
    st.dates(),
    st.lists(st.integers(0, 9), max_size=3),
)
BLOCKS = st.dictionaries(NAMES, VALUES, max_size=3)


@st.composite
def formulas(draw: st.DrawFn) -> Formula:
    """Draw formulas such as TOML can hold."""
    count = draw(st.integers(1, 6))
    parts = [
        draw(st.floats(0.0001, 100 / count).map(lambda x: float(f"{x:.7g}"))) for _ in range(count)
    ]
    qs = draw(st.integers(-1, count - 1))
    lines = tuple(
        Line(
            draw(NAMES),
            part,
            " ".join(draw(TEXT).split()),
            n == qs,
            " ".join(draw(TEXT).split()),
            draw(st.sampled_from([None, True, False])),
            draw(st.booleans()),
        )
        for n, part in enumerate(parts)
    )
    return Formula(
        lines,
        " ".join(draw(TEXT).split()),
        draw(st.sampled_from(["", *SYSTEMS])),
        draw(st.one_of(st.none(), st.floats(0, 14).map(lambda x: round(x, 2)))),
        "\n".join(draw(st.lists(NAMES, max_size=3))),
        draw(BLOCKS),
        draw(BLOCKS),
        tuple(draw(st.lists(BLOCKS.filter(bool), max_size=2))),
    )


@given(formulas(), st.sampled_from(LANGUAGES))
def test_any_formula_stays_the_same(formula: Formula, language: str) -> None:
    read = parse_formula(to_toml(formula), "a.toml")
    same(read, through(read, language))


def test_one_percent_in_all_is_no_share_of_one() -> None:
    lines = (Line("Talc", 0.4), Line("Mica", 0.6))
    same(Formula(lines), through(Formula(lines), "de"))


def test_headings_are_read_as_what_they_say() -> None:
    kinds = ["name", "percent", "stage", "role", "active", "locked"]
    for words in HEADINGS.values():
        assert [header_kind(word) for word in words[:6]] == kinds
    for words in WORDS.values():
        assert len(words) == len(KEYS)


def test_what_a_german_table_looks_like() -> None:
    formula = Formula(
        (Line("Bienenwachs", 7.5, "Fett", locked=True), Line("Wasser", 92.5, "Wasser", True)),
        "Handcreme",
        "w/o",
        5.25,
        "kalt\nrühren",
        {"leave_on": True, "market": "EU", "since": datetime.date(2025, 1, 31)},
        {"consistency_25c": 42000.5},
    )
    assert to_csv(formula, "de").splitlines() == [
        "# Name;Handcreme",
        "# System;w/o",
        "# pH;5,25",
        "# Notiz;kalt",
        "# Notiz;rühren",
        "# Produkt: leave_on;true",
        "# Produkt: market;EU",
        "# Produkt: since;2025-01-31",
        "# gemessen: consistency_25c;42000,5",
        "Rohstoff;Prozent;Phase;Funktion;Wirkstoff;fest",
        "Bienenwachs;7,5;Fett;;;ja",
        "Wasser;q.s.;Wasser;;;",
        "Summe;100",
    ]
