"""The optimum is the optimum: compared with plain enumeration, and bounds that hold."""

import math

import numpy as np
import pytest

from kb.adapt.pricing import best_of_each, price, solve_exact
from kb.adapt.problem import Cut
from kb.adapt.solving import solve

from .instances import enumerate_all, random_problem

SMALL = range(200)


@pytest.mark.parametrize("seed", SMALL)
def test_the_optimum_equals_exhaustive_enumeration(seed):
    problem = random_problem(seed)
    truth = enumerate_all(problem)
    found, _ = solve(problem)
    if math.isinf(truth):
        assert found.status == "infeasible"
        return
    assert found.status == "optimal"
    assert found.value == pytest.approx(truth, abs=1e-5)
    assert found.bound == pytest.approx(truth, abs=1e-5)


def test_the_instances_are_worth_solving():
    truths = [enumerate_all(random_problem(seed)) for seed in SMALL]
    solvable = sum(math.isfinite(t) for t in truths)
    assert 100 <= solvable < len(truths), "most have an answer, some have none"


@pytest.mark.parametrize("seed", range(20))
def test_pricing_drops_only_what_cannot_win(seed):
    problem = random_problem(1000 + seed, slots=4, each=60)
    whole, _ = solve(problem)
    priced = solve_exact(problem)
    assert priced.status == whole.status
    if whole.status == "optimal":
        assert priced.value == pytest.approx(whole.value, abs=1e-6)


@pytest.mark.parametrize("seed", range(30))
def test_a_bound_holds_whatever_the_duals(seed):
    problem = random_problem(seed)
    best, _ = solve(problem)
    draw = np.random.default_rng(seed)
    wild = draw.normal(size=len(problem.linked()))
    for duals in (wild, solve(problem, whole=False)[1]):
        priced = price(problem, duals)
        assert priced.bound <= best.value + 1e-6
        if best.status == "optimal":
            assert (priced.with_choice[best.places] <= best.value + 1e-6).all()


@pytest.mark.parametrize("seed", range(40))
def test_an_answer_keeps_every_row(seed):
    problem = random_problem(seed)
    found, _ = solve(problem)
    if found.status != "optimal":
        return
    for row in problem.linked():
        level = row.at(found.places, found.levels, problem.choices.best, found.kept)
        assert row.low - 1e-5 <= level <= row.high + 1e-5, row.rule
    assert (found.levels >= problem.choices.low[found.places] - 1e-6).all()
    assert (found.levels <= problem.choices.high[found.places] + 1e-6).all()


def test_a_cut_forbids_a_combination_and_no_other():
    problem = next(
        p for p in map(random_problem, range(50)) if p.slots > 1 and solve(p)[0].places.size > 1
    )
    first = solve(problem)[0]
    cut = Cut(tuple(map(int, first.places)), len(first.places) - 1)
    again = solve(
        type(problem)(
            *(getattr(problem, f) for f in ("choices", "optional", "kept", "rows", "clashes")),
            (*problem.cuts, cut),
            problem.total,
        )
    )[0]
    assert set(again.places) != set(first.places)
    assert again.value >= first.value - 1e-9


def test_some_of_each_slot_are_kept_for_the_restricted_problem():
    problem = random_problem(7, slots=3, each=30)
    kept = best_of_each(problem, problem.choices.cost, 4)
    assert [int((problem.choices.slot[kept] == s).sum()) for s in range(3)] == [4, 4, 4]


def test_the_same_problem_gives_the_same_answer():
    problem = random_problem(11, slots=3, each=40)
    first, second = solve_exact(problem), solve_exact(problem)
    assert (first.places == second.places).all()
    assert (first.levels == second.levels).all()
