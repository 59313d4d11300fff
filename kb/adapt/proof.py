"""The search for the best combination and its proof: linear bound, full model, cut, again."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from kb.adapt.calibration import Calibrated, calibrate, influential
from kb.adapt.fullmodel import FullModel, Settled
from kb.adapt.layout import Layout
from kb.adapt.pricing import solve_exact
from kb.adapt.problem import Cut, Problem

#: A bound this near the best value proves it.
TOLERANCE = 1e-6
_MOST_ROUNDS = 400

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Proof:
    """What was shown: no combination is below ``bound``; the best one found is ``full_value``.

    The windows of the linear problem are wider than those of the full model by ``widened`` (a
    fraction), the largest error seen, so that the bound leaves out nothing the full model lets in.
    ``eps`` is what of the error is not covered by that: rows that an answer of the full model
    breaks are widened until it is 0. ``gap`` is what is left between value and bound.
    """

    bound: float
    full_value: float
    eps: float
    widened: float
    rounds: int
    full_models: int
    seconds: float

    @property
    def gap(self) -> float:
        """Value less bound, not below 0."""
        if not math.isfinite(self.full_value):
            return math.inf
        gap = self.full_value - self.bound
        return 0.0 if gap <= TOLERANCE else gap


@dataclass(slots=True)
class Search:
    """One layout searched; ``found`` holds the best first."""

    layout: Layout
    full: FullModel
    linear: Problem
    widened: float
    status: str = ""
    found: list[tuple[Settled, Proof]] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)
    #: What a choice that this layout does not hold could bring it down to.
    layout_bound: float = -math.inf


def search(
    layout: Layout,
    *,
    top: int = 1,
    seconds: float = math.inf,
    any_will_do: bool = False,
    cutoff: float = math.inf,
    tell: Progress | None = None,
) -> Search:
    """Find the best combination of a layout and prove it; then the best of another kind.

    Parameters
    ----------
    layout : Layout
    top : int
        How many, each different from all before in the family of at least one line.
    seconds : float
        Time limit for all.
    any_will_do : bool
        Stop at the first that holds: whether there is one is the question.
    cutoff : float
        Only what is better is of interest; ``solved`` without an answer says there is nothing.
    tell : callable, optional
        Told of progress in a few words.

    Notes
    -----
    The linear problem with its widened windows gives a lower bound over all combinations not cut.
    The combination it proposes is settled in the full model and cut. That ends when the bound
    reaches the best value of the full model: then no other combination can be better.
    It holds as far as the widening, read off samples, covers the error of the linear sums, as a
    refusal holds for every choice that has no part in it, and as the levels of a combination, found
    by linearising again and again, are the best there and not only the best near by.
    """
    start = time.monotonic()
    exact = layout.problem()
    full = FullModel(layout, exact)
    if any(
        not slot.second and not (exact.choices.slot == n).any()
        for n, slot in enumerate(layout.slots)
    ):
        return Search(layout, full, exact, 0.0, "infeasible")
    calibrated = calibrate(layout, full)
    result = Search(layout, full, calibrated.problem, _largest(calibrated))
    problem = calibrated.problem
    pool: list[Settled] = []
    for _ in range(top):
        left = seconds - (time.monotonic() - start)
        best, proof, status, problem = _one(
            *(result, problem, pool, left, cutoff), any_will_do=any_will_do, tell=tell
        )
        if not result.status:
            result.status = status
        if best is None:
            break
        result.found.append((best, proof))
        if status != "solved" or any_will_do:
            break
        cut = _signature(layout, best)
        problem = replace(problem, cuts=(*problem.cuts, cut))
        pool = [s for s in pool if not _breaks(cut, s)]
    return result


def _largest(calibrated: Calibrated) -> float:
    return math.expm1(max(calibrated.errors.values(), default=0.0))


def _one(
    result: Search,
    problem: Problem,
    pool: list[Settled],
    seconds: float,
    known: float,
    *,
    any_will_do: bool,
    tell: Progress | None,
) -> tuple[Settled | None, Proof, str, Problem]:
    start = time.monotonic()
    best = min(pool, key=lambda s: s.value, default=None)
    bound, rounds, status, eps = -math.inf, 0, "time_limit", 0.0
    while rounds < _MOST_ROUNDS:
        left = seconds - (time.monotonic() - start)
        if left <= 0.0:
            break
        cutoff = min(known, best.value if best is not None else math.inf)
        answer = solve_exact(problem, seconds=left, cutoff=cutoff)
        bound = min(answer.bound, cutoff)
        if answer.status == "infeasible" or answer.bound >= cutoff - TOLERANCE:
            status = "solved" if math.isfinite(cutoff) else "infeasible"
            bound = cutoff
            break
        if not len(answer.places):
            break
        rounds += 1
        settled = result.full.settle(answer.places, answer.levels, answer.kept)
        problem = replace(problem, cuts=(*problem.cuts, _cut(result.layout, settled)))
        if settled.holds and settled.value < known:
            problem, missed = _widened(problem, settled)
            eps = max(eps, missed)
            pool.append(settled)
            if best is None or settled.value < best.value:
                best = settled
                if tell is not None:
                    tell(f"answer at distance {best.value:.4g}, bound {bound:.4g}")
            if any_will_do:
                status = "solved"
                break
        else:
            result.refused.update(settled.refused)
    value = best.value if best is not None else math.inf
    if eps > 0.0 and status == "solved" and best is not None:
        # Rows were widened on the way: the bound is worked out anew with the wider ones.
        bound = min(bound, solve_exact(problem, seconds=max(seconds, 1.0)).bound)
    proof = Proof(
        bound, value, 0.0, result.widened, rounds, result.full.asked, time.monotonic() - start
    )
    return best, proof, status, problem


def _widened(problem: Problem, settled: Settled) -> tuple[Problem, float]:
    """Widen every row that an answer of the full model breaks, and tell by how much at most."""
    rows, most = [], 0.0
    for row in problem.rows:
        here = row.at(settled.places, settled.levels, problem.choices.best, settled.kept)
        over = max(row.low - here, here - row.high, 0.0)
        if over > TOLERANCE * max(1.0, abs(here)):
            most = max(most, over)
            row = replace(row, low=min(row.low, here - over), high=max(row.high, here + over))
        rows.append(row)
    return (replace(problem, rows=tuple(rows)), most) if most > 0.0 else (problem, 0.0)


def _cut(layout: Layout, settled: Settled) -> Cut:
    """Return the cut of a combination, as wide as what it was refused for allows."""
    if settled.alone:
        return Cut((settled.alone[0],), 0)
    places = [int(p) for p in settled.places]
    if settled.refused:
        places = influential(layout, set(settled.refused), settled.places) or places
    taken = {layout.columns[p][0] for p in places}
    empty = {n for n, slot in enumerate(layout.slots) if slot.second} - taken
    unless = tuple(n for n, (slot, _) in enumerate(layout.columns) if slot in empty)
    return Cut(tuple(places), len(places) - 1, unless)


def _signature(layout: Layout, best: Settled) -> Cut:
    """Return the cut that leaves only combinations of another kind: families, not decimals."""
    places: list[int] = []
    slots = set()
    for place in best.places:
        number, choice = layout.columns[int(place)]
        if layout.slots[number].second:
            continue
        slots.add(number)
        places += [
            n for n, (s, c) in enumerate(layout.columns) if s == number and c.kind == choice.kind
        ]
    return Cut(tuple(places), len(slots) - 1)


def _breaks(cut: Cut, settled: Settled) -> bool:
    taken = {int(p) for p in settled.places}
    return len(taken & set(cut.places)) - len(taken & set(cut.unless)) > cut.most
