import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.hld import (
    OIL_COEFFICIENT,
    SALT_COEFFICIENT,
    TEMPERATURE_COEFFICIENT,
    eacn_blend,
    hld,
    hld_difference,
    oil_term,
    salt_term,
    temperature_term,
)

from .sources import case

# EACN of isopropyl myristate and squalane: published, Furth et al.
MYRISTATE, SQUALANE = 7.25, 24.5


@pytest.mark.parametrize(
    ("k", "shift"),
    [
        case(0.15, -2.6, source="computed", where="myristate to squalane, low coefficient"),
        case(0.17, -2.9, source="computed", where="myristate to squalane, high coefficient"),
    ],
)
def test_oil_swap(k, shift):
    assert oil_term(MYRISTATE, SQUALANE, k) == pytest.approx(shift, abs=0.05)


def test_absolute_value():
    # computed: 0.13 x 2 - 0.17 x 7.25 + 0.06 x 15 + 6.6
    found = hld(2.0, 7.25, 40.0, 6.6, salt_coefficient=0.13, k=0.17, temperature_coefficient=0.06)
    assert found == pytest.approx(6.5275)


def test_terms_add():
    assert hld_difference(-2.0, 0.5, 0.25, 0.125) == -1.125


def test_warming_and_salt_shift_toward_oil_outside():
    assert temperature_term(25.0, 40.0, TEMPERATURE_COEFFICIENT) == pytest.approx(0.9)
    assert salt_term(0.0, 2.0, SALT_COEFFICIENT) == pytest.approx(0.26)


def test_a_squalane_swap_outweighs_warming_and_salt():
    shift = hld_difference(
        oil_term(MYRISTATE, SQUALANE, OIL_COEFFICIENT[0]),
        temperature_term(25.0, 40.0, TEMPERATURE_COEFFICIENT),
        salt_term(0.0, 2.0, SALT_COEFFICIENT),
        0.0,
    )
    assert shift < -1.0


@given(st.floats(0.0, 25.0), st.floats(0.0, 25.0), st.floats(0.0, 5.0), st.floats(5.0, 45.0))
def test_difference_is_the_difference_of_absolute_values(eacn_0, eacn_1, salt, t_c):
    fixed = {"salt_coefficient": 0.13, "k": 0.16, "temperature_coefficient": 0.06}
    before = hld(0.0, eacn_0, 25.0, 3.0, **fixed)
    after = hld(salt, eacn_1, t_c, 3.5, **fixed)
    shift = hld_difference(
        oil_term(eacn_0, eacn_1, 0.16),
        temperature_term(25.0, t_c, 0.06),
        salt_term(0.0, salt, 0.13),
        0.5,
    )
    assert after - before == pytest.approx(shift, abs=1e-9)


@given(st.floats(0.0, 1.0))
def test_blend_of_oils_lies_between_them(share):
    assert 7.25 - 1e-9 <= eacn_blend([share, 1.0 - share], [MYRISTATE, SQUALANE]) <= 24.5 + 1e-9


@pytest.mark.parametrize(
    "call",
    [
        lambda: oil_term(1.0, 2.0, -0.1),
        lambda: salt_term(-1.0, 0.0, 0.13),
        lambda: salt_term(0.0, -1.0, 0.13),
        lambda: eacn_blend([-1.0, 2.0], [1.0, 2.0]),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
