"""What is asked for is kept; and where that is too much, the rules are named."""

import pytest

from kb.adapt.adapting import adapt
from kb.adapt.wish import Wish, rule_id

from .test_published import COLD, HYDROUS, ZINC_CASTOR, ZINC_CREAM, published

WAX, FLUID, PRESERVATIVE = 1, 3, 4


def test_what_is_forbidden_by_name_goes_and_does_not_come_in(base):
    batch = published(ZINC_CASTOR, base)
    gone = frozenset({"cera-alba", "euphorbia-cerifera-cera"})
    answer = adapt(batch, base, Wish(forbid=gone), why=False)
    assert answer.status == "solved"
    assert not gone & set(answer.solutions[0].batch.by_material())


def test_a_kept_line_keeps_its_level(base):
    batch = published(COLD, base)
    answer = adapt(batch, base, Wish(("natural-only",), keep=frozenset({0, 1})), why=False)
    for index in (0, 1):
        assert answer.solutions[0].batch.items[index] == batch.items[index]


def test_a_locked_line_is_never_touched(base):
    batch = published(COLD, base)
    items = list(batch.items)
    items[0] = type(items[0])(items[0].material, items[0].percent, items[0].stage, 1, locked=True)
    answer = adapt(batch.with_items(items), base, Wish(("natural-only",)), why=False)
    assert answer.solutions[0].batch.items[0] == items[0]


def test_only_what_is_in_stock_comes_in(base):
    stock = frozenset({"olea-europaea-fruit-oil", "helianthus-annuus-seed-oil"})
    answer = adapt(published(COLD, base), base, Wish(("natural-only",), only=stock), why=False)
    assert answer.status == "solved"
    assert {m for c in answer.solutions[0].changes for m, _ in c.to} <= stock


def test_a_cap_on_the_cost_is_kept(base):
    batch = published(COLD, base)
    prices = dict.fromkeys(base.materials, 5.0) | {"squalane": 60.0, "aqua": 0.0}
    free = adapt(batch, base, Wish(("natural-only",), prices=prices), why=False)
    capped = adapt(batch, base, Wish(("natural-only",), prices=prices, cost_cap=6.0), why=False)

    def cost(answer) -> float:
        levels = answer.solutions[0].batch.by_material()
        return sum(prices[m] * x / 100.0 for m, x in levels.items())

    assert capped.status == "solved"
    assert cost(capped) <= 6.0 + 1e-6
    assert capped.solutions[0].distance >= free.solutions[0].distance - 1e-9


def test_one_material_a_line_when_asked(base):
    answer = adapt(published(HYDROUS, base), base, Wish(("vegan",), blend=1), why=False)
    assert all(len(c.to) == 1 for c in answer.solutions[0].changes)


#: Requests without an answer: a formula and what is wished for.
TOO_MUCH = {
    "kept mineral oil": (HYDROUS, {"policies": ("natural-only",), "keep": frozenset({FLUID})}),
    "kept preservative": (
        HYDROUS,
        {"policies": ("natural-only",), "keep": frozenset({PRESERVATIVE})},
    ),
    "kept beeswax": (COLD, {"policies": ("vegan",), "keep": frozenset({1})}),
    "three materials for four lines": (HYDROUS, {"policies": ("natural-only",), "max_changes": 3}),
    "none for one": (ZINC_CASTOR, {"policies": ("vegan",), "max_changes": 0}),
    "an empty shelf": (ZINC_CASTOR, {"policies": ("vegan",), "only": frozenset({"talc"})}),
    "only butter in stock": (
        COLD,
        {"policies": ("natural-only",), "only": frozenset({"butyrospermum-parkii-butter"})},
    ),
    "only olive oil for a wax": (
        ZINC_CASTOR,
        {"forbid": frozenset({"cera-alba"}), "only": frozenset({"olea-europaea-fruit-oil"})},
    ),
    "kept wool fat": (ZINC_CREAM, {"policies": ("vegan",), "keep": frozenset({2})}),
    "no preservative in stock": (
        HYDROUS,
        {"forbid": frozenset({"phenoxyethanol"}), "only": frozenset({"squalane", "tocopherol"})},
    ),
}


@pytest.mark.parametrize("case", TOO_MUCH)
def test_removing_any_rule_that_is_named_opens_the_door(case, base):
    name, asked = TOO_MUCH[case]
    batch = published(name, base)
    answer = adapt(batch, base, Wish(**asked, seconds=60.0))
    assert answer.status == "infeasible"
    assert answer.solutions == []
    assert answer.closed_by and answer.irreducible
    for closed in answer.closed_by:
        assert closed.text
        assert rule_id(closed.key) == closed.rule
        without = adapt(batch, base, Wish(**asked, without=frozenset({closed.key})), why=False)
        assert without.status in {"solved", "unchanged"}, closed.key
        assert closed.opens


def test_the_cheapest_way_out_comes_first(base):
    name, asked = TOO_MUCH["three materials for four lines"]
    closed = adapt(published(name, base), base, Wish(**asked)).closed_by
    ways = [c.distance for c in closed if c.distance is not None]
    assert ways == sorted(ways)
    assert all(c.instead for c in closed if c.opens)


def test_a_torn_question_names_both_sides(base):
    name, asked = TOO_MUCH["kept beeswax"]
    closed = adapt(published(name, base), base, Wish(**asked)).closed_by
    assert {c.rule for c in closed} == {"policy", "keep"}
    assert {c.line for c in closed} == {2}
