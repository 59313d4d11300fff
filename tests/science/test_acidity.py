import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.acidity import (
    acid_equivalents,
    alkali_equivalents,
    balance_ph,
    henderson,
    soap_formed,
)

from .sources import case

NONE = ([0.0], [7.0])


def ph_of(acids=NONE, bases=NONE, metal=0.0, mineral=0.0):
    return balance_ph(*acids, *bases, metal, mineral)


@pytest.mark.parametrize(
    ("acids", "bases", "metal", "mineral", "ph", "within"),
    [
        case(NONE, NONE, 0.0, 0.0, 7.0, 1e-9, source="computed", where="water"),
        case(NONE, NONE, 0.0, 0.01, 2.0, 1e-6, source="computed", where="strong acid 0.01"),
        case(NONE, NONE, 0.001, 0.0, 11.0, 1e-6, source="computed", where="strong base 0.001"),
        case(([0.1], [4.76]), NONE, 0.0, 0.0, 2.88, 0.005, source="computed", where="acetic acid"),
        case(([0.1], [4.76]), NONE, 0.05, 0.0, 4.76, 0.001, source="computed", where="half of it"),
        case(([0.1], [4.76]), NONE, 0.1, 0.0, 8.88, 0.005, source="computed", where="all of it"),
        case(NONE, ([0.1], [9.25]), 0.0, 0.0, 11.12, 0.005, source="computed", where="ammonia"),
        case(
            NONE, ([0.1], [9.25]), 0.0, 0.05, 9.25, 0.001, source="computed", where="half ammonia"
        ),
        case(
            ([0.03, 0.03, 0.03], [3.13, 4.76, 6.40]),
            NONE,
            0.045,
            0.0,
            4.76,
            0.03,
            source="computed",
            where="citrate at half of its alkali lies at its middle step",
        ),
        case(
            ([0.02], [4.2]), NONE, 0.02, 0.0, 8.25, 0.01, source="computed", where="sodium benzoate"
        ),
    ],
)
def test_balance(acids, bases, metal, mineral, ph, within):
    assert ph_of(acids, bases, metal, mineral) == pytest.approx(ph, abs=within)


@given(st.floats(3.0, 10.0), st.floats(0.2, 0.8))
def test_balance_agrees_with_henderson_where_that_holds(pka, share):
    if not 4.5 < pka < 9.5:
        return
    full = ph_of(([1.0], [pka]), NONE, share)
    assert full == pytest.approx(henderson(pka, share, 1.0 - share), abs=0.01)


@given(st.floats(0.0, 0.5), st.floats(0.001, 0.5))
def test_alkali_raises_ph(metal, extra):
    acid = ([0.2, 0.1], [4.2, 6.4])
    assert ph_of(acid, NONE, metal + extra) > ph_of(acid, NONE, metal)


@given(st.permutations(range(3)))
def test_order_of_the_acids_does_not_matter(order):
    amounts, pkas = np.array([0.01, 0.02, 0.03]), np.array([3.0, 5.0, 7.0])
    index = list(order)
    once = ph_of((amounts, pkas), NONE, 0.02)
    assert ph_of((amounts[index], pkas[index]), NONE, 0.02) == pytest.approx(once, abs=1e-9)


def test_draws_of_the_same_length_as_the_acids_stay_apart():
    metal = np.array([0.0, 0.01, 0.03])
    found = ph_of(([0.01, 0.02, 0.03], [3.0, 5.0, 7.0]), NONE, metal)
    assert found.shape == (3,)
    assert found[1] == pytest.approx(ph_of(([0.01, 0.02, 0.03], [3.0, 5.0, 7.0]), NONE, 0.01))


def test_no_acid_and_no_base_at_all():
    assert balance_ph([], [], [], [], 0.0, 0.0) == pytest.approx(7.0)


def test_unknown_stays_unknown():
    assert np.isnan(ph_of(([np.nan], [4.76])))
    assert np.isnan(ph_of(NONE, NONE, np.nan))


def test_borax_neutralises_part_of_the_wax_acid_in_cold_cream():
    # published formula: beeswax 12, borax 0.5; acid value of beeswax 17-24 recalled
    acid = acid_equivalents(12.0, 20.0)
    base = alkali_equivalents(0.5, 381.37, 2.0, 1.0)
    made = soap_formed([acid], base)
    assert made.share[0] == pytest.approx(0.613, abs=0.002)
    assert made.leftover_alkali == 0.0
    assert made.leftover_acid == pytest.approx(acid - base)


def test_oleic_acid_and_lime_of_zinc_cream():
    # published formula: oleic acid 0.445, calcium hydroxide 0.045; acid value of oleic acid 198
    acid = acid_equivalents(0.445, 198.0)
    base = alkali_equivalents(0.045, 74.09, 2.0, 1.0)
    assert soap_formed([acid], base).share[0] == pytest.approx(0.773, abs=0.002)


def test_excess_alkali_is_left_over():
    made = soap_formed([1.0, 2.0], 5.0)
    assert made.share.tolist() == [1.0, 1.0]
    assert made.leftover_alkali == 2.0
    assert made.leftover_acid == 0.0


def test_alkali_without_acid_is_all_left_over():
    made = soap_formed([0.0, 0.0], 0.5)
    assert made.share.tolist() == [0.0, 0.0]
    assert made.leftover_alkali == 0.5


def test_soap_takes_draws_along_the_last_axis():
    made = soap_formed([1.0, 3.0], np.array([0.0, 2.0, 8.0]))
    assert made.share.shape == (2, 3)
    assert made.share[0].tolist() == [0.0, 0.5, 1.0]
    assert made.leftover_alkali.tolist() == [0.0, 0.0, 4.0]


@given(st.lists(st.floats(0.0, 5.0), min_size=1, max_size=4), st.floats(0.0, 10.0))
def test_equivalents_are_kept(acids, alkali):
    made = soap_formed(acids, alkali)
    assert made.soap.sum() + made.leftover_alkali == pytest.approx(alkali, abs=1e-9)
    assert made.soap.sum() + made.leftover_acid == pytest.approx(sum(acids), abs=1e-9)
    assert ((made.share >= 0.0) & (made.share <= 1.0 + 1e-12)).all()


@pytest.mark.parametrize(
    "call",
    [
        lambda: acid_equivalents(-1.0, 20.0),
        lambda: alkali_equivalents(-1.0, 40.0, 1.0, 1.0),
        lambda: alkali_equivalents(1.0, 0.0, 1.0, 1.0),
        lambda: alkali_equivalents(1.0, 40.0, 1.0, 1.01),
        lambda: soap_formed([-1.0], 1.0),
        lambda: soap_formed([1.0], -1.0),
        lambda: henderson(4.76, 0.0, 1.0),
        lambda: ph_of(([-0.1], [4.0])),
        lambda: ph_of(NONE, NONE, -0.1),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
