"""The fewest materials that meet every need, proven: a minimum set cover solved by HiGHS."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import highspy

#: Seconds after which the best found so far is given with its bound.
TIME_LIMIT_S = 60.0


@dataclass(frozen=True, slots=True)
class Cover:
    """Materials that between them meet every need.

    ``bound`` is the number below which no cover exists; it equals the count when proven.
    """

    chosen: tuple[str, ...]
    bound: int
    proven: bool


def fewest(
    needs: Sequence[Mapping[str, float]],
    free: frozenset[str] = frozenset(),
    time_limit_s: float = TIME_LIMIT_S,
) -> Cover:
    """Choose as few materials as possible so that each need has one that serves it.

    Of the smallest choices the one that serves the needs best is taken (sum over needs of the best
    worth that is at hand); when all is equal, the first by name.

    Parameters
    ----------
    needs : sequence of mapping
        For each need the materials that serve it, with their worth; none may be empty.
    free : frozenset of str
        Materials that are there already and cost nothing.
    time_limit_s : float

    Raises
    ------
    ValueError
        A need that nothing serves.
    """
    if any(not need for need in needs):
        raise ValueError("a need that nothing serves has no cover")
    open_needs = [need for need in needs if not free & need.keys()]
    if not open_needs:
        return Cover((), 0, True)
    counted: dict[tuple[tuple[str, float], ...], int] = {}
    for need in open_needs:
        key = tuple(sorted(need.items()))
        counted[key] = counted.get(key, 0) + 1
    groups = [(dict(key), number) for key, number in sorted(counted.items())]
    count, bound, proven, chosen = _smallest([frozenset(need) for need, _ in groups], time_limit_s)
    if proven:
        chosen = _best_of_size(groups, count, time_limit_s) or chosen
    return Cover(tuple(sorted(chosen)), bound, proven)


def minimal(sets: Sequence[frozenset[str]]) -> list[frozenset[str]]:
    """Return the sets that hold no other one; what meets these meets all."""
    kept: list[frozenset[str]] = []
    for one in sorted(set(sets), key=lambda s: (len(s), sorted(s))):
        if not any(small <= one for small in kept):
            kept.append(one)
    return kept


def _smallest(
    sets: Sequence[frozenset[str]], time_limit_s: float
) -> tuple[int, int, bool, list[str]]:
    """Return size, bound, whether they meet, and a cover."""
    needed = minimal(sets)
    names = sorted(frozenset().union(*needed))
    model = _model(time_limit_s)
    take = {name: model.addBinary(obj=1.0) for name in names}
    for one in needed:
        model.addConstr(sum(take[name] for name in sorted(one)) >= 1)
    values, gap_closed, bound = _solved(model)
    chosen = [name for name, var in take.items() if values and values[var.index] > 0.5]
    if any(not one & set(chosen) for one in needed):
        chosen, gap_closed = greedy(needed), False
    return len(chosen), max(1, round_up(bound)), gap_closed, chosen


def greedy(sets: Sequence[frozenset[str]]) -> list[str]:
    """Return a cover by taking what serves most, again and again; not always the smallest."""
    left, chosen = list(sets), []
    while left:
        counts: dict[str, int] = {}
        for one in left:
            for name in one:
                counts[name] = counts.get(name, 0) + 1
        best = min(counts, key=lambda name: (-counts[name], name))
        chosen.append(best)
        left = [one for one in left if best not in one]
    return chosen


def _best_of_size(
    groups: Sequence[tuple[Mapping[str, float], int]], count: int, time_limit_s: float
) -> list[str] | None:
    """Return the cover of this size that serves best."""
    model = _model(time_limit_s)
    names = sorted({name for need, _ in groups for name in need})
    # A hair for the place in the alphabet settles what is equal otherwise.
    take = {name: model.addBinary(obj=1e-7 * n / len(names)) for n, name in enumerate(names)}
    for need, number in groups:
        serves = {
            name: model.addVariable(0.0, 1.0, obj=-number * worth) for name, worth in need.items()
        }
        model.addConstr(sum(serves.values()) == 1)
        for name, var in serves.items():
            model.addConstr(var <= take[name])
    model.addConstr(sum(take.values()) <= count)
    values, gap_closed, _ = _solved(model)
    return [n for n, v in take.items() if values[v.index] > 0.5] if gap_closed else None


def _model(time_limit_s: float) -> Any:
    """Return an empty model that prints nothing: its own class prints a banner when it is made."""

    class Quiet(highspy.Highs):  # type: ignore[misc, unused-ignore]
        def __init__(self) -> None:
            super(highspy.Highs, self).__init__()
            self.setOptionValue("output_flag", False)

    model = Quiet()
    # One thread and a fixed start, so that an answer repeats; it stops early unless told not to.
    for option, value in (
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.0),
        ("time_limit", time_limit_s),
        ("threads", 1),
        ("random_seed", 1),
    ):
        model.setOptionValue(option, value)
    return model


def _solved(model: Any) -> tuple[list[float], bool, float]:
    """Return the values, whether the proof is closed, and the bound."""
    model.solve()
    found = list(model.getSolution().col_value)
    closed = model.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return found, closed, float(model.getInfo().mip_dual_bound)


def round_up(bound: float) -> int:
    """Return the smallest whole number that is not below a bound, rounding noise apart."""
    return math.ceil(bound - 1e-6)
