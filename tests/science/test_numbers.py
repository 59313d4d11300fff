import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.numbers import as_array, components, falling, forbid, tidy, weighted_mean

amounts = st.lists(st.floats(0.01, 100.0), min_size=1, max_size=6)


def test_components_pad_on_the_right():
    a, b = components([1.0, 2.0], np.ones((2, 7)))
    assert a.shape == (2, 1)
    assert b.shape == (2, 7)


def test_components_make_room_for_draws_of_the_same_length():
    (a,) = components([1.0, 2.0, 3.0], trailing=1)
    assert a.shape == (3, 1)
    assert (a * np.ones(3)).shape == (3, 3)


def test_components_leave_a_single_number():
    a, b = components(4.0, [1.0, 2.0])
    assert a.ndim == 0
    assert b.shape == (2,)


def test_tidy_gives_a_float_for_one_number_only():
    assert isinstance(tidy(as_array(1.0)), float)
    assert tidy(as_array([1.0])).shape == (1,)


def test_falling_curve():
    steps = as_array([-1e9, -np.log(3.0), 0.0, np.log(3.0), 1e9])
    assert falling(steps) == pytest.approx([1.0, 0.75, 0.5, 0.25, 0.0])
    assert falling(as_array(-np.log(3.0))) + falling(as_array(np.log(3.0))) == pytest.approx(1.0)


def test_forbid_lets_unknown_values_pass():
    forbid(as_array([np.nan, 1.0]) < 0.0, "negative")
    with pytest.raises(ValueError, match="negative"):
        forbid(as_array([-1.0, np.nan]) < 0.0, "negative")


@given(amounts, st.floats(0.1, 10.0))
def test_mean_does_not_depend_on_the_scale_of_the_weights(weights, scale):
    values = np.arange(len(weights)) + 1.0
    scaled = [w * scale for w in weights]
    assert weighted_mean(scaled, values) == pytest.approx(weighted_mean(weights, values))


@given(amounts)
def test_mean_lies_between_the_values(weights):
    values = np.arange(len(weights)) + 1.0
    assert values.min() - 1e-9 <= weighted_mean(weights, values) <= values.max() + 1e-9


def test_mean_takes_draws_along_the_last_axis():
    draws = np.array([[1.0, 2.0, 3.0], [3.0, 4.0, 5.0]])
    assert weighted_mean([1.0, 1.0], draws).tolist() == [2.0, 3.0, 4.0]


def test_mean_keeps_unknown_values_unknown():
    assert np.isnan(weighted_mean([1.0, 1.0], [1.0, np.nan]))


@pytest.mark.parametrize("weights", [[-1.0, 2.0], [0.0, 0.0]])
def test_mean_refuses_impossible_weights(weights):
    with pytest.raises(ValueError):
        weighted_mean(weights, [1.0, 2.0])
