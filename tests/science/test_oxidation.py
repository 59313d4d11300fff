import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.oxidation import (
    IODINE_FACTORS,
    RELATIVE_RATE,
    antioxidant_cover,
    induction_time,
    iodine_value,
    oxidisability,
)

from .sources import case

ACIDS = ("oleic", "linoleic", "linolenic")
WITH_PALMITOLEIC = ("palmitoleic", *ACIDS)


# palmitoleic, oleic, linoleic and linolenic acid, percent, against the iodine value: ranges of the
# Codex standard and of a handbook (recalled), single values of one survey that prints both
@pytest.mark.parametrize(
    ("percents", "low", "high"),
    [
        case((0, 34, 3, 0), 33, 42, source="memory", where="cocoa butter, acids published"),
        case((0, 7, 2.5, 0), 6.3, 10.6, source="memory", where="coconut oil, acids published"),
        case((0, 14, 2.5, 0), 14.1, 21.0, source="memory", where="palm kernel, acids published"),
        case(
            (0.10, 27.70, 57.18, 0.79),
            124.5,
            125.5,
            source="published",
            where="corn oil 125, J. Anim. Sci. Biotechnol. 6 (2015) 10",
        ),
        case(
            (0.22, 64.57, 17.90, 7.09),
            104.5,
            105.5,
            source="published",
            where="canola oil 105, J. Anim. Sci. Biotechnol. 6 (2015) 10",
        ),
        case(
            (7.11, 38.07, 18.50, 0.77),
            72.5,
            73.6,
            source="published",
            where="poultry fat 73, J. Anim. Sci. Biotechnol. 6 (2015) 10",
        ),
    ],
)
def test_iodine_value_of_known_oils(percents, low, high):
    factors = [IODINE_FACTORS[acid] for acid in WITH_PALMITOLEIC]
    assert low <= iodine_value(percents, factors) <= high


def rates(column):
    return [RELATIVE_RATE[acid][column] for acid in ACIDS]


def test_pure_oleic_oil_is_the_unit():
    assert oxidisability([1.0, 0.0, 0.0], rates(0)) == 1.0


def test_oils_rank_as_they_keep():
    # memory: compositions of the textbooks; coconut oil published
    linseed = oxidisability([0.20, 0.15, 0.55], rates(0))
    soybean = oxidisability([0.23, 0.54, 0.07], rates(0))
    olive = oxidisability([0.75, 0.09, 0.01], rates(0))
    coconut = oxidisability([0.07, 0.025, 0.0], rates(0))
    assert linseed > soybean > olive > coconut


def test_rates_are_ordered():
    for middle, low, high in RELATIVE_RATE.values():
        assert low <= middle <= high
    assert RELATIVE_RATE["oleic"][2] < RELATIVE_RATE["linoleic"][1]
    assert RELATIVE_RATE["linoleic"][2] < RELATIVE_RATE["linolenic"][1]


def test_cover():
    assert antioxidant_cover([0.1, 0.05], [1.0, 0.5], 12.5) == pytest.approx(10.0)
    assert antioxidant_cover([0.1], [1.0], 0.0) == np.inf
    assert np.isnan(antioxidant_cover([0.1], [1.0], np.nan))
    assert np.isnan(antioxidant_cover([np.nan], [1.0], 0.0))


def test_cover_takes_draws_along_the_last_axis():
    assert antioxidant_cover([0.1, 0.1], [1.0, 1.0], np.array([10.0, 20.0])) == pytest.approx(
        [20.0, 10.0]
    )


def test_ten_kelvin_double_the_rate_near_100():
    # published activation energies of canola oil: 74-82 kJ/mol, a factor of 1.9-2.0 in 10 K
    for energy in (74.24, 82.44):
        assert 1.8 < induction_time(10.0, 110.0, 100.0, energy) / 10.0 < 2.1


@given(st.floats(0.1, 300.0), st.floats(60.0, 130.0), st.floats(60.0, 130.0))
def test_induction_time_is_undone(hours, t_0, t_1):
    there = induction_time(hours, t_0, t_1, 80.0)
    assert induction_time(there, t_1, t_0, 80.0) == pytest.approx(hours)


@given(st.floats(0.0, 0.5), st.floats(0.01, 0.5))
def test_more_linoleic_acid_oxidises_faster(linoleic, extra):
    before = oxidisability([0.0, linoleic, 0.0], rates(1))
    assert oxidisability([0.0, linoleic + extra, 0.0], rates(1)) > before


@pytest.mark.parametrize(
    "call",
    [
        lambda: oxidisability([-0.1], [1.0]),
        lambda: oxidisability([0.1], [-1.0]),
        lambda: oxidisability([0.6, 0.41], [1.0, 11.0]),
        lambda: iodine_value([-1.0], [0.86]),
        lambda: antioxidant_cover([-0.1], [1.0], 1.0),
        lambda: antioxidant_cover([0.1], [-1.0], 1.0),
        lambda: antioxidant_cover([0.1], [1.0], -1.0),
        lambda: induction_time(-1.0, 110.0, 100.0, 80.0),
        lambda: induction_time(1.0, 110.0, 100.0, -80.0),
        lambda: induction_time(1.0, -300.0, 100.0, 80.0),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
