"""The effect of a stand-in against its level: what the swap says, and what it cannot."""

import math

import pytest

from kb.engine.curves import dose_curve
from kb.engine.opening import open_formula
from kb.engine.swap import swap

from .bench import demo, host, place_of


def drawn(whole, line, base, **more):
    opened = open_formula(whole, base)
    result = swap(opened.batch, place_of(opened, line, base), base, top=1, **more)
    best = result.swaps[0]
    found = dose_curve(
        result.before, result.index, best.candidate.material, result.here, best.trial, base
    )
    return result, best, found


@pytest.mark.parametrize(
    ("name", "line", "figure"),
    [
        ("oyster-barrier", "Beeswax", "consistency"),
        ("rinse-lotion", "Xanthan Gum", "consistency"),
        ("winter-hand-cream", "Phenoxyethanol", "preservative cover"),
    ],
)
def test_the_chosen_point_meets_what_was_before(name, line, figure, base):
    result, best, found = drawn(demo(name), line, base)
    assert found.name == figure
    assert found.chosen[0] == best.trial.percent
    assert found.one_to_one[0] == result.before.batch.items[result.index].percent
    assert found.chosen[1] == pytest.approx(found.before, rel=0.01)
    assert found.one_to_one[1] != pytest.approx(found.before, rel=0.05)


def test_the_curve_is_that_of_the_profile(base):
    _, best, found = drawn(demo("oyster-barrier"), "Beeswax", base)
    assert found.chosen[1] == pytest.approx(best.effects["consistency_25c"].after)
    assert found.before == pytest.approx(best.effects["consistency_25c"].before)
    assert list(found.levels) == sorted(found.levels)
    assert found.levels[0] < min(found.chosen[0], found.one_to_one[0])
    assert found.levels[-1] >= max(found.chosen[0], found.one_to_one[0])
    # More wax, more body.
    assert list(found.effects) == sorted(found.effects)
    between = [
        effect
        for level, effect in zip(found.levels, found.effects, strict=True)
        if abs(math.log(level / found.chosen[0])) < 0.2
    ]
    assert min(between) <= found.chosen[1] * 1.2
    assert max(between) >= found.chosen[1] * 0.8


def test_a_powder_has_no_such_curve(base):
    _, _, found = drawn(host("powder"), "Talc", base)
    assert found is None
