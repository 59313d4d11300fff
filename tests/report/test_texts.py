"""Every text over the real base: on the page, readable, and saying what its tree says."""

import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from kb.engine.opening import item_to_replace, open_formula
from kb.engine.profile import make_profile
from kb.engine.suits import suits_system
from kb.engine.swap import swap
from kb.engine.why import INPUTS, why_quantity
from kb.formula.model import SYSTEMS
from kb.formula.reading import parse_formula, read_formula
from kb.report.data import conflicts_text, coverage_text, lint_text
from kb.report.finding import find_text, find_tree
from kb.report.formula import check_tree, reason_tree, swap_tree
from kb.report.formula_text import check_text, swap_text, why_quantity_text
from kb.report.knowledge import (
    fact_reason_tree,
    role_tree,
    roles_tree,
    show_tree,
    verdict_tree,
)
from kb.report.knowledge_text import (
    role_text,
    roles_text,
    show_text,
    suits_text,
    why_fact_text,
)
from kb.report.paper import columns, figure, printable
from kb.report.words import quantity_name
from kb.store import asking
from kb.store.opening import connect
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot

FORMULAS = sorted((seed_folder() / "formulas").glob("*.toml"))


@pytest.fixture(scope="module")
def connection(base_path: Path) -> Iterator[sqlite3.Connection]:
    opened = connect(base_path)
    yield opened
    opened.close()


def tidy(lines: list[str]) -> str:
    """Assert that lines fit the page and read well; return them as one text."""
    for line in lines:
        assert columns(line) <= 80, line
        assert line == printable(line), line
        assert line == line.rstrip(), line
        assert not re.search(r"\bNone\b|\d (nan|inf)\b|\d\.?\de[+-]\d", line), line
        assert not re.search(r"; ?[\]).]|\(\)|\[\]|  - - |: ?;", line), line
    assert lines[0]
    assert lines[-1]
    assert not re.search("\n\n\n", "\n".join(lines))
    return "\n".join(lines)


def longest(base: Snapshot) -> list[str]:
    return sorted(base.materials, key=lambda m: (-len(m), m))[:12]


def test_show_of_many_materials(base: Snapshot, connection: sqlite3.Connection) -> None:
    for material in [*list(base.materials)[::9], *longest(base)]:
        text = tidy(show_text(show_tree(material, base, connection)))
        assert text.startswith(base.materials[material].inci[:60])


def test_find_shows_every_id_whole(base: Snapshot) -> None:
    inci = {m.id: m.inci for m in base.materials.values()}
    for material in [*list(base.materials)[::40], *longest(base)]:
        tree = find_tree(material, base.names.search(material, 8), inci)
        text = tidy(find_text(tree))
        assert re.search(rf"\s{re.escape(material)}$", text, re.MULTILINE)
    assert "registry number" in tidy(find_text(find_tree("zzz" * 60, (), inci)))


def test_roles_and_every_role(base: Snapshot) -> None:
    text = tidy(roles_text(roles_tree(base)))
    for role in base.roles:
        assert re.search(rf"\s{role}$", text, re.MULTILINE), role
        assert base.roles[role].label in tidy(role_text(role_tree(role, base)))


def test_suits_of_many(base: Snapshot) -> None:
    for material in list(base.materials)[::45]:
        for system in SYSTEMS:
            tree = verdict_tree(material, suits_system(material, system, base), base, system)
            text = tidy(suits_text(tree))
            assert tree["verdict"] in text.splitlines()[0] + text.splitlines()[1]


def test_why_of_many_facts(base: Snapshot, connection: sqlite3.Connection) -> None:
    for material in [*list(base.materials)[::25], *longest(base)]:
        for name in ("density", "melting_point", "hlb"):
            tree = fact_reason_tree(material, name, base, connection)
            text = tidy(why_fact_text(tree))
            if tree["best"]:
                assert figure(tree["best"]["value"], 4) in text


@pytest.mark.parametrize("path", FORMULAS, ids=lambda p: p.stem)
def test_check_and_why_of_the_demo_formulas(
    base: Snapshot, connection: sqlite3.Connection, path: Path
) -> None:
    from kb.engine.findings import find_all

    opened = open_formula(read_formula(str(path)), base)
    profile = make_profile(opened.batch, base, 16)
    findings = find_all(opened.formula, opened.answers, profile, base)
    tree = check_tree(opened, profile, findings, base)
    text = tidy(check_text(tree))
    for finding in tree["findings"]:
        assert finding["rule"] in text
    for line in tree["lines"]:
        assert line["inci"][:12] in text
    for name in tree["profile"]:
        if name not in {"feel", "cost"}:
            assert quantity_name(name) in text
    for name in INPUTS:
        if name in profile.quantities:
            reason = why_quantity(opened.batch, name, base)
            tidy(why_quantity_text(reason_tree(reason, asking.method_of(connection, name))))


@pytest.mark.parametrize("path", FORMULAS, ids=lambda p: p.stem)
def test_swap_of_some_lines(base: Snapshot, path: Path) -> None:
    opened = open_formula(read_formula(str(path)), base)
    for index in range(0, len(opened.batch.items), 5):
        tree = swap_tree(opened, swap(opened.batch, index, base, top=6), base)
        text = tidy(swap_text(tree))
        for number, one in enumerate(tree["swaps"], 1):
            assert re.search(
                rf"^ ?{number}  {re.escape(one['replace'][0]['inci'][:9])}", text, re.M
            )
        for number, one in enumerate(tree["swaps"][:3], 1):
            assert f"\n{number}. " in text
            for caution in one["cautions"]:
                assert caution["rule"] in text
        for question in tree["asks"]:
            assert question.split()[0] in text


def test_a_step_is_told_once(base: Snapshot) -> None:
    path = next(p for p in FORMULAS if p.stem == "winter-hand-cream")
    opened = open_formula(read_formula(str(path)), base)
    index = item_to_replace(opened, "beeswax", None, base)
    tree = swap_tree(opened, swap(opened.batch, index, base, top=3), base)
    text = swap_text(tree)
    starts = [line for line in text if "Weeks 4, 8, 12" in line]
    assert len(starts) == 1
    assert sum("as above" in line for line in text) == 2


def test_an_unknown_line_is_marked(base: Snapshot) -> None:
    from kb.engine.findings import find_all

    formula = parse_formula(f"name,percent\nBeeswax,20\n{'蜂' * 90},30\nJojoba oil,50\n")
    opened = open_formula(formula, base)
    profile = make_profile(opened.batch, base)
    findings = find_all(opened.formula, opened.answers, profile, base)
    text = tidy(check_text(check_tree(opened, profile, findings, base)))
    assert "not known" in text
    assert "PROBLEM" in text


def test_texts_about_the_base(connection: sqlite3.Connection) -> None:
    tidy(coverage_text(asking.coverage(connection)))
    found = asking.conflicts(connection)
    text = conflicts_text({"conflicts": found})
    tidy(text)
    assert len(text) - 1 == len({(c["material"], c["property"]) for c in found})
    problem = {
        "file": "names.csv",
        "line": 3,
        "column": "name",
        "read": "x\x1b[2J" * 40,
        "wanted": "a name",
    }
    assert "1 problem" in tidy(lint_text({"problems": [problem]}))
    assert lint_text({"problems": []}) == ["The seed text is clean."]
