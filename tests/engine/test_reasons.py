"""What stands behind a figure: its equation, what it looks at, and what its range comes from."""

import pytest

from kb.engine.opening import open_formula
from kb.engine.why import INPUTS, why_quantity
from kb.formula.reading import parse_formula
from kb.store.asking import method_of
from kb.store.opening import connect

CREAM = """
name = "Cream"
system = "w/o"

[[line]]
ingredient = "Polyglyceryl-3 Diisostearate"
percent = 4

[[line]]
ingredient = "Squalane"
percent = 20

[[line]]
ingredient = "Octyldodecanol"
percent = 8

[[line]]
ingredient = "Beeswax"
percent = 3

[[line]]
ingredient = "Glycerin"
percent = 10

[[line]]
ingredient = "Water"
percent = 55
"""


@pytest.fixture(scope="module")
def batch(base):
    return open_formula(parse_formula(CREAM, "cream.toml"), base).batch


def about(batch, base, quantity):
    reason = why_quantity(batch, quantity, base)
    return reason, {i.ingredient for i in reason.inputs}


@pytest.mark.parametrize("quantity", sorted(INPUTS))
def test_what_dominates_adds_up_and_is_named_once(batch, base, quantity):
    reason, _ = about(batch, base, quantity)
    names = [what for what, _ in reason.dominates]
    assert len(names) == len(set(names))
    assert all(0.0 < share <= 1.0 for _, share in reason.dominates)


def test_oil_figures_look_at_the_oil_and_water_figures_at_the_water(batch, base):
    assert "aqua" not in about(batch, base, "solids_25c")[1]
    assert "aqua" not in about(batch, base, "oil_viscosity_25c")[1]
    assert about(batch, base, "water_activity")[1] == {"aqua", "glycerin"}


def test_nothing_of_the_oil_moves_water_activity(batch, base):
    reason, _ = about(batch, base, "water_activity")
    assert {what for what, _ in reason.dominates} <= {
        "model: water-activity model",
        "norrish k of glycerin",
    }


def test_the_mixing_rule_dominates_the_oil(batch, base):
    reason, _ = about(batch, base, "oil_viscosity_25c")
    assert reason.dominates[0][0] == "model: oil-viscosity mixing"


def test_oil_viscosity_names_the_mixing_rule_before_the_law_of_temperature(base_path):
    method = method_of(connect(base_path), "oil_viscosity_25c")
    first, second = method["citation"].split("; ")
    assert "Maples" in first and "D341" in second
