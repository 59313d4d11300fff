"""Solve large problems: price every choice, solve a restricted problem, drop what cannot win."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

import numpy as np

from kb.adapt.problem import Answer, Floats, Ints, Problem
from kb.adapt.solving import solve

#: Choices a slot in the restricted problem.
RESTRICTED = 20
#: Slack on bounds, for rounding in the solver.
_ROUNDING = 1e-6
#: Up to this many choices pricing costs more than it saves.
_FEW = 60


@dataclass(frozen=True, slots=True)
class Priced:
    """What duals say: the bound of the whole problem, and of each choice if it is taken."""

    bound: float
    with_choice: Floats


def price(problem: Problem, duals: Floats) -> Priced:
    """Return bounds by relaxing the linking rows with their dual values.

    Whatever the duals, the bounds hold: each slot takes its cheapest choice at the cheapest of its
    break points, each kept line its cheapest level, each row its cheaper end.
    """
    choices, kept = problem.choices, problem.kept
    low, best, high = choices.low, choices.best, choices.high
    at_low = choices.cost + choices.rate * (best - low)
    at_best = choices.cost.copy()
    at_high = choices.cost + choices.rate * (high - best)
    lines = np.zeros((3, len(kept)))
    lines[0] = kept.rate * (kept.level - kept.low)
    lines[2] = kept.rate * (kept.high - kept.level)
    bound = 0.0
    for row, dual in zip(problem.linked(), duals, strict=True):
        # A row without an end on that side cannot carry a dual of that sign.
        weight = dual if math.isfinite(row.low if dual > 0 else row.high) else 0.0
        if weight == 0.0:
            continue
        bound += weight * (row.low if weight > 0 else row.high)
        at_low -= weight * (row.at_best - row.down * (best - low))
        at_best -= weight * row.at_best
        at_high -= weight * (row.at_best + row.up * (high - best))
        lines[0] -= weight * row.kept * kept.low
        lines[1] -= weight * row.kept * kept.level
        lines[2] -= weight * row.kept * kept.high
    bound += float(lines.min(axis=0).sum()) if len(kept) else 0.0
    priced = np.minimum(np.minimum(at_low, at_best), at_high)
    least = np.full(problem.slots, math.inf)
    np.minimum.at(least, choices.slot, priced)
    least = np.where(problem.optional, np.minimum(least, 0.0), least)
    whole = bound + float(least.sum())
    return Priced(whole, whole - least[choices.slot] + priced)


def solve_exact(problem: Problem, *, seconds: float = math.inf, cutoff: float = math.inf) -> Answer:
    """Solve a problem of any size to its proven optimum.

    A relaxation gives duals, these a bound for each choice. A problem restricted to the best of
    each slot gives an answer, and every choice whose bound lies above it is dropped. What is left
    is solved whole. ``cutoff`` is the value of an answer known already.
    """
    until = time.monotonic() + seconds
    if len(problem.choices) <= _FEW:
        return solve(problem, seconds=seconds)[0]
    relaxed, duals = solve(problem, whole=False, seconds=seconds)
    if relaxed.status == "infeasible":
        return relaxed
    priced = price(problem, duals)
    upper = cutoff
    few = best_of_each(problem, priced.with_choice, RESTRICTED)
    first = solve(problem.take(few), seconds=until - time.monotonic())[0]
    upper = min(upper, first.value)
    left = np.flatnonzero(priced.with_choice <= upper + _ROUNDING)
    if first.status == "optimal" and set(left) <= set(few):
        return _whole(first, few)
    bound = max(priced.bound, relaxed.value)
    found = solve(problem.take(left), seconds=until - time.monotonic())[0]
    if found.status == "stopped" and first.value < found.value:
        return _whole(Answer("stopped", first.value, bound, *_parts(first)), few)
    if found.status == "infeasible" and math.isfinite(cutoff):
        return Answer("infeasible", math.inf, cutoff)
    return _whole(found, left)


def best_of_each(problem: Problem, worth: Floats, number: int) -> Ints:
    """Return the choices with the least figure, some of each slot, in their old order."""
    order = np.lexsort((np.arange(len(worth)), worth, problem.choices.slot))
    slots = problem.choices.slot[order]
    starts = np.searchsorted(slots, np.arange(problem.slots))
    rank = np.arange(len(order)) - starts[slots]
    return np.sort(order[rank < number])


def _parts(answer: Answer) -> tuple[Ints, Floats, Floats]:
    return answer.places, answer.levels, answer.kept


def _whole(answer: Answer, places: Ints) -> Answer:
    """Return an answer in the places of the whole problem."""
    return Answer(
        answer.status,
        answer.value,
        answer.bound,
        places[answer.places] if len(answer.places) else answer.places,
        answer.levels,
        answer.kept,
    )
