import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.miscibility import (
    MPA_PER_CAL,
    TOTAL_DIFFERENCE,
    blend_parameters,
    hansen_distance,
    parameter_difference,
    red,
    total_parameter,
)

from .sources import case

# dispersion, polar, hydrogen bonding, MPa^0.5 at 25 degC; published (table after the Polymer
# Handbook, 4th ed.)
TABLE = {
    "isopropyl palmitate": (14.3, 3.9, 3.7),
    "butyl stearate": (14.5, 3.7, 3.5),
    "oleic acid": (14.3, 3.1, 5.5),
    "oleyl alcohol": (14.3, 2.7, 8.0),
    "hexane": (14.9, 0.0, 0.0),
    "ethanol": (15.8, 8.8, 19.4),
    "water": (15.5, 16.0, 42.4),
    "propylene carbonate": (20.1, 18.0, 4.1),
    "benzyl alcohol": (18.4, 6.3, 13.7),
    "lard": (15.9, 1.2, 5.4),
}


@pytest.mark.parametrize(
    ("a", "b", "distance"),
    [
        case(*row, source="computed", where=f"{row[0]} + {row[1]}")
        for row in [
            ("isopropyl palmitate", "butyl stearate", 0.49),
            ("isopropyl palmitate", "oleic acid", 1.97),
            ("isopropyl palmitate", "hexane", 5.51),
            ("isopropyl palmitate", "ethanol", 16.72),
            ("isopropyl palmitate", "water", 40.62),
            ("ethanol", "water", 24.11),
            ("oleyl alcohol", "oleic acid", 2.53),
            ("hexane", "propylene carbonate", 21.19),
            ("benzyl alcohol", "ethanol", 8.11),
        ]
    ],
)
def test_distances(a, b, distance):
    assert hansen_distance(TABLE[a], TABLE[b]) == pytest.approx(distance, abs=0.006)


def test_total_of_water():
    # memory: 47.8 MPa^0.5 in the usual tables
    assert total_parameter(TABLE["water"]) == pytest.approx(47.8, abs=0.1)


def test_castor_and_mineral_oil_fool_the_total():
    # published: totals 8.90 and 7.09 (cal/cm3)^0.5, and the two do not mix
    assert parameter_difference(8.90, 7.09) < TOTAL_DIFFERENCE


@pytest.mark.parametrize(
    ("cal", "mpa"),
    [
        case(8.90, 18.2, source="published", where="castor oil"),
        case(7.09, 14.5, source="published", where="mineral oil"),
        case(6.19, 12.7, source="published", where="isocetyl stearate"),
        case(8.29, 17.0, source="published", where="isosteareth-2"),
    ],
)
def test_units(cal, mpa):
    assert cal * MPA_PER_CAL == pytest.approx(mpa, abs=0.06)


def test_lard_dissolves_in_esters_and_not_in_water():
    # memory: interaction radius of lard at 37 degC 12.0 MPa^0.5
    assert red(hansen_distance(TABLE["lard"], TABLE["isopropyl palmitate"]), 12.0) < 1.0
    assert red(hansen_distance(TABLE["lard"], TABLE["water"]), 12.0) > 1.0


def test_draws_run_along_the_last_axis():
    many = np.tile(np.array(TABLE["hexane"])[:, None], 4)
    assert hansen_distance(TABLE["ethanol"], many).shape == (4,)


parameters = st.tuples(*[st.floats(0.0, 45.0)] * 3)


@given(parameters, parameters, parameters)
def test_distance_is_a_distance(a, b, c):
    assert hansen_distance(a, a) == 0.0
    assert hansen_distance(a, b) == pytest.approx(hansen_distance(b, a))
    direct = hansen_distance(a, c)
    assert direct <= hansen_distance(a, b) + hansen_distance(b, c) + 1e-9


@given(st.floats(0.0, 1.0))
def test_blend_lies_between(share):
    assert 0.0 <= blend_parameters([share, 1.0 - share + 1e-9], [0.0, 8.8]) <= 8.8 + 1e-9


@pytest.mark.parametrize(
    "call",
    [
        lambda: hansen_distance([1.0, 2.0], [1.0, 2.0]),
        lambda: hansen_distance([1.0, 2.0, 3.0], [1.0, 2.0]),
        lambda: hansen_distance([1.0, 2.0, -3.0], [1.0, 2.0, 3.0]),
        lambda: red(-1.0, 1.0),
        lambda: red(1.0, 0.0),
        lambda: total_parameter([-1.0, 0.0, 0.0]),
        lambda: parameter_difference(-1.0, 1.0),
        lambda: blend_parameters([-1.0, 2.0], [1.0, 1.0]),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
