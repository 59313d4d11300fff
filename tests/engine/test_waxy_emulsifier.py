"""Body for a W/O cream from a waxy emulsifier instead of the liquid one, against butters.

Common practice: a waxy W/O emulsifier in place of all or part of the liquid one thickens the cream
and drifts less between 10 and 40 degC than the same gain in body by a butter.
"""

import pytest

from kb.engine.exchange import put_on_line
from kb.engine.opening import open_formula
from kb.engine.profile import consistency_at_25, make_profile
from kb.engine.swap import swap

from .bench import batch_of, formula, plus

BODY, DRIFT = "consistency_25c", "climate_drift_10_over_40"
CREAM = formula(
    ("Polyglyceryl-3 Diisostearate", 4.0, "oil"),
    ("Caprylic/Capric Triglyceride", 31.5, "oil"),
    ("Beeswax", 2.5, "oil"),
    ("Glycerin", 3.0, "water"),
    ("Magnesium Sulfate", 0.7, "water"),
    ("Water", 58.3, "water"),
    system="w/o",
)
LIQUID, OIL = 0, 1
WAXY = ("glyceryl-stearate", "sorbitan-stearate", "polyglyceryl-3-distearate")
BUTTERS = ("butyrospermum-parkii-butter", "theobroma-cacao-seed-butter")


def with_waxy(material, share, base):
    """The cream with a share of its liquid emulsifier replaced by a waxy one."""
    batch = batch_of(CREAM, base)
    item = batch.items[LIQUID]
    moved = share * item.percent
    rest = [item.at(item.percent - moved)] if share < 1.0 else []
    return batch.with_items([*rest, item.of(material, moved), *batch.items[1:]])


def with_butter(material, percent, base):
    batch = batch_of(CREAM, base)
    oil = batch.items[OIL]
    items = list(batch.items)
    items[OIL] = oil.at(oil.percent - percent)
    return batch.with_items([*items, oil.of(material, percent)])


def butter_for(material, target, base):
    """The level of butter, in place of oil, that gives a consistency: bisection."""
    low, high = 0.0, 30.0
    for _ in range(24):
        middle = 0.5 * (low + high)
        if consistency_at_25(with_butter(material, middle, base), base) < target:
            low = middle
        else:
            high = middle
    return high


@pytest.mark.parametrize(
    ("waxy", "share"),
    [*((waxy, 1.0) for waxy in WAXY), (WAXY[0], 0.5), (WAXY[2], 0.5)],
)
def test_a_waxy_emulsifier_gives_body_that_drifts_less_than_a_butter_s(waxy, share, base):
    plain = make_profile(batch_of(CREAM, base), base)
    cream = make_profile(with_waxy(waxy, share, base), base)
    assert cream.value(BODY) > 1.05 * plain.value(BODY)
    print(
        f"\n{100 * share:.0f} % of the liquid emulsifier as {waxy}: consistency "
        f"{plain.value(BODY):.0f} -> {cream.value(BODY):.0f} mPa.s, 10 over 40 degC "
        f"{cream.value(DRIFT):.2f}"
    )
    for butter in BUTTERS:
        level = butter_for(butter, cream.value(BODY), base)
        rich = make_profile(with_butter(butter, level, base), base)
        print(f"   the same by {level:.1f} % {butter}: {rich.value(DRIFT):.2f}")
        assert rich.value(BODY) == pytest.approx(cream.value(BODY), rel=0.01)
        assert cream.value(DRIFT) < rich.value(DRIFT)


def test_two_per_cent_of_sorbitan_stearate_stays_dissolved(base):
    """The limit of the claim: so little of a soluble one gives no body, and the figures say so."""
    plain = make_profile(batch_of(CREAM, base), base)
    cream = make_profile(with_waxy("sorbitan-stearate", 0.5, base), base)
    assert cream.value(BODY) == pytest.approx(plain.value(BODY), rel=0.05)


def test_asked_for_it_the_swap_says_so_with_figures(base):
    batch = batch_of(CREAM, base)
    result = swap(batch, LIQUID, base, to=list(WAXY))
    effects = {s.candidate.material: s.effects for s in result.swaps}
    assert set(effects) == set(WAXY)
    for waxy, found in effects.items():
        assert found[BODY].kind == "ratio"
        assert found[BODY].value > 1.0, waxy
        assert found[BODY].low <= found[BODY].value <= found[BODY].high
        assert found[DRIFT].after > found[DRIFT].before, "solid fat always drifts a little"


def test_half_of_it_can_be_asked_as_a_line_of_its_own(base):
    """Two lines of one emulsifier, one of them replaced."""
    lines = CREAM.lines
    half = formula(
        *((x.given, x.percent, x.stage) for x in lines if x.given != lines[LIQUID].given),
        system="w/o",
    )
    half = plus(half, (lines[LIQUID].given, 2.0, "oil"), (lines[LIQUID].given, 2.0, "oil"))
    opened = open_formula(half, base)
    place = next(
        n for n, item in enumerate(opened.batch.items) if item.material.startswith("polyglyceryl")
    )
    result = swap(opened.batch, place, base, to=["glyceryl-stearate"])
    (found,) = result.swaps
    assert found.trial.percent == pytest.approx(2.0)
    assert found.effects[BODY].value > 1.1
    kept = put_on_line(opened.batch, place, "glyceryl-stearate", 2.0, None)
    assert kept.holds("polyglyceryl-3-diisostearate") == pytest.approx(2.0)
