import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.structure import (
    REFERENCE_YIELD,
    SELF_REFERENCE_YIELD,
    STIRRED_MELT_SHARE,
    STIRRED_SUM,
    network_yield,
    stirred_share,
)

from .sources import case


@pytest.mark.parametrize(
    ("total", "nominal", "share"),
    [
        case(0.0, 0.2, 0.2, source="computed", where="no network"),
        case(2.0, 0.2, 0.2, source="computed", where="the sum it was set at"),
        case(8.0, 0.2, 0.05, source="computed", where="four times that"),
        case(4.0, 1.0, 0.5, source="computed", where="nothing lost at the start"),
    ],
)
def test_share_left(total, nominal, share):
    assert stirred_share(total, nominal) == pytest.approx(share)


def test_worked_fats_grow_by_the_power_of_worked_fats():
    # memory: Haighton 1959, hardness by the power 1.6; published: petrolatum about 1.5
    def left(x):
        return network_yield(x, 2.5, REFERENCE_YIELD) * stirred_share(x, 0.2)

    assert left(8.0) / left(4.0) == pytest.approx(2.0**1.5)


def test_petrolatum_lies_in_the_middle_of_its_grades():
    # published: 65 to 280 Pa between grades
    tau = network_yield(1.0 / 0.62, 2.5, SELF_REFERENCE_YIELD)
    assert tau == pytest.approx((65.0 * 280.0) ** 0.5, rel=0.02)


def test_a_melt_keeps_its_share_in_order():
    nominal, low, high = STIRRED_MELT_SHARE
    assert low < nominal < high
    assert STIRRED_SUM > 0.0


@given(st.floats(0.01, 30.0), st.floats(1.01, 3.0), st.floats(0.01, 1.0))
def test_more_crystals_are_stiffer_even_when_stirred(total, more, nominal):
    def left(x):
        return network_yield(x, 2.5, 30.0) * stirred_share(x, nominal)

    assert left(total * more) > left(total)


@pytest.mark.parametrize(("total", "nominal"), [(-1.0, 0.2), (1.0, -0.1), (1.0, 1.1)])
def test_what_is_refused(total, nominal):
    with pytest.raises(ValueError, match="network|share"):
        stirred_share(total, nominal)
