"""Repeats and the shared factor: limits that can be worked out by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.anchoring import batch_spread, formula_spread, shared_factor, spread_of

from .sources import case

LOGS = st.lists(st.floats(-2.0, 2.0), min_size=1, max_size=12)


def test_a_factor_and_its_spread() -> None:
    assert spread_of(1.0) == 0.0
    assert math.exp(1.6448536269514722 * spread_of(2.5)) == pytest.approx(2.5)
    assert formula_spread(2.5) * math.sqrt(2.0) == pytest.approx(spread_of(2.5))
    with pytest.raises(ValueError, match="at least 1"):
        spread_of(0.5)


@pytest.mark.parametrize(
    ("factor", "spread"),
    [
        case(math.e, 0.60796, source="memory", where="normal table: 90 % within 1.64485 spreads"),
        case(2.5, 0.55706, source="computed", where="0.916291 / 1.644854"),
        case(10.0, 1.39987, source="computed", where="2.302585 / 1.644854"),
    ],
)
def test_spreads_from_a_table_of_the_normal_curve(factor: float, spread: float) -> None:
    assert spread_of(factor) == pytest.approx(spread, abs=1e-5)
    assert formula_spread(factor) == pytest.approx(spread / 1.4142136, abs=1e-5)


@pytest.mark.parametrize(
    ("values", "prior", "weight", "spread"),
    [
        case([3e4, 6e4], 0.16, 4.0, 0.26178, source="computed", where="(0.1024 + 0.2402) / 5"),
        case([1.0, math.e], 1.0, 1.0, 0.86603, source="computed", where="(1 + 0.5) / 2"),
        case([1.0, math.e, math.e**2], 1.0, 2.0, 1.0, source="computed", where="(2 + 2) / 4"),
    ],
)
def test_repeats_by_hand(values: list[float], prior: float, weight: float, spread: float) -> None:
    assert batch_spread(values, prior, weight) == pytest.approx(spread, abs=1e-5)


@pytest.mark.parametrize(
    ("logs", "variances", "prior", "mean", "spread"),
    [
        case([1.0], [1.0], 1.0, 0.5, 0.70711, source="computed", where="precisions 1 and 1"),
        case([1.0, 1.0], [1.0, 1.0], 1.0, 2 / 3, 0.57735, source="computed", where="1 and 1 + 1"),
        case([1.0, -1.0], [0.5, 1.0], 1.0, 0.25, 0.5, source="computed", where="1 and 2 + 1"),
    ],
)
def test_precisions_add(
    logs: list[float], variances: list[float], prior: float, mean: float, spread: float
) -> None:
    assert shared_factor(logs, variances, prior) == pytest.approx((mean, spread), abs=1e-5)


def test_without_a_formula_nothing_is_learnt() -> None:
    assert shared_factor([], [], 0.745) == (0.0, 0.745)


def test_one_formula_by_hand() -> None:
    # precisions 1/0.25 and 1/0.5: two thirds of the way
    mean, spread = shared_factor([0.9], [0.25], math.sqrt(0.5))
    assert mean == pytest.approx(0.6)
    assert spread == pytest.approx(math.sqrt(1.0 / 6.0))


@given(LOGS, st.floats(0.01, 1.0), st.floats(0.1, 2.0))
def test_the_factor_lies_between_none_and_the_mean_and_narrows(
    logs: list[float], variance: float, prior: float
) -> None:
    mean, spread = shared_factor(logs, [variance] * len(logs), prior)
    plain = sum(logs) / len(logs)
    assert min(0.0, plain) - 1e-12 <= mean <= max(0.0, plain) + 1e-12
    assert spread < prior
    more, narrower = shared_factor([*logs, plain], [variance] * (len(logs) + 1), prior)
    assert narrower < spread
    assert abs(more - plain) <= abs(mean - plain) + 1e-12


def test_many_formulas_say_it_all() -> None:
    mean, spread = shared_factor([0.7] * 1000, [0.2] * 1000, 0.745)
    assert mean == pytest.approx(0.7, abs=0.001)
    assert spread < 0.02


@given(st.floats(1.0, 1e6), st.integers(1, 9))
def test_equal_repeats_trust_more_and_unequal_ones_less(value: float, count: int) -> None:
    assert batch_spread([value] * count, 0.16, 4.0) <= 0.16 + 1e-12
    assert batch_spread([value, 10 * value], 0.16, 4.0) > 0.16


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: batch_spread([0.0], 0.1, 1.0),
        lambda: batch_spread([1.0], 0.0, 1.0),
        lambda: shared_factor([1.0], [], 0.5),
        lambda: shared_factor([1.0], [0.0], 0.5),
    ],
)
def test_what_cannot_be_is_refused(wrong) -> None:
    with pytest.raises(ValueError):
        wrong()
