from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.draws import (
    lognormal_between,
    normal_between,
    normal_score,
    points,
    quantile_range,
    triangular_between,
)

FINE = (np.arange(20000) + 0.5) / 20000
ranges = st.tuples(st.floats(-50.0, 50.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0)).map(
    lambda t: (t[0] - t[1], t[0], t[0] + t[2])
)


def test_one_draw_is_the_median():
    assert points("anything", 1).tolist() == [0.5]


def test_the_column_of_a_key_never_changes():
    # pinned: a change of these numbers changes every stored answer
    expected = [0.5625, 0.3125, 0.6875, 0.9375, 0.0625, 0.1875, 0.8125, 0.4375]
    assert points("beeswax/melting point", 8).tolist() == expected


@given(st.text(max_size=40), st.integers(1, 256))
def test_columns_are_as_even_as_can_be(key, count):
    column = points(key, count)
    assert sorted(column.tolist()) == pytest.approx([(i + 0.5) / count for i in range(count)])
    assert points(key, count).tolist() == column.tolist()


def test_keys_are_independent_but_for_chance():
    columns = np.array([points(f"material {i}/property", 256) for i in range(60)])
    off = np.corrcoef(columns)[np.triu_indices(60, 1)]
    assert abs(off.mean()) < 0.01
    assert off.std() == pytest.approx(1.0 / np.sqrt(255), rel=0.1)
    assert np.abs(off).max() < 0.30


def test_pairs_fill_the_square():
    a, b = points("one", 256), points("two", 256)
    counts, _, _ = np.histogram2d(a, b, bins=4, range=[[0, 1], [0, 1]])
    assert counts.min() >= 4


def test_score_meets_the_standard_library():
    p = np.concatenate([np.logspace(-300, -1, 300), np.linspace(0.01, 0.99, 99)])
    expected = [NormalDist().inv_cdf(value) for value in p]
    assert normal_score(p) == pytest.approx(expected, rel=1e-13, abs=1e-15)
    assert normal_score(1.0 - 1e-9) == pytest.approx(NormalDist().inv_cdf(1.0 - 1e-9), rel=1e-12)


@given(ranges)
def test_ranges_hold_ninety_percent(limits):
    low, value, high = limits
    width = max(high - low, 1e-6)
    for shape in (normal_between, triangular_between):
        found = [float(shape(low, value, high, u)) for u in (0.05, 0.95)]
        assert found == pytest.approx([low, high], abs=1e-6 * width)


@given(ranges)
def test_draws_rise_with_the_point(limits):
    for shape in (normal_between, triangular_between):
        assert (np.diff(shape(*limits, np.linspace(0.01, 0.99, 25))) >= -1e-9).all()


@given(ranges)
def test_median_of_the_normal_is_the_value(limits):
    assert normal_between(*limits, 0.5) == limits[1]


def test_mode_of_the_triangle_is_the_value():
    draws = triangular_between(2.0, 3.0, 5.0, FINE)
    counts, edges = np.histogram(draws, bins=60)
    top = edges[counts.argmax()]
    assert 2.8 < top < 3.2


def test_triangle_ends():
    ends = triangular_between(2.0, 3.0, 5.0, np.array([0.0, 1.0]))
    assert ends[0] < 2.0
    assert ends[1] > 5.0
    p, q = 3.0 - ends[0], ends[1] - 3.0
    assert (2.0 - ends[0]) ** 2 / ((p + q) * p) == pytest.approx(0.05, rel=1e-6)
    assert (ends[1] - 5.0) ** 2 / ((p + q) * q) == pytest.approx(0.05, rel=1e-6)


def test_no_range_no_spread():
    for shape in (normal_between, triangular_between, lognormal_between):
        assert shape(3.0, 3.0, 3.0, np.array([0.1, 0.5, 0.9])) == pytest.approx([3.0, 3.0, 3.0])


def test_factors():
    draws = lognormal_between(0.2, 1.0, 5.0, FINE)
    assert (draws > 0.0).all()
    low, high = quantile_range(draws)
    assert low == pytest.approx(0.2, rel=0.01)
    assert high == pytest.approx(5.0, rel=0.01)


def test_quantiles_of_several_rows():
    low, high = quantile_range(np.array([np.arange(101.0), np.arange(101.0) * 2.0]))
    assert low == pytest.approx([5.0, 10.0])
    assert high == pytest.approx([95.0, 190.0])


def test_quantiles_of_one_draw_and_of_unknown_draws():
    low, high = quantile_range(np.array([4.0]))
    assert low == high == 4.0
    low, high = quantile_range(np.array([4.0, np.nan]))
    assert np.isnan(low)
    assert np.isnan(high)


def test_a_shared_error_cancels_in_a_difference():
    u = points("shared fact", 64)
    before, after = (normal_between(8.0, 10.0, 12.0, u) + shift for shift in (0.0, 1.5))
    low, high = quantile_range(after - before)
    assert low == pytest.approx(1.5)
    assert high == pytest.approx(1.5)


@pytest.mark.parametrize(
    "call",
    [
        lambda: points("key", 0),
        lambda: normal_score(0.0),
        lambda: normal_score(1.0),
        lambda: normal_between(2.0, 1.0, 3.0, 0.5),
        lambda: normal_between(2.0, 4.0, 3.0, 0.5),
        lambda: lognormal_between(0.0, 1.0, 2.0, 0.5),
        lambda: triangular_between(1.0, 2.0, 3.0, 1.5),
        lambda: quantile_range(np.array([])),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
