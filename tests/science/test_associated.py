import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.associated import (
    GLYCOL_WATER_ERROR,
    PROPYLENE_GLYCOL_WATER,
    alcohol_weights,
    grunberg_nissan,
)
from kb.science.blending import blend_density, blend_kinematic, blend_log_mass

from .sources import case

# mass fraction of propylene glycol against viscosity in mPa s, published
TANAKA_25 = [(0.5136, 5.452), (0.7379, 12.77), (0.8637, 21.63), (0.9441, 32.85)]
GERKE_20 = [(0.95, 41.0), (0.85, 25.5), (0.7, 13.8), (0.6, 9.7), (0.5, 6.65)]
GLYCOL = {
    "Tanaka 1988, 25 degC": ((44.39, 1.0326), (0.891, 0.9970), TANAKA_25),
    "Gerke 2023, 20 degC": ((59.62, 1.0362), (1.0016, 0.9982), GERKE_20),
}
# octanol in a hydrocarbon at 25 degC: mass fraction against mPa s, Dubey 2008, published
OCTANOL = {
    "hexadecane": (
        (3.041, 0.7701, 226.44),
        [(0.063, 3.089), (0.174, 3.175), (0.363, 3.768), (0.565, 4.714), (0.757, 5.757)],
    ),
    "squalane": (
        (28.257, 0.8051, 422.8),
        [(0.035, 21.924), (0.100, 17.878), (0.221, 15.418), (0.417, 11.514), (0.639, 8.533)],
    ),
}


@pytest.mark.parametrize(
    ("first", "second", "w", "eta"),
    [
        case(first, second, w, eta, source="published", where=f"{name}, glycol {w:g}")
        for name, (first, second, measured) in GLYCOL.items()
        for w, eta in measured
    ],
)
def test_glycol_in_water(first, second, w, eta):
    nu = grunberg_nissan(w, first[0] / first[1], second[0] / second[1], PROPYLENE_GLYCOL_WATER)
    found = nu * blend_density([w, 1.0 - w], [first[1], second[1]])
    assert found == pytest.approx(eta, rel=GLYCOL_WATER_ERROR - 1.0)
    plain = blend_log_mass([w, 1.0 - w], [first[0] / first[1], second[0] / second[1]])
    assert abs(np.log(found / eta)) < abs(np.log(plain / eta))


def octanol(oil, w, weights):
    (eta, rho, molar), _ = OCTANOL[oil]
    nus = [7.507 / 0.8217, eta / rho]
    density = blend_density([w, 1.0 - w], [0.8217, rho])
    return blend_kinematic(weights([w, 1.0 - w], [130.23, molar], [1.0, 0.0]), nus) * density


@pytest.mark.parametrize(
    ("oil", "w", "eta"),
    [
        case(oil, w, eta, source="published", where=f"octanol {w:g} in {oil}")
        for oil, (_, measured) in OCTANOL.items()
        for w, eta in measured
    ],
)
def test_octanol_in_a_hydrocarbon(oil, w, eta):
    assert octanol(oil, w, alcohol_weights) == pytest.approx(eta, rel=0.22)


def test_counting_the_alcohol_by_the_mole_errs_less():
    def mean(weights):
        return np.mean(
            [
                abs(octanol(oil, w, weights) / eta - 1.0)
                for oil, (_, measured) in OCTANOL.items()
                for w, eta in measured
            ]
        )

    assert mean(alcohol_weights) == pytest.approx(0.11, abs=0.003)
    assert mean(lambda masses, *_: masses) == pytest.approx(0.183, abs=0.003)


masses = st.lists(st.floats(0.01, 10.0), min_size=1, max_size=5)


@given(masses, st.floats(100.0, 900.0), st.sampled_from([0.0, 1.0]))
def test_alone_each_kind_counts_by_mass(m, molar, flag):
    found = alcohol_weights(m, [molar] * len(m), [flag] * len(m))
    assert found == pytest.approx(m)


@given(st.floats(0.01, 10.0), st.floats(100.0, 900.0), st.floats(100.0, 900.0))
def test_two_liquids_count_by_the_mole(share, alcohol, oil):
    one, two = alcohol_weights([share, 1.0], [alcohol, oil], [1.0, 0.0])
    assert one / two == pytest.approx((share / alcohol) / (1.0 / oil))


@given(st.floats(0.0, 1.0), st.floats(0.5, 900.0), st.floats(0.5, 900.0))
def test_without_interaction_it_is_the_geometric_mean(w, one, two):
    assert grunberg_nissan(w, one, two, 0.0) == pytest.approx(
        float(blend_log_mass([w, 1.0 - w], [one, two]))
    )


@pytest.mark.parametrize(
    ("w", "found"),
    [
        case(0.0, 0.9, source="computed", where="pure water"),
        case(1.0, 43.0, source="computed", where="pure glycol"),
        case(0.5, 4.9803, source="computed", where="half and half"),
    ],
)
def test_worked_glycol(w, found):
    assert grunberg_nissan(w, 43.0, 0.9, -0.89) == pytest.approx(found, abs=1e-3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: grunberg_nissan(1.1, 1.0, 1.0, 0.0), "share"),
        (lambda: grunberg_nissan(0.5, 0.0, 1.0, 0.0), "viscosity"),
        (lambda: alcohol_weights([-1.0], [100.0], [1.0]), "masses"),
        (lambda: alcohol_weights([1.0], [0.0], [1.0]), "molar"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
