import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.emulsion_type import (
    HLB_BAND,
    HLB_THRESHOLD,
    OIL_OUTSIDE,
    UNKNOWN,
    WATER_BAND,
    WATER_OUTSIDE,
    WATER_THRESHOLD,
    classify,
    probability_oil_in_water,
)

from .sources import case

# formulas with their HLB (soap in place counted), water phase share and known type
FORMULAS = [
    case(18.0, 0.195, OIL_OUTSIDE, source="published", where="cold cream with borax"),
    case(18.0, 0.257, OIL_OUTSIDE, source="published", where="cerate with borax and rose water"),
    case(4.7, 0.70, OIL_OUTSIDE, source="memory", where="hydrophobic base cream"),
    case(40.0, 0.70, WATER_OUTSIDE, source="published", where="aqueous cream"),
    case(9.65, 0.40, OIL_OUTSIDE, source="memory", where="base cream with added oil"),
    case(9.65, 0.75, WATER_OUTSIDE, source="published", where="base cream with added water"),
    case(4.3, 0.189, OIL_OUTSIDE, source="published", where="waxy emulsion, sorbitan oleate"),
    case(4.7, 0.189, OIL_OUTSIDE, source="published", where="waxy emulsion, sorbitan stearate"),
    case(0.0, 0.40, OIL_OUTSIDE, source="published", where="water in beeswax gel"),
    case(3.0, 0.44, OIL_OUTSIDE, source="memory", where="zinc cream with calcium soap"),
    case(1.0, 0.667, OIL_OUTSIDE, source="published", where="wool alcohols with two parts water"),
    case(14.9, 0.60, WATER_OUTSIDE, source="published", where="nonionic hydrophilic cream"),
    case(8.7, 0.89, WATER_OUTSIDE, source="published", where="vanishing cream, potassium soap"),
]


@pytest.mark.parametrize(("hlb", "share", "kind"), FORMULAS)
def test_rule_names_the_known_type(hlb, share, kind):
    assert str(classify(hlb, share).kind) == kind


def test_margins():
    call = classify(9.0, 0.60)
    assert call.hlb_margin == pytest.approx(3.0)
    assert call.water_margin == pytest.approx(0.15)
    assert call.margin == pytest.approx(1.5)
    assert call.likely


def test_one_clear_miss_makes_oil_outside_likely():
    assert classify(3.0, 0.90).likely
    assert classify(18.0, 0.20).likely


@pytest.mark.parametrize(
    ("hlb", "share"), [(7.0, 0.80), (15.0, 0.50), (5.0, 0.80), (15.0, 0.40), (4.7, 0.70)]
)
def test_near_a_threshold_it_can_invert(hlb, share):
    assert not classify(hlb, share).likely


def test_a_band_away_is_clear():
    share = WATER_THRESHOLD + WATER_BAND
    assert classify(HLB_THRESHOLD + HLB_BAND, share).likely
    assert classify(HLB_THRESHOLD - HLB_BAND, share).likely


def test_unknown_stays_unknown():
    call = classify(np.array([np.nan, 18.0]), np.array([0.5, 0.2]))
    assert call.kind.tolist() == [UNKNOWN, OIL_OUTSIDE]
    assert np.isnan(call.margin[0])
    assert not call.likely[0]


@given(st.floats(0.0, 20.0), st.floats(0.0, 1.0), st.floats(0.0, 5.0), st.floats(0.0, 0.5))
def test_more_water_and_more_hlb_never_lead_to_oil_outside(hlb, share, more_hlb, more_water):
    before = classify(hlb, share).margin
    assert classify(hlb + more_hlb, min(1.0, share + more_water)).margin >= before


@given(st.floats(-5.0, 5.0), st.floats(0.55, 0.99))
def test_probability_is_symmetric(margin, at_one):
    p = probability_oil_in_water(margin, at_one)
    assert p + probability_oil_in_water(-margin, at_one) == pytest.approx(1.0)
    assert probability_oil_in_water(1.0, at_one) == pytest.approx(at_one)
    assert probability_oil_in_water(0.0, at_one) == pytest.approx(0.5)


@pytest.mark.parametrize(
    "call",
    [
        lambda: classify(-1.0, 0.5),
        lambda: classify(5.0, 1.01),
        lambda: classify(5.0, -0.5),
        lambda: probability_oil_in_water(0.0, 0.5),
        lambda: probability_oil_in_water(0.0, 1.0),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
