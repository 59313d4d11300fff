"""The state that an address carries: there and back, steps, edits, damage."""

import base64
import json
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import FormulaError, KbError
from kb.formula.writing import to_toml
from kb.web.sheet import STEPS, Edit, Sheet, edited, pack, shown_percent, unpack

TEXT = "ingredient,percent,stage\nWater,q.s.,water\nGlycerin,5,water\nBeeswax,10,oil\n"
words = st.text(st.characters(blacklist_categories=("Cs",)), max_size=200)


@given(words, words)
def test_what_is_packed_comes_back(text, origin):
    sheet = Sheet(text, origin[:120])
    assert unpack(pack(sheet)) == sheet


@given(st.text(max_size=300))
def test_damaged_links_are_told_never_a_fault(packed):
    try:
        unpack(packed)
    except FormulaError as error:
        assert error.fix


@given(st.binary(max_size=200))
def test_whatever_is_squeezed_in_is_a_formula_error_at_worst(raw):
    packed = base64.urlsafe_b64encode(zlib.compress(raw)).decode().rstrip("=")
    try:
        unpack(packed)
    except FormulaError as error:
        assert error.message


@pytest.mark.parametrize(
    "tree",
    [[], {}, None, 3, ["a"], ["a", "b"], ["a", "b", 3], [1, 2, []], ["a", "b", [["c"]]], "abc"],
)
def test_other_shapes_are_refused(tree):
    packed = base64.urlsafe_b64encode(zlib.compress(json.dumps(tree).encode())).decode()
    with pytest.raises(FormulaError):
        unpack(packed.rstrip("="))


def test_a_link_that_unpacks_to_much_more_is_refused():
    bomb = base64.urlsafe_b64encode(zlib.compress(b"a" * 50_000_000, 9)).decode().rstrip("=")
    assert len(bomb) < 100_000
    with pytest.raises(FormulaError, match="cut or damaged"):
        unpack(bomb)


def rows(sheet):
    return [
        Edit(n, line.given, shown_percent(line), line.stage)
        for n, line in enumerate(sheet.formula.lines, 1)
    ]


def test_rows_sent_back_as_they_were_change_nothing():
    sheet = Sheet(TEXT)
    after, mistakes = edited(sheet, rows(sheet))
    assert after is sheet and not mistakes


def test_an_amount_changed_is_a_step_and_the_rest_fills_up():
    sheet = Sheet(TEXT)
    edits = rows(sheet)
    edits[1] = Edit(2, "Glycerin", "7,5", "water")
    after, mistakes = edited(sheet, edits)
    assert not mistakes
    assert [line.percent for line in after.formula.lines] == [82.5, 7.5, 10.0]
    assert [s.what for s in after.past] == ["Glycerin 5 to 7.5"]
    assert after.undone() == sheet


def test_lines_are_added_taken_out_and_renamed():
    sheet = Sheet(TEXT)
    edits = [*rows(sheet)[:2], Edit(3, "", "10", "oil"), Edit(0, "Shea Butter", "4", "oil")]
    edits[1] = Edit(2, "Propanediol", "5", "water")
    after, mistakes = edited(sheet, edits)
    assert not mistakes
    assert [line.given for line in after.formula.lines] == ["Water", "Propanediol", "Shea Butter"]
    assert after.past[-1].what == "Glycerin to Propanediol; Beeswax taken out; Shea Butter added"


@pytest.mark.parametrize(
    ("edit", "cell"),
    [
        (Edit(2, "Glycerin", "much", ""), "percent"),
        (Edit(2, "Glycerin", "-1", ""), "percent"),
        (Edit(2, "Glycerin", "", ""), "percent"),
        (Edit(0, "", "3", ""), "name"),
    ],
)
def test_a_cell_that_cannot_be_read_is_named_and_nothing_changes(edit, cell):
    sheet = Sheet(TEXT)
    edits = [*rows(sheet), edit] if not edit.line else [rows(sheet)[0], edit, rows(sheet)[2]]
    after, mistakes = edited(sheet, edits)
    assert after is sheet
    assert [m.cell for m in mistakes] == [cell]
    assert mistakes[0].message and mistakes[0].fix


def test_two_lines_that_fill_up_are_refused():
    sheet = Sheet(TEXT)
    edits = rows(sheet)
    edits[1] = Edit(2, "Glycerin", "q.s.", "")
    with pytest.raises(KbError, match=r"q\.s\."):
        edited(sheet, edits)


def test_only_the_last_steps_are_carried():
    sheet = Sheet(TEXT)
    for n in range(STEPS + 5):
        edits = rows(sheet)
        edits[1] = Edit(2, "Glycerin", f"{1 + n / 10:g}", "water")
        sheet, _ = edited(sheet, edits)
    assert len(sheet.past) == STEPS
    assert len(pack(sheet)) < 3_000


@pytest.mark.parametrize("percent", [1e-6, 0.000123456, 0.1, 33.3333, 100.0, 12.5])
def test_a_percent_shown_reads_back_the_same(percent):
    sheet = Sheet(f"ingredient,percent\nWater,q.s.\nGlycerin,{percent:.9f}\n")
    shown = shown_percent(sheet.formula.lines[1])
    assert float(shown) == pytest.approx(percent, rel=1e-5)
    assert "e" not in shown


def test_what_else_a_file_says_survives_an_edit():
    text = (
        to_toml(Sheet(TEXT).formula) + '\n[measured]\nconsistency_25c = 42000\nnote = "spindle"\n'
    )
    text = 'name = "Old"\nph = 5.2\n' + text + "\n[product]\nleave_on = true\n"
    sheet = Sheet(text)
    edits = rows(sheet)
    edits[1] = Edit(2, "Glycerin", "6", "water")
    after, _ = edited(sheet, edits)
    formula = after.formula
    assert formula.name == "Old" and formula.ph == 5.2
    assert formula.measured == {"consistency_25c": 42000, "note": "spindle"}
    assert formula.product == {"leave_on": True}
