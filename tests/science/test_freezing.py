import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.freezing import activity_of_ice, at_temperature, partial_heat_of_water
from kb.science.salts import pitzer_sodium_chloride
from kb.science.water_activity import electrolyte, molality

from .sources import case

# Heats of mixing of propylene glycol and water at 25 degC, J/mol: mole fraction and heat; published
# (doi 10.1016/j.jct.2005.06.018). The fit with four terms leaves 20 J/mol at most.
HEATS = [
    (0.0266, -279), (0.0579, -562), (0.1214, -878), (0.205, -970), (0.304, -913), (0.3872, -837),
    (0.4957, -702), (0.5454, -635), (0.6431, -542), (0.7386, -436), (0.8236, -325), (0.9233, -150),
]  # fmt: skip
FITTED = [-2733.0, -2131.0, -4126.0, -3158.0]


@pytest.mark.parametrize(
    ("t_c", "ice", "water"),
    [
        case(-5.0, 4.015, 4.215, source="memory", where="Smithsonian tables, -5 degC, hPa"),
        case(-10.0, 2.597, 2.863, source="memory", where="Smithsonian tables, -10 degC, hPa"),
        case(-20.0, 1.032, 1.254, source="memory", where="Smithsonian tables, -20 degC, hPa"),
        case(-30.0, 0.3798, 0.5088, source="memory", where="Smithsonian tables, -30 degC, hPa"),
    ],
)
def test_ice_over_water(t_c, ice, water):
    assert activity_of_ice(t_c) == pytest.approx(ice / water, abs=0.001)


@pytest.mark.parametrize(
    ("percent", "freezing_c"),
    [
        case(3.5, -2.09, source="memory", where="sodium chloride 3.5 %"),
        case(10.0, -6.56, source="memory", where="sodium chloride 10 %"),
    ],
)
def test_salt_freezes_where_its_water_activity_says(percent, freezing_c):
    m = molality(percent, 58.44, 100.0 - percent)
    known = electrolyte(m, 2.0, pitzer_sodium_chloride(m))
    # 25 degC against the freezing point: the cold moves the osmotic coefficient a little
    assert activity_of_ice(freezing_c) == pytest.approx(known, abs=0.0035)


@pytest.mark.parametrize(
    ("x", "heat"),
    [case(*row, source="published", where=f"propylene glycol x {row[0]}") for row in HEATS],
)
def test_fit_meets_the_measured_heats(x, heat):
    found = sum(c * x * (1 - x) * (1 - 2 * x) ** k for k, c in enumerate(FITTED))
    assert found == pytest.approx(heat, abs=21.0)


@given(st.floats(0.001, 0.999), st.lists(st.floats(-5000, 5000), min_size=1, max_size=5))
def test_partial_heat_is_the_tangent_at_pure_water(x, coefficients):
    def heat(z):
        return sum(c * z * (1 - z) * (1 - 2 * z) ** k for k, c in enumerate(coefficients))

    step = 1e-6
    tangent = heat(x) - x * (heat(x + step) - heat(x - step)) / (2 * step)
    assert partial_heat_of_water(x, coefficients) == pytest.approx(tangent, abs=0.01)


@pytest.mark.parametrize(
    ("x", "coefficients", "heat"),
    [
        case(0.0, FITTED, 0.0, source="computed", where="no solute"),
        case(1.0, FITTED, -1570.0, source="computed", where="a trace of water in glycol"),
        case(0.1363, FITTED, -565.0, source="computed", where="40 % propylene glycol"),
    ],
)
def test_partial_heat_of_water(x, coefficients, heat):
    assert partial_heat_of_water(x, coefficients) == pytest.approx(heat, abs=1.0)


@pytest.mark.parametrize(
    ("a_w", "t_c", "heat", "warm"),
    [
        case(0.8163, -20.79, -565.0, 0.8507, source="computed", where="40 % propylene glycol"),
        case(0.9525, -5.0, -72.0, 0.9556, source="computed", where="15 % propylene glycol"),
        case(0.9525, -5.0, 0.0, 0.9525, source="computed", where="no heat of mixing"),
    ],
)
def test_water_activity_at_another_temperature(a_w, t_c, heat, warm):
    assert at_temperature(a_w, t_c, 25.0, heat) == pytest.approx(warm, abs=2e-4)


@given(st.floats(0.1, 0.99), st.floats(-40, 0), st.floats(1, 60), st.floats(-2000, 0))
def test_where_mixing_warms_warmth_raises_water_activity_and_back(a_w, cold, rise, heat):
    warm = at_temperature(a_w, cold, cold + rise, heat)
    assert warm >= a_w
    if warm < 1.0:
        assert at_temperature(warm, cold + rise, cold, heat) == pytest.approx(a_w, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: activity_of_ice(1.0), "freezing point"),
        (lambda: activity_of_ice(-80.0), "freezing point"),
        (lambda: at_temperature(1.1, 0.0, 25.0, 0.0), "water activity"),
        (lambda: at_temperature(0.9, -300.0, 25.0, 0.0), "absolute zero"),
        (lambda: partial_heat_of_water(1.2, [1.0]), "mole fraction"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_deeper_freezing_point_means_less_free_water():
    assert np.all(np.diff(activity_of_ice(np.linspace(-70.0, 0.0, 71))) > 0.0)
