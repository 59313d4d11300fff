"""Stock drawn batch by batch: what was there is what was used and what is left."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.folder.running_out import MONTH, Use, last_batches

DAY = date(2030, 1, 1)
uses_of = st.lists(st.tuples(st.floats(0.05, 20), st.floats(0.2, 8)), min_size=1, max_size=5).map(
    lambda pairs: [Use(str(n), *pair) for n, pair in enumerate(pairs)]
)


@pytest.mark.parametrize(
    ("left", "batches", "last"),
    [
        (0.0, 0, 0),
        (0.9, 0, 0),
        (1.0, 1, 0),
        (3.0, 3, 2),
        (3.99, 3, 2),
    ],
)
def test_one_formula_of_one_kg_a_month(left, batches, last):
    found = last_batches([Use("a", 1.0, 1.0)], left, DAY)["a"]
    assert (found.batches, found.day) == (batches, DAY + timedelta(days=int(last * MONTH)))


def test_three_tenths_make_three_batches_of_a_tenth():
    assert last_batches([Use("a", 0.1, 1.0)], 0.3, DAY)["a"].batches == 3


def test_who_needs_less_goes_on_longer():
    found = last_batches([Use("big", 8.0, 1.0), Use("small", 1.0, 1.0)], 20.0, DAY)
    assert (found["big"].batches, found["small"].batches) == (2, 4)
    assert found["big"].day < found["small"].day


def test_what_outlasts_twenty_years_has_no_date():
    assert last_batches([Use("a", 0.001, 1.0)], 10.0, DAY)["a"].day is None


@given(uses=uses_of, left=st.floats(0, 60))
def test_no_more_is_used_than_there_is_and_no_batch_that_fits_is_left(uses, left):
    found = last_batches(uses, left, DAY)
    used = sum(use.kg * found[use.file].batches for use in uses)
    assert used <= left * (1 + 1e-6)
    if all(one.day is not None for one in found.values()):
        assert all(use.kg > left - used - 1e-6 for use in uses)


@given(uses=uses_of, left=st.floats(0, 30), more=st.floats(0, 30))
def test_alone_more_stock_never_ends_sooner(uses, left, more):
    far = date.max
    few, many = (last_batches(uses[:1], kg, DAY)["0"] for kg in (left, left + more))
    assert many.batches >= few.batches and (many.day or far) >= (few.day or far)
