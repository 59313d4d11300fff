import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.droplets import (
    DROP_PACKING,
    JAMMED_PREFACTOR,
    JAMMING,
    SPHERE_INTRINSIC,
    jammed_yield,
    krieger_dougherty,
    pal_low_bound,
)

from .sources import case


@pytest.mark.parametrize(
    ("phi", "phi_max", "relative", "within"),
    [
        case(phi, 0.80, value, 0.006, source="computed", where=f"packing 0.80, {phi}")
        for phi, value in [(0.1, 1.31), (0.3, 2.56), (0.5, 7.11), (0.6, 16.0), (0.7, 64.0)]
    ]
    + [
        case(phi, 0.64, value, 0.0006, source="computed", where=f"packing 0.64, {phi}")
        for phi, value in [
            (0.1, 1.312), (0.2, 1.821), (0.3, 2.751), (0.4, 4.803), (0.5, 11.378), (0.6, 84.449),
        ]
    ]
    + [
        case(phi, 0.74, value, 0.0006, source="computed", where=f"packing 0.74, {phi}")
        for phi, value in [
            (0.1, 1.308), (0.2, 1.791), (0.3, 2.616), (0.4, 4.215), (0.5, 8.029), (0.6, 21.764),
        ]
    ],
)  # fmt: skip
def test_relative_viscosity(phi, phi_max, relative, within):
    assert krieger_dougherty(phi, phi_max, SPHERE_INTRINSIC) == pytest.approx(relative, abs=within)


# correlations fitted to water-in-oil emulsions, evaluated at their own conditions
@pytest.mark.parametrize(
    ("phi", "correlation", "percent"),
    [
        case(0.1, 1.31, 0, source="memory", where="oil spills, Mackay 1980, 0.1"),
        case(0.3, 2.54, 1, source="memory", where="oil spills, Mackay 1980, 0.3"),
        case(0.5, 6.41, 11, source="memory", where="oil spills, Mackay 1980, 0.5"),
        case(0.1, 1.53, -15, source="memory", where="crude oil 30 1/s, Ronningsen 1995, 0.1"),
        case(0.3, 4.06, -37, source="memory", where="crude oil 30 1/s, Ronningsen 1995, 0.3"),
        case(0.5, 10.76, -34, source="memory", where="crude oil 30 1/s, Ronningsen 1995, 0.5"),
        case(0.1, 1.35, -3, source="memory", where="crude oil 500 1/s, Ronningsen 1995, 0.1"),
        case(0.3, 2.89, -11, source="memory", where="crude oil 500 1/s, Ronningsen 1995, 0.3"),
        case(0.5, 6.20, 15, source="memory", where="crude oil 500 1/s, Ronningsen 1995, 0.5"),
    ],
)
def test_distance_from_correlations_is_the_one_stated(phi, correlation, percent):
    error = 100.0 * (krieger_dougherty(phi, DROP_PACKING[0], SPHERE_INTRINSIC) / correlation - 1.0)
    assert error == pytest.approx(percent, abs=1.0)


# master curve of many suspensions of spheres, Thomas 1965, memory
@pytest.mark.parametrize(
    ("phi", "curve"),
    [
        case(0.05, 1.156, source="memory", where="Thomas 1965, 0.05"),
        case(0.1, 1.365, source="memory", where="Thomas 1965, 0.1"),
        case(0.2, 1.978, source="memory", where="Thomas 1965, 0.2"),
        case(0.3, 3.052, source="memory", where="Thomas 1965, 0.3"),
        case(0.4, 5.697, source="memory", where="Thomas 1965, 0.4"),
    ],
)
def test_spheres_at_random_packing_follow_the_master_curve(phi, curve):
    assert krieger_dougherty(phi, 0.64, SPHERE_INTRINSIC) == pytest.approx(curve, rel=0.17)


def test_full_packing_stops_all_flow():
    assert krieger_dougherty(0.8, 0.8, 2.5) == np.inf
    assert krieger_dougherty(0.9, 0.8, 2.5) == np.inf


def test_unknown_stays_unknown():
    assert np.isnan(krieger_dougherty(np.nan, 0.8, 2.5))
    assert np.isnan(pal_low_bound(0.4, 0.64, np.nan))


