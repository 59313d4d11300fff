"""What is in stock comes first at equal worth, and what the swap costs."""

import pytest

from kb.engine.cost import add_cost
from kb.engine.opening import open_formula
from kb.engine.swap import swap

from .bench import demo, generic, place_of

LINE = "Beeswax"


@pytest.fixture(scope="module")
def opened(base):
    return open_formula(demo("oyster-barrier"), base)


@pytest.fixture(scope="module")
def free(opened, base):
    return swap(opened.batch, place_of(opened, LINE, base), base, top=20)


def preferring(opened, base, stock, top=20):
    return swap(opened.batch, place_of(opened, LINE, base), base, top=top, preferred=stock)


def test_without_a_stock_list_the_score_has_no_such_part(free):
    assert all("shelf" not in s.parts for s in free.swaps)


def test_stock_is_a_part_of_the_score(opened, free, base):
    stock = {free.swaps[1].candidate.material}
    result = preferring(opened, base, stock)
    plain = {s.candidate.material: s.total for s in free.swaps}
    for found in result.swaps:
        here = found.candidate.material in stock
        assert found.parts["shelf"] == 1.0 if here else 0.5 < found.parts["shelf"] < 1.0
        if found.candidate.material in plain:
            worth = plain[found.candidate.material] * found.parts["shelf"]
            assert found.total == pytest.approx(worth)


def test_of_near_equals_the_one_in_stock_comes_first(opened, free, base):
    first, second = free.swaps[:2]
    assert second.total > 0.9 * first.total, "the two of this example are near equals"
    result = preferring(opened, base, {generic(second.candidate.material)})
    assert result.swaps[0].candidate.material == second.candidate.material
    assert first.candidate.material in {s.candidate.material for s in result.swaps}


def test_stock_does_not_outvote_what_is_much_better(opened, free, base):
    """A wax at half the worth stays behind, in stock or not."""
    poor = next(s for s in free.swaps if s.total < 0.7 * free.swaps[0].total)
    result = preferring(opened, base, {poor.candidate.material})
    assert result.swaps[0].candidate.material == free.swaps[0].candidate.material


def test_all_or_nothing_in_stock_keeps_the_order(opened, free, base):
    everything = {s.candidate.material for s in free.swaps}
    names = [s.candidate.material for s in free.swaps]
    for stock in (everything, {"water"}):
        found = [s.candidate.material for s in preferring(opened, base, stock).swaps]
        assert found[:8] == names[:8]


# -- cost --------------------------------------------------------------------------------------


@pytest.fixture
def best(opened, base):
    return swap(opened.batch, place_of(opened, LINE, base), base, top=3)


def test_the_cost_is_worked_out_from_the_lines_that_change(best):
    found = best.swaps[0]
    old, new = "cera-alba", found.candidate.material
    balance = best.before.batch.items[found.trial.balance].material
    add_cost(best, {old: 12.0, new: 30.0, balance: 8.0}, "EUR")
    before, after = best.before.batch.by_material(), found.trial.batch.by_material()
    cost = found.effects["cost"]
    had = (12.0 * before[old] + 8.0 * before[balance]) / 100.0
    got = (30.0 * after[new] + 8.0 * after[balance]) / 100.0
    assert cost.before == pytest.approx(had)
    assert cost.after == pytest.approx(got)
    assert cost.value == pytest.approx(got - had)
    assert cost.unit == "EUR per kg of formula"
    assert "lines that change" in " ".join(found.after.quantities["cost"].limited_by)


def test_one_price_short_and_the_cost_stays_unknown(best):
    found = best.swaps[0]
    add_cost(best, {"cera-alba": 12.0, found.candidate.material: 30.0})
    assert found.effects["cost"].value is None
    assert found.effects["cost"].before is None


def test_other_swaps_are_not_charged_for_it(best):
    first, second = best.swaps[:2]
    balance = best.before.batch.items[first.trial.balance].material
    add_cost(best, {"cera-alba": 12.0, first.candidate.material: 30.0, balance: 8.0})
    assert first.effects["cost"].value is not None
    assert second.effects["cost"].value is None
