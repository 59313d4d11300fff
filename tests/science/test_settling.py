import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.settling import (
    ARREST,
    ARREST_DESIGN,
    HINDERED_EXPONENT,
    SURE_YIELD,
    richardson_zaki,
    state,
    stokes,
    yield_to_hold,
)

from .sources import case

ZINC_OXIDE, RUTILE, WATER = 5600.0, 4170.0, 997.0
DIAMETERS = (0.5, 1.0, 3.0, 5.0, 10.0)


@pytest.mark.parametrize(
    ("eta", "fluid", "speeds"),
    [
        case(28, 920, (1.97, 7.87, 70.8, 197, 787), source="computed", where="ester oil"),
        case(100, 920, (0.55, 2.20, 19.8, 55.1, 220), source="computed", where="oil of 100 mPa s"),
        case(700, 957, (0.078, 0.31, 2.8, 7.8, 31), source="computed", where="castor oil"),
    ],
)
def test_table_of_speeds(eta, fluid, speeds):
    found = [stokes(d, ZINC_OXIDE, fluid, eta) for d in DIAMETERS]
    assert found == pytest.approx(speeds, rel=0.012)


@pytest.mark.parametrize(
    ("d", "density", "fluid", "eta", "speed"),
    [
        case(1.0, ZINC_OXIDE, 945, 28, 7.83, source="memory", where="zinc oxide in triglyceride"),
        case(0.25, RUTILE, 945, 28, 0.339, source="memory", where="rutile in triglyceride"),
        case(3.0, WATER, 810, 28, 2.83, source="memory", where="water drop in squalane"),
        case(3.0, WATER, 945, 28, 0.787, source="memory", where="water drop in triglyceride"),
        case(10.0, ZINC_OXIDE, 960, 950, 23.0, source="memory", where="zinc oxide in castor oil"),
    ],
)
def test_worked_speeds(d, density, fluid, eta, speed):
    assert stokes(d, density, fluid, eta) == pytest.approx(speed, rel=0.003)


def test_light_drops_rise():
    assert stokes(5.0, 900.0, 1000.0, 1.0) < 0.0


def test_neighbours_slow_down():
    assert richardson_zaki(0.3, HINDERED_EXPONENT) == pytest.approx(0.190, abs=5e-4)
    hindered = stokes(1.0, ZINC_OXIDE, 920, 28) * richardson_zaki(0.3, HINDERED_EXPONENT)
    assert hindered == pytest.approx(1.50, abs=0.005)


@pytest.mark.parametrize(
    ("d", "least", "design"),
    [
        case(0.5, 0.0011, 0.0046, source="computed", where="0.5 um"),
        case(1.0, 0.0022, 0.0092, source="computed", where="1 um"),
        case(3.0, 0.0066, 0.028, source="computed", where="3 um"),
        case(5.0, 0.011, 0.046, source="computed", where="5 um"),
        case(10.0, 0.022, 0.092, source="computed", where="10 um"),
    ],
)
def test_yield_needed(d, least, design):
    assert yield_to_hold(d, ZINC_OXIDE, 920, ARREST) == pytest.approx(least, rel=0.03)
    assert yield_to_hold(d, ZINC_OXIDE, 920, ARREST_DESIGN) == pytest.approx(design, rel=0.03)


@pytest.mark.parametrize(
    ("d", "density", "fluid", "tau"),
    [
        case(10, ZINC_OXIDE, 900, 0.022, source="computed", where="zinc oxide 10 um"),
        case(100, ZINC_OXIDE, 900, 0.22, source="computed", where="zinc oxide 100 um"),
        case(10, RUTILE, 900, 0.0153, source="computed", where="rutile 10 um"),
        case(500, 1050, 1000, 0.0117, source="computed", where="half-millimetre bead"),
    ],
)
def test_worked_yields(d, density, fluid, tau):
    assert yield_to_hold(d, density, fluid, ARREST) == pytest.approx(tau, rel=0.01)


def test_criterion_follows_from_the_published_number():
    # published: a sphere falls only if 2 pi R^2 tau/F < 0.143 (Beris 1985)
    assert abs(ARREST - 0.143 / 3.0) < 5e-5


def test_rising_drops_need_as_much_yield_as_sinking_ones():
    assert (
        yield_to_hold(5.0, 900.0, 1000.0, ARREST) == yield_to_hold(5.0, 1000.0, 900.0, ARREST) > 0
    )


def test_words():
    tau = np.array([18.0, 0.0, 0.3, np.nan])
    assert state(tau, 0.0219, 0.092, SURE_YIELD).tolist() == [
        "held",
        "settles",
        "uncertain",
        "unknown",
    ]
    assert str(state(1.5, 2.0, 8.0, SURE_YIELD)) == "settles"
    assert str(state(5.0, 2.0, 8.0, SURE_YIELD)) == "uncertain"


@given(st.floats(0.1, 50.0), st.floats(1.0, 1e4), st.floats(1.1, 5.0))
def test_speed_grows_with_the_square_and_falls_with_viscosity(d, eta, factor):
    speed = stokes(d, ZINC_OXIDE, 920.0, eta)
    assert stokes(factor * d, ZINC_OXIDE, 920.0, eta) == pytest.approx(factor**2 * speed)
    assert stokes(d, ZINC_OXIDE, 920.0, factor * eta) == pytest.approx(speed / factor)


@given(st.floats(0.0, 0.99))
def test_hindrance_is_a_fraction(phi):
    assert 0.0 < richardson_zaki(phi, HINDERED_EXPONENT) <= 1.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: stokes(-1.0, 5600.0, 920.0, 28.0),
        lambda: stokes(1.0, 0.0, 920.0, 28.0),
        lambda: stokes(1.0, 5600.0, 0.0, 28.0),
        lambda: stokes(1.0, 5600.0, 920.0, 0.0),
        lambda: richardson_zaki(1.01, 4.65),
        lambda: richardson_zaki(0.1, -1.0),
        lambda: yield_to_hold(-1.0, 5600.0, 920.0, ARREST),
        lambda: yield_to_hold(1.0, 0.0, 920.0, ARREST),
        lambda: yield_to_hold(1.0, 5600.0, 920.0, -1.0),
        lambda: state(-1.0, 0.01, 0.05, 1.0),
        lambda: state(1.0, 0.05, 0.01, 1.0),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
