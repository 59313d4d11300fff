"""The batch sheet, the ingredient list, two formulas compared, what was measured."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.engine.batch import Batch, Item
from kb.engine.comparing import compare, label_moves
from kb.engine.label import ingredient_list
from kb.engine.opening import Opened, open_formula
from kb.engine.profile import Profile, make_profile
from kb.engine.sheet import BatchSheet, make_sheet, round_to_total, usual_balance
from kb.errors import UsageError
from kb.formula.reading import parse_formula
from kb.own.content import undo
from kb.own.measured import formula_key, hours_in, log, logged
from kb.report.sheet import sheet_html, sheet_markdown, sheet_text, sheet_tree
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot

FORMULAS = seed_folder() / "formulas"
BALM = """\
ingredient,percent,stage
Olive Oil,70,oil
Hydrogenated Castor Oil,2,oil
Beeswax,18,oil
Shea Butter,9,oil
Lavender oil,1,cool-down
"""


def opened(text: str, base: Snapshot) -> tuple[Opened, Profile]:
    found = open_formula(parse_formula(text), base)
    return found, make_profile(found.batch, base)


def sheet(text: str, base: Snapshot, grams: float = 1000.0) -> BatchSheet:
    found, profile = opened(text, base)
    return make_sheet(found, profile, base, grams)


def demo(name: str) -> str:
    return (FORMULAS / f"{name}.toml").read_text("utf-8")


@given(
    st.lists(st.floats(0.001, 100.0), min_size=1, max_size=40),
    st.sampled_from([1.0, 0.1, 0.01, 0.001]),
    st.integers(100, 100_000),
)
def test_grams_total_and_each_is_within_one_step(
    percents: list[float], step: float, steps: int
) -> None:
    batch = steps * step
    grams = round_to_total(percents, batch, step)
    assert sum(grams) == pytest.approx(batch, abs=1e-6 * batch)
    for percent, weight in zip(percents, grams, strict=True):
        assert abs(weight - batch * percent / sum(percents)) <= step * (1 + 1e-6)
        assert weight >= 0


def test_the_balance_follows_the_batch() -> None:
    assert [usual_balance(g) for g in (100.0, 500.0, 2500.0, 5000.0)] == [0.01, 0.1, 0.1, 1.0]


def test_a_water_in_oil_cream_is_made_in_order(base: Snapshot) -> None:
    made = sheet(demo("winter-hand-cream"), base, 2500.0)
    assert sum(w.grams for w in made.weighings) == pytest.approx(2500.0)
    assert made.weighings[7].grams == pytest.approx(1510.0)
    texts = [step.text for step in made.steps]
    order = ["Melt, highest", "Add the liquid", "Dissolve the water", "Emulsify", "Cool", "Fill"]
    places = [next(n for n, t in enumerate(texts) if t.startswith(word)) for word in order]
    assert places == sorted(places)
    assert any("water slowly into the oil" in t and "propeller" in t for t in texts)
    melt = made.steps[places[0]]
    top = base.known("cera-alba", "melting_point")
    assert top is not None and melt.temperature_c is not None
    assert top.high + 5 <= melt.temperature_c < top.high + 10
    assert "Beeswax, Shea Butter" in melt.text
    late = next(step for step in made.steps if step.text.startswith("Stir in"))
    assert late.lines == (13,) and late.temperature_c == 40
    # The preservative belongs into the drops: never behind the emulsifying.
    assert made.weighings[10].part == "water"
    assert "Type: a drop stays whole in water" in " ".join(made.checks)
    named = [n for step in made.steps for n in step.lines]
    assert sorted(named) == list(range(1, 14))


def test_an_oil_in_water_lotion_swells_its_gum_first(base: Snapshot) -> None:
    made = sheet(demo("rinse-lotion"), base)
    gum = next(step for step in made.steps if "Disperse in Glycerin" in step.text)
    assert 3 in gum.lines
    assert any("high shear" in step.text for step in made.steps)
    assert "a drop parts in water" in " ".join(made.checks)


def test_a_balm_is_filled_before_it_sets(base: Snapshot) -> None:
    made = sheet(BALM, base)
    texts = [step.text for step in made.steps]
    assert not any("Emulsify" in t or "water phase" in t for t in texts)
    assert texts[-2].startswith("Stir in quickly, before it sets: Lavender oil")
    melts = [step for step in made.steps if step.temperature_c is not None]
    # What bears less heat than the hardest wax needs goes in cooler.
    assert melts[0].text.startswith("Melt, highest first, until clear: Hydrogenated Castor Oil")
    limits = [
        known.value
        for m in ("cera-alba", "butyrospermum-parkii-butter")
        if (known := base.known(m, "max_process_temperature")) is not None
    ]
    later = next(step for step in melts if "Let it cool to this" in step.text)
    assert later.temperature_c == min(limits) < (melts[0].temperature_c or 0.0)


def test_without_anything_to_melt_nothing_is_heated(base: Snapshot) -> None:
    made = sheet("ingredient,percent\nOlive Oil,60\nJojoba Oil,40\n", base)
    assert [step.temperature_c for step in made.steps] == [None] * len(made.steps)
    assert any("Mix the oil phase" in step.text for step in made.steps)


def test_small_weights_and_unknown_lines_are_told(base: Snapshot) -> None:
    text = "ingredient,percent\nOlive Oil,98.9\nTocopherol,0.1\nMy secret thing zq,1\n"
    made = sheet(text, base, 50.0)
    assert sum(w.grams for w in made.weighings) == pytest.approx(50.0)
    warnings = " ".join(made.warnings)
    assert "Not known, so it stands in no step: My secret thing zq" in warnings
    assert "finer one for: Tocopherol" in warnings
    assert not any("finer" in text for text in sheet(BALM, base).warnings)


def test_the_label_goes_by_weight_and_is_free_from_one_percent_down(base: Snapshot) -> None:
    items = (
        Item("olea-europaea-fruit-oil", 60.0),
        Item("cera-alba", 10.0),
        Item("cera-alba--white", 27.0),
        Item("tocopherol", 1.0),
        Item("bisabolol", 2.0),
    )
    found = ingredient_list(Batch(items), base)
    assert [(n.inci, n.percent, n.free) for n in found] == [
        ("Olea Europaea Fruit Oil", 60.0, False),
        ("Cera Alba", 37.0, False),
        ("Bisabolol", 2.0, False),
        ("Tocopherol", 1.0, True),
    ]


def test_a_blend_with_a_name_keeps_it_and_one_without_is_taken_apart(base: Snapshot) -> None:
    found = ingredient_list(Batch((Item("cetearyl-alcohol", 100.0),)), base)
    assert [n.inci for n in found] == ["Cetearyl Alcohol"]
    joined = next(
        m
        for m in base.materials.values()
        if "(and)" in m.inci
        and len([p for p in base.parts(m.id) if p.part in base.materials]) > 1
        and sum((p.low + p.high) / 2 for p in base.parts(m.id)) >= 60
        and "blend" in m.tags
    )
    found = ingredient_list(Batch((Item(joined.id, 100.0),)), base)
    assert len(found) > 1
    assert sum(n.percent for n in found) == pytest.approx(100.0)


@pytest.mark.parametrize("form", ["text", "markdown", "html"])
def test_a_sheet_prints_in_each_form_and_nothing_in_a_name_acts(base: Snapshot, form: str) -> None:
    text = 'name = "<b>Balm</b> | *x*"\n' + "".join(
        f'[[line]]\ningredient = "{name}"\npercent = {percent}\n'
        for name, percent in (("Olive Oil", 80), ("Beeswax", 19), ("<script>|evil", 1))
    )
    found, profile = opened(text, base)
    made = make_sheet(found, profile, base, 1000.0)
    tree = sheet_tree(found, made, profile.system, [], base)
    if form == "text":
        lines = sheet_text(tree)
        assert max(map(len, lines)) <= 80
        out = "\n".join(lines)
    else:
        out = sheet_markdown(tree) if form == "markdown" else sheet_html(tree)
    assert "800.0" in out and "190.0" in out and "Ingredient list" in out
    if form == "html":
        assert "<script" not in out and "<b>" not in out
        assert "src=" not in out and "http" not in out
    if form == "markdown":
        rows = [line for line in out.splitlines() if line.startswith("|")]
        cells = {line.replace("\\|", "").count("|") for line in rows}
        assert cells == {8, 6}
        assert "<script" not in out.replace("\\<", "")


def compared(first: str, second: str, base: Snapshot):
    one, before = opened(first, base)
    two, after = opened(second, base)
    return compare(one, two, before, after, base)


def test_a_formula_compared_with_itself_differs_in_nothing(base: Snapshot) -> None:
    text = demo("winter-hand-cream")
    found = compared(text, text, base)
    assert {line.what for line in found.lines} == {"same"}
    assert found.appear == found.go == ()
    assert found.stay > 0
    assert label_moves(found.label_before, found.label_after) == []
    for effect in found.effects.values():
        assert effect.before == effect.after


def test_what_differs_is_told(base: Snapshot) -> None:
    text = demo("winter-hand-cream")
    other = text.replace('"Shea Butter"', '"Mango Butter"').replace(
        "percent = 2.5\n", "percent = 4.5\n"
    )
    other = other.replace('ingredient = "Magnesium Sulfate"\npercent = 0.7', "").replace(
        'stage = "water"\n\n[[line]]\n\nstage = "water"', 'stage = "water"'
    )
    found = compared(text, other, base)
    changes = {line.name: line.what for line in found.lines}
    assert changes["Butyrospermum Parkii Butter"] == "gone"
    assert changes["Mangifera Indica Seed Butter"] == "new"
    assert changes["Cera Alba"] == "more"
    assert changes["Aqua"] == "less"
    assert changes["Magnesium Sulfate"] == "gone"
    assert changes["Squalane"] == "same"
    body = found.effects["consistency_25c"]
    assert body.before is not None and body.after is not None and body.after > body.before
    assert {f.rule for f in found.appear} - {f.rule for f in found.go}
    moves = " ".join(label_moves(found.label_before, found.label_after))
    assert "Mangifera Indica Seed Butter comes in." in moves
    assert "Butyrospermum Parkii Butter goes." in moves


def test_the_order_on_the_label_counts_above_one_percent_only(base: Snapshot) -> None:
    first = "ingredient,percent\nOlive Oil,60\nJojoba Oil,39\nTocopherol,0.6\nBisabolol,0.4\n"
    free = first.replace("0.6", "0.x").replace("0.4", "0.6").replace("0.x", "0.4")
    turned = first.replace("60", "xx").replace("39", "60").replace("xx", "39")
    same = compared(first, free, base)
    assert label_moves(same.label_before, same.label_after) == []
    moved = compared(first, turned, base)
    assert label_moves(moved.label_before, moved.label_after) == [
        "The order changes: Simmondsia Chinensis Seed Oil, Olea Europaea Fruit Oil."
    ]


def test_what_a_batch_gave_is_kept_by_formula(own: Path) -> None:
    key = formula_key({"aqua": 60.0, "cera-alba": 40.0})
    assert key == formula_key({"cera-alba": 40.0, "aqua": 60.0, "tocopherol": 0.0})
    assert key != formula_key({"cera-alba": 39.9, "aqua": 60.1})
    how = {"instrument": "rotational", "spindle": "4", "speed": "12 1/min", "age_h": 24.0}
    log(own, key, "cream", {"consistency": 42000.0, "ph": 5.4}, how, "2025-03-01")
    log(own, "other", "balm", {"melting": 61.0}, {}, "2025-04-01")
    rows = logged(own, key)
    assert {r["quantity"]: r["value"] for r in rows} == {"consistency": 42000.0, "ph": 5.4}
    assert {r["age_h"] for r in rows} == {24.0}
    assert {r["spindle"] for r in rows} == {"4"}
    assert [r["name"] for r in logged(own)][0] == "balm"
    undo(own)
    undo(own)
    assert logged(own) == []


@pytest.mark.parametrize(
    ("values", "date"),
    [
        ({}, ""),
        ({"ph": 15.0}, ""),
        ({"consistency": -1.0}, ""),
        ({"consistency": float("nan")}, ""),
        ({"separation": 101.0}, ""),
        ({"ph": 5.0}, "1.3.2025"),
    ],
)
def test_a_measurement_that_makes_no_sense_is_refused(
    own: Path, values: dict[str, float], date: str
) -> None:
    with pytest.raises(UsageError):
        log(own, "key", "cream", values, {}, date)
    assert not own.exists()


@pytest.mark.parametrize(("text", "hours"), [("24h", 24), ("2d", 48), ("1,5 h", 1.5), ("1w", 168)])
def test_ages(text: str, hours: float) -> None:
    assert hours_in(text) == hours
    with pytest.raises(UsageError):
        hours_in(text + "x")
