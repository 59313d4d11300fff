"""Curves over temperature say what the profile says, and what it does not."""

import math

import pytest

from kb.engine.curves import TEMPERATURES_C, change, curves
from kb.engine.opening import open_formula
from kb.engine.profile import make_profile
from kb.formula.reading import parse_formula

DRAWS = 24
BALM = """
name = "balm"

[[line]]
ingredient = "beeswax"
percent = 15

[[line]]
ingredient = "sunflower oil"
percent = 85
"""


def profile_of(text, base, draws=DRAWS):
    opened = open_formula(parse_formula(text, "test.toml"), base)
    return make_profile(opened.batch, base, draws)


@pytest.fixture(scope="module")
def balm(base):
    return profile_of(BALM, base)


def test_curves_pass_through_the_figures_of_the_profile(balm, base):
    found = curves(balm, base)
    stated = balm.quantities["consistency_25c"]
    here = TEMPERATURES_C.index(25.0)
    assert found.consistency.central[here] == pytest.approx(stated.value)
    assert found.consistency.low[here] == pytest.approx(stated.low)
    assert found.consistency.high[here] == pytest.approx(stated.high)
    for t in (10.0, 25.0, 40.0):
        assert found.solids.at(t) == pytest.approx(balm.value(f"solids_{t:.0f}c"))
    drift = found.consistency.at(10.0) / found.consistency.at(40.0)
    assert drift == pytest.approx(balm.value("climate_drift_10_over_40"), rel=1e-6)


def test_curves_span_cellar_to_car_and_fall_with_warmth(balm, base):
    found = curves(balm, base)
    assert (TEMPERATURES_C[0], TEMPERATURES_C[-1]) == (5.0, 45.0)
    for curve in (found.consistency, found.solids):
        assert len(curve.central) == len(TEMPERATURES_C)
        assert all(a >= b for a, b in zip(curve.central, curve.central[1:], strict=False))
        triples = zip(curve.low, curve.central, curve.high, strict=True)
        assert all(low <= value <= high for low, value, high in triples)
    assert found.consistency.high[0] > 2.0 * found.consistency.low[0]


def test_any_temperatures_can_be_asked(balm, base):
    found = curves(balm, base, (0.0, 20.0))
    assert found.consistency.temperatures_c == (0.0, 20.0)
    assert found.solids.at(0.0) >= found.solids.at(20.0)


def test_without_draws_the_range_is_the_value(base):
    found = curves(profile_of(BALM, base, 0), base)
    assert found.consistency.low == found.consistency.central == found.consistency.high


def test_no_oil_phase_has_no_solids_and_a_powder_no_consistency(base):
    water = BALM.replace("beeswax", "glycerin").replace("sunflower oil", "aqua")
    assert curves(profile_of(water, base), base).solids is None
    powder = BALM.replace("beeswax", "zinc oxide").replace("sunflower oil", "talc")
    found = curves(profile_of(powder, base), base)
    assert found.consistency is None
    assert change(found, found) is None


def test_the_change_of_nothing_is_one_without_any_range(balm, base):
    found = curves(balm, base)
    same = change(found, found)
    assert same.central == same.low == same.high
    assert all(value == pytest.approx(1.0) for value in same.central)


def test_shared_errors_cancel_in_the_change(balm, base):
    before = curves(balm, base)
    after = curves(profile_of(BALM.replace("15", "10").replace("85", "90"), base), base)
    ratio = change(before, after)
    here = TEMPERATURES_C.index(25.0)
    assert ratio.central[here] < 1.0
    width = math.log(ratio.high[here] / ratio.low[here])
    own = math.log(before.consistency.high[here] / before.consistency.low[here])
    assert width < 0.5 * own


def test_curves_that_were_asked_otherwise_are_refused(balm, base):
    found = curves(balm, base)
    with pytest.raises(ValueError, match="temperatures"):
        change(found, curves(balm, base, (5.0, 25.0)))
    with pytest.raises(ValueError, match="draws"):
        change(found, curves(profile_of(BALM, base, 8), base))