@pytest.mark.parametrize(
    ("phi", "ratio", "relative"),
    [
        case(phi, ratio, value, source="memory", where=f"Pal 2001, {phi}, ratio {ratio}")
        for phi, ratio, value in [
            (0.2, 0.02, 1.279), (0.4, 0.02, 1.899), (0.6, 0.02, 6.042),
            (0.2, 1.0, 1.494), (0.4, 1.0, 2.673), (0.6, 1.0, 11.066),
            (0.2, 1000.0, 1.820), (0.4, 1000.0, 4.793), (0.6, 1000.0, 80.573),
        ]
    ],
)  # fmt: skip
def test_clean_drops(phi, ratio, relative):
    assert pal_low_bound(phi, 0.64, ratio) == pytest.approx(relative, abs=0.0006)


@pytest.mark.parametrize(
    ("phi", "ratio", "relative"),
    [
        case(phi, ratio, value, source="memory", where=f"Pal 2001, packing 0.637, {phi}, {ratio}")
        for phi, ratio, value in [
            (0.3, 0.01, 1.51), (0.3, 0.1, 1.57), (0.3, 1.0, 1.93), (0.3, 10.0, 2.53),
            (0.3, 100.0, 2.73), (0.5, 0.01, 2.69), (0.5, 0.1, 2.90), (0.5, 1.0, 4.28),
            (0.5, 10.0, 8.06), (0.5, 100.0, 10.91), (0.6, 1.0, 11.55), (0.6, 100.0, 65.85),
        ]
    ],
)  # fmt: skip
def test_clean_drops_second_calculation(phi, ratio, relative):
    assert pal_low_bound(phi, 0.637, ratio) == pytest.approx(relative, abs=0.006)


def test_gelling_the_drops_cannot_exceed_hard_spheres():
    assert pal_low_bound(0.6, 0.637, 1e9) == pytest.approx(92.95, abs=0.01)
    assert pal_low_bound(0.6, 0.637, 1e9) == pytest.approx(krieger_dougherty(0.6, 0.637, 2.5))


@given(st.floats(0.0, 0.6), st.floats(0.64, 0.9), st.floats(0.0, 1e4))
def test_clean_drops_are_a_low_bound(phi, phi_max, ratio):
    bound = pal_low_bound(phi, phi_max, ratio)
    assert 1.0 - 1e-9 <= bound <= krieger_dougherty(phi, phi_max, 2.5) * (1.0 + 1e-9)


@given(st.floats(0.001, 0.02))
def test_dilute_limits(phi):
    einstein = (krieger_dougherty(phi, 0.8, 2.5) - 1.0) / phi
    assert einstein == pytest.approx(2.5, rel=0.06)
    for ratio in (0.02, 1.0, 100.0):
        taylor = 2.5 * (ratio + 0.4) / (ratio + 1.0)
        assert (pal_low_bound(phi, 0.8, ratio) - 1.0) / phi == pytest.approx(taylor, rel=0.06)


@given(st.floats(0.0, 0.7), st.floats(0.001, 0.05))
def test_more_drops_thicken(phi, extra):
    assert krieger_dougherty(phi + extra, 0.8, 2.5) > krieger_dougherty(phi, 0.8, 2.5)


@pytest.mark.parametrize(
    ("phi", "tau"),
    [
        case(0.70, 6.5, source="computed", where="3 mN/m, 1.5 um, 0.70"),
        case(0.80, 33.0, source="computed", where="3 mN/m, 1.5 um, 0.80"),
        case(0.62, 0.0, source="computed", where="at jamming"),
        case(0.30, 0.0, source="computed", where="below jamming"),
    ],
)
def test_jammed_drops(phi, tau):
    found = jammed_yield(phi, 3.0, 1.5, prefactor=JAMMED_PREFACTOR, jamming=JAMMING)
    assert found == pytest.approx(tau, abs=0.06)


def test_smaller_jammed_drops_are_stiffer():
    fine, coarse = (
        jammed_yield(0.75, 3.0, r, prefactor=JAMMED_PREFACTOR, jamming=JAMMING) for r in (1.0, 4.0)
    )
    assert fine == pytest.approx(4.0 * coarse)


@pytest.mark.parametrize(
    "call",
    [
        lambda: krieger_dougherty(-0.1, 0.8, 2.5),
        lambda: krieger_dougherty(1.0, 0.8, 2.5),
        lambda: krieger_dougherty(0.1, 0.0, 2.5),
        lambda: krieger_dougherty(0.1, 0.8, -2.5),
        lambda: pal_low_bound(0.8, 0.8, 1.0),
        lambda: pal_low_bound(0.4, 0.8, -1.0),
        lambda: jammed_yield(0.7, -3.0, 1.5, prefactor=0.51, jamming=0.62),
        lambda: jammed_yield(0.7, 3.0, 0.0, prefactor=0.51, jamming=0.62),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
