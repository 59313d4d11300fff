import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.powders import (
    ATTRACTION_PERCOLATION,
    ATTRACTION_PREFACTOR,
    LINSEED_DENSITY,
    PASTE_SHARE,
    attraction_yield,
    cpvc,
    mixed_packing,
    powder_share,
    reflected,
    yield_amplification,
)

from .sources import case


# oil absorption and density: published (rub-out in linseed oil; handbook densities)
@pytest.mark.parametrize(
    ("absorption", "density", "packing"),
    [
        case(18.5, 5.6, 0.4744, source="computed", where="zinc oxide"),
        case(20.0, 5.25, 0.4710, source="computed", where="red iron oxide"),
        case(11.0, 4.17, 0.6709, source="computed", where="titania"),
        case(30.0, 2.59, 0.5461, source="computed", where="kaolin"),
        case(17.0, 2.71, 0.6699, source="computed", where="calcium carbonate"),
        case(15.0, 4.49, 0.5813, source="computed", where="barium sulfate"),
        case(29.0, 2.334, 0.5801, source="computed", where="silica"),
    ],
)
def test_packing_from_oil_absorption(absorption, density, packing):
    assert cpvc(absorption, density, LINSEED_DENSITY) == pytest.approx(packing, abs=1e-4)


def test_packing_from_millilitres():
    # computed: talc, 37 ml/100 g published, density 2.75
    assert cpvc(37.0, 2.75, 1.0) == pytest.approx(0.496, abs=5e-4)


@pytest.mark.parametrize(
    ("phi", "factor"),
    [
        case(0.0, 1.0, source="computed", where="no powder"),
        case(0.1, 1.092, source="computed", where="0.1"),
        case(0.2, 1.238, source="computed", where="0.2"),
    ],
)
def test_amplification(phi, factor):
    assert yield_amplification(phi, 0.474) == pytest.approx(factor, abs=6e-4)


def test_full_packing():
    assert yield_amplification(0.5, 0.474) == np.inf
    assert attraction_yield(0.5, 0.474, 0.0, 100.0) == np.inf
    assert attraction_yield(0.5, 0.474, 0.0, 0.0) == 0.0


def test_unknown_stays_unknown():
    assert np.isnan(yield_amplification(np.nan, 0.474))
    assert np.isnan(attraction_yield(np.nan, 0.474, 0.0, 100.0))


def test_mixture_of_powders_needs_the_oil_of_both():
    packings = [cpvc(18.5, 5.6, 0.935), cpvc(30.0, 2.59, 0.935)]
    volumes = [25.0 / 5.6, 25.0 / 2.59]
    demand = sum(v * (1.0 / p - 1.0) for v, p in zip(volumes, packings, strict=True))
    assert mixed_packing(volumes, packings) == pytest.approx(sum(volumes) / (sum(volumes) + demand))


def test_zinc_pastes_are_pastes_and_zinc_cream_is_not():
    # published formulas; starch density 1.478 and petrolatum 0.86 g/ml recalled
    starch_paste = powder_share(25 / 5.6 + 25 / 1.478, 50 / 0.86)
    talc_paste = powder_share(25 / 5.6 + 25 / 2.75, 50 / 0.86)
    zinc_cream = powder_share(32 / 5.6, (29.3 + 8 + 0.4) / 0.92)
    assert starch_paste == pytest.approx(0.27, abs=0.005)
    assert talc_paste == pytest.approx(0.19, abs=0.005)
    assert zinc_cream == pytest.approx(0.12, abs=0.005)
    assert zinc_cream < PASTE_SHARE < talc_paste < starch_paste


def test_attraction_without_percolation_is_the_cubic_form():
    phi, full, m1 = 0.2, 0.474, 700.0
    assert attraction_yield(phi, full, 0.0, m1) == pytest.approx(
        m1 * phi**3 / (full * (full - phi))
    )


def test_attraction_starts_at_percolation():
    assert attraction_yield(0.05, 0.474, 0.05, 700.0) == 0.0
    assert attraction_yield(0.06, 0.474, 0.05, 700.0) > 0.0


