"""Random small adaptation problems, and the plainest way there is to solve them."""

import itertools
import math

import numpy as np
from scipy.optimize import linprog

from kb.adapt.problem import Choices, Clash, Cut, Kept, Problem, Row


def random_problem(seed: int, slots: int = 0, each: int = 0) -> Problem:
    """Return a problem of a few slots and choices; figures invented, some without an answer."""
    draw = np.random.default_rng(seed)
    slots = slots or int(draw.integers(1, 4))
    counts = [each or int(draw.integers(2, 6)) for _ in range(slots)]
    slot = np.repeat(np.arange(slots), counts)
    n, k = len(slot), int(draw.integers(1, 4))
    best = draw.uniform(1.0, 20.0, n)
    choices = Choices(
        slot,
        best * draw.uniform(0.3, 1.0, n),
        best,
        best * draw.uniform(1.0, 2.5, n),
        draw.uniform(0.0, 2.0, n),
        draw.uniform(0.01, 0.3, n),
    )
    level = draw.uniform(5.0, 30.0, k)
    kept = Kept(level, 0.6 * level, 1.4 * level, draw.uniform(0.001, 0.2, k))
    total = float(level.sum() + sum(draw.choice(best[slot == s]) for s in range(slots)))
    rows = []
    for number in range(int(draw.integers(1, 4))):
        part = draw.uniform(0.0, 1.0, n)
        bend = draw.uniform(0.7, 1.0, n)
        line = draw.uniform(0.0, 1.0, k)
        middle = float(
            line @ level + sum(draw.choice((part * best)[slot == s]) for s in range(slots))
        )
        width = draw.uniform(0.02, 0.3) * middle
        low, high = middle - width, middle + width
        if draw.random() < 0.3:
            high = math.inf
        rows.append(Row(f"row-{number}", part * best, part * bend, part, line, low, high))
    clashes = []
    for number in range(int(draw.integers(0, 3))):
        first, second = draw.permutation(n)[: 2 * (n // 3)].reshape(2, -1)
        clashes.append(Clash(f"clash-{number}", np.sort(first), np.sort(second)))
    cuts = []
    if draw.random() < 0.3:
        combination = tuple(int(draw.choice(np.flatnonzero(slot == s))) for s in range(slots))
        cuts.append(Cut(combination, slots - 1))
    optional = np.zeros(slots, dtype=bool)
    if slots > 1 and draw.random() < 0.5:
        optional[-1] = True
    return Problem(choices, optional, kept, tuple(rows), tuple(clashes), tuple(cuts), total)


def enumerate_all(problem: Problem) -> float:
    """Return the least value over every combination of choices, levels by a linear program."""
    best = math.inf
    ways = []
    for s in range(problem.slots):
        mine = [(int(p),) for p in np.flatnonzero(problem.choices.slot == s)]
        ways.append(mine + [()] if problem.optional[s] else mine)
    for pick in itertools.product(*ways):
        places = np.array(sorted(itertools.chain(*pick)), dtype=np.intp)
        if not _allowed(problem, set(places.tolist())):
            continue
        best = min(best, _levels(problem, places))
    return best


def _allowed(problem: Problem, taken: set[int]) -> bool:
    slot = problem.choices.slot
    for clash in problem.clashes:
        for a in taken & set(clash.first.tolist()):
            for b in taken & set(clash.second.tolist()):
                if a != b and slot[a] != slot[b]:
                    return False
    return all(
        len(taken & set(cut.places)) - len(taken & set(cut.unless)) <= cut.most
        for cut in problem.cuts
    )


def _levels(problem: Problem, places: np.ndarray) -> float:
    choices, kept = problem.choices, problem.kept
    n, k = len(places), len(kept)
    rate = np.concatenate((choices.rate[places],) * 2 + (kept.rate,) * 2)
    spans = [
        *choices.high[places] - choices.best[places],
        *choices.best[places] - choices.low[places],
        *kept.high - kept.level,
        *kept.level - kept.low,
    ]
    upper, limit, equal, value = [], [], [], []
    for row in problem.linked():
        line = np.concatenate((row.up[places], -row.down[places], row.kept, -row.kept))
        fixed = row.at_best[places].sum() + row.kept @ kept.level
        if row.low == row.high:
            equal.append(line)
            value.append(row.low - fixed)
            continue
        if math.isfinite(row.high):
            upper.append(line)
            limit.append(row.high - fixed)
        if math.isfinite(row.low):
            upper.append(-line)
            limit.append(fixed - row.low)
    found = linprog(
        rate,
        A_ub=np.array(upper) if upper else None,
        b_ub=limit or None,
        A_eq=np.array(equal),
        b_eq=value,
        bounds=[(0.0, max(s, 0.0)) for s in spans],
        method="highs-ds",
    )
    assert len(rate) == 2 * n + 2 * k
    return found.fun + choices.cost[places].sum() if found.status == 0 else math.inf
