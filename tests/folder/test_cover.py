"""The fewest materials, against every choice there is."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.folder.cover import fewest, greedy, minimal

NAMES = "abcdefg"
needs_of = st.lists(
    st.dictionaries(
        st.sampled_from(NAMES), st.integers(50, 100).map(lambda n: n / 100), min_size=1, max_size=4
    ),
    max_size=9,
)


def enumerated(needs):
    """Return the least size, and the best worth among covers of that size."""
    for size in range(len(NAMES) + 1):
        worths = [
            sum(max(need[n] for n in chosen if n in need) for need in needs)
            for chosen in combinations(NAMES, size)
            if all(set(chosen) & need.keys() for need in needs)
        ]
        if worths:
            return size, max(worths)
    raise AssertionError


@settings(max_examples=200)
@given(needs=needs_of)
def test_is_as_small_and_as_good_as_the_best_of_all(needs):
    found = fewest(needs)
    size, worth = enumerated(needs)
    assert found.proven and found.bound == size == len(found.chosen)
    served = sum(max(need[n] for n in found.chosen if n in need) for need in needs)
    assert served == pytest.approx(worth, abs=1e-6)


@settings(max_examples=60)
@given(needs=needs_of, free=st.frozensets(st.sampled_from(NAMES)))
def test_what_is_there_already_counts_nothing(needs, free):
    found = fewest(needs, free)
    left = [need for need in needs if not free & need.keys()]
    assert len(found.chosen) == enumerated(left)[0]
    assert not set(found.chosen) & free or not left


@settings(max_examples=60)
@given(needs=needs_of.filter(bool))
def test_greedy_covers_but_never_with_fewer(needs):
    sets = [frozenset(need) for need in needs]
    assert all(set(greedy(sets)) & one for one in sets)
    assert len(greedy(sets)) >= len(fewest(needs).chosen)


@settings(max_examples=60)
@given(needs=needs_of)
def test_minimal_sets_say_all(needs):
    sets = [frozenset(need) for need in needs]
    kept = minimal(sets)
    assert all(any(small <= one for small in kept) for one in sets)
    assert all(not a < b for a in kept for b in kept)


def test_the_order_of_the_needs_does_not_count():
    needs = [{"a": 0.6, "b": 0.6}, {"b": 0.6, "c": 0.6}, {"c": 0.7, "a": 0.7}]
    assert fewest(needs) == fewest(needs[::-1])


def test_greedy_is_not_enough():
    """Taking what serves most first ends with three; two are enough."""
    needs = [{"p", "x"}, {"p", "x"}, {"q", "x"}, {"q", "x"}, {"p"}, {"q"}]
    assert len(greedy([frozenset(n) for n in needs])) == 3
    assert fewest([dict.fromkeys(n, 1.0) for n in needs]).chosen == ("p", "q")


def test_a_need_that_nothing_serves_is_refused():
    with pytest.raises(ValueError, match="no cover"):
        fewest([{}])
    assert fewest([]).chosen == ()