def attraction_pa_s(powders, oil_volume):
    """Pa s that attraction adds at 10 1/s; powders as (mass, density, packing)."""
    volumes = [mass / density for mass, density, _ in powders]
    full = mixed_packing(volumes, [packing for _, _, packing in powders])
    phi = powder_share(sum(volumes), oil_volume)
    start, m1 = ATTRACTION_PERCOLATION[0], ATTRACTION_PREFACTOR[0]
    return attraction_yield(phi, full, start, m1) / 10.0


ZINC, STARCH_PACKING = cpvc(18.5, 5.6, LINSEED_DENSITY), 0.55


def test_attraction_restores_the_order_of_zinc_preparations():
    # published formulas and words; the parameters were set on this order, so it is no validation.
    # Without attraction the model has zinc paste at 14 and soft zinc paste at 229 Pa s.
    paste = attraction_pa_s([(25, 5.6, ZINC), (25, 1.478, STARCH_PACKING)], 50 / 0.86)
    soft_paste = attraction_pa_s([(30, 5.6, ZINC)], 40 / 0.86 + 20 / 0.86 + 10 / 0.96)
    cream = attraction_pa_s([(32, 5.6, ZINC)], 37.7 / 0.92)
    oil = attraction_pa_s([(50, 5.6, ZINC)], 50 / 0.915)
    assert paste + 14.0 > soft_paste + 229.0
    assert 2.0 < cream < 28.0
    assert oil < 30.0


def test_assumed_parameters_are_ordered():
    for nominal, low, high in (ATTRACTION_PERCOLATION, ATTRACTION_PREFACTOR):
        assert low < nominal < high


@given(st.floats(0.05, 0.4), st.floats(0.005, 0.05), st.floats(0.5, 0.7))
def test_attraction_grows_ever_faster_toward_the_packing(phi, step, full):
    a, b, c = (attraction_yield(phi + i * step, full, 0.02, 500.0) for i in (0, 1, 2))
    if phi + 2 * step >= full:
        return
    assert b - a > 0.0
    assert c - b > b - a


@given(st.floats(0.0, 0.4), st.floats(0.001, 0.05))
def test_amplification_grows(phi, extra):
    assert yield_amplification(phi + extra, 0.474) >= yield_amplification(phi, 0.474) >= 1.0


@given(st.lists(st.floats(0.1, 0.9), min_size=1, max_size=5))
def test_mixed_packing_lies_between(packings):
    mixed = mixed_packing([1.0] * len(packings), packings)
    assert min(packings) - 1e-9 <= mixed <= max(packings) + 1e-9


@pytest.mark.parametrize(
    "call",
    [
        lambda: cpvc(-1.0, 5.6, 0.935),
        lambda: cpvc(18.5, 0.0, 0.935),
        lambda: cpvc(18.5, 5.6, 0.0),
        lambda: mixed_packing([1.0], [0.0]),
        lambda: mixed_packing([-1.0, 2.0], [0.5, 0.5]),
        lambda: yield_amplification(-0.1, 0.5),
        lambda: yield_amplification(0.1, 1.01),
        lambda: attraction_yield(0.1, 0.5, 0.5, 100.0),
        lambda: attraction_yield(0.1, 0.5, -0.1, 100.0),
        lambda: attraction_yield(0.1, 0.5, 0.0, -1.0),
        lambda: powder_share(-1.0, 2.0),
        lambda: powder_share(0.0, 0.0),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()


@pytest.mark.parametrize(
    ("index", "medium", "share"),
    [
        case(1.5, 1.0, 0.040, source="memory", where="optics textbooks, glass in air 4 %"),
        case(1.333, 1.0, 0.020, source="memory", where="optics textbooks, water in air 2 %"),
        case(2.417, 1.0, 0.172, source="memory", where="optics textbooks, diamond in air 17 %"),
        case(2.7, 1.48, 0.0852, source="computed", where="(1.22 / 4.18) squared, rutile in oil"),
    ],
)
def test_light_thrown_back_at_a_face(index, medium, share):
    assert reflected(index, medium) == pytest.approx(share, abs=5e-4)
    assert reflected(medium, index) == pytest.approx(reflected(index, medium))
    assert reflected(medium, medium) == 0.0
