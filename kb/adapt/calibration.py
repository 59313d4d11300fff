"""Windows of the full model as rows of the linear problem, with the error of doing so."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from kb.adapt.frame import Layout
from kb.adapt.fullmodel import FullModel
from kb.adapt.problem import Floats, Ints, Problem, Row
from kb.adapt.windows import Window, measures
from kb.engine.profile import TEMPERATURES_C

#: Combinations tried to see how the full model follows the linear sums.
SAMPLES = 40
#: Of how many of the cheapest choices of each slot they are drawn.
_OF_THE_BEST = 15
#: The errors seen are stretched by this much: others may be larger.
_STRETCH = 1.25
#: A sum that the model follows with a lower power than this says too little for a row.
_LEAST_POWER = 0.3
#: Samples further than this from a window, as a logarithm, say nothing about its ends.
_NEAR = 1.5
_FEWEST = 8
_HELPER_SHARE = 0.4


@dataclass(frozen=True, slots=True)
class Calibrated:
    """The problem with its windows as rows, and the largest error of each, as a logarithm."""

    problem: Problem
    errors: dict[str, float]


@dataclass(frozen=True, slots=True)
class _Sum:
    """A sum over choices and kept lines: at low, best and high level."""

    choices: Floats
    kept: Floats
    offset: float

    def row(self, layout: Layout, rule: str, low: float, high: float) -> Row:
        each = self.choices
        levels = np.array([(c.levels.low, c.levels.best, c.levels.high) for _, c in layout.columns])
        levels = levels.reshape(-1, 3)
        with np.errstate(divide="ignore", invalid="ignore"):
            up = (each[:, 2] - each[:, 1]) / (levels[:, 2] - levels[:, 1])
            down = (each[:, 1] - each[:, 0]) / (levels[:, 1] - levels[:, 0])
        up, down = (np.where(np.isfinite(x), x, 0.0) for x in (up, down))
        return Row(
            rule, each[:, 1].copy(), up, down, self.kept, low - self.offset, high - self.offset
        )


def calibrate(layout: Layout, full: FullModel, seed: int = 0) -> Calibrated:
    """Add a row for each window that a sum can stand for.

    The sums are the network at 10, 25 and 40 degC and the preservative cover. How the full model
    follows them is read off sampled combinations, and the ends of each row are moved outwards by
    the largest error seen near the window, so that the linear problem leaves out nothing that the
    full model lets in, as far as the samples tell.
    """
    problem = full.exact
    windows = [w for w in layout.frame.windows if w.rule not in layout.off]
    if not windows or not len(problem.choices):
        return Calibrated(problem, {})
    sums = _sums(layout, problem, windows)
    if not sums:
        return Calibrated(problem, {})
    seen = _sample(problem, full, sums, seed)
    rows: list[Row] = []
    errors: dict[str, float] = {}
    for window in windows:
        row, error = _fit(window, layout, sums, seen)
        if row is not None:
            rows.append(row)
            errors[window.rule] = max(error, errors.get(window.rule, 0.0))
    return Calibrated(replace(problem, rows=(*problem.rows, *rows)), errors)


def _sums(layout: Layout, problem: Problem, windows: list[Window]) -> dict[str, _Sum]:
    frame = layout.frame
    found: dict[str, _Sum] = {}
    kinds = {w.measure for w in windows}
    oil_outside = frame.before.system in {"w/o", "anhydrous"} and frame.company.oil_mass > 0
    if oil_outside and kinds & {"consistency", "drift", "hot"}:
        for row, t in enumerate(TEMPERATURES_C):
            each, stay = layout.network_parts(row)
            found[f"{t:.0f}"] = _as_sum(each, stay, problem)
    if "cover" in kinds:
        company, items = frame.company, frame.before.batch.items
        each = np.array(
            [
                [
                    company.cover(c.material, c.levels.best) / max(c.levels.best, 1e-9) * level
                    for level in (c.levels.low, c.levels.best, c.levels.high)
                ]
                for _, c in layout.columns
            ]
        ).reshape(-1, 3)
        stay = np.array(
            [
                [
                    company.cover(items[i].material, items[i].percent)
                    / max(items[i].percent, 1e-9)
                    * level
                    for level in ends
                ]
                for i, ends in zip(
                    layout.kept,
                    zip(problem.kept.low, problem.kept.level, problem.kept.high, strict=True),
                    strict=True,
                )
            ]
        ).reshape(-1, 3)
        found["cover"] = _as_sum(each, stay, problem)
    return found


def _as_sum(each: Floats, stay: Floats, problem: Problem) -> _Sum:
    kept = problem.kept
    width = kept.high - kept.low
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.where(width > 0, (stay[:, 2] - stay[:, 0]) / width, 0.0)
    return _Sum(each, slope, float((stay[:, 1] - slope * kept.level).sum()))


@dataclass(frozen=True, slots=True)
class _Seen:
    sums: dict[str, float]
    figures: dict[str, float]


def _sample(problem: Problem, full: FullModel, sums: dict[str, _Sum], seed: int) -> list[_Seen]:
    draw = np.random.default_rng(seed)
    by_slot = []
    for slot in range(problem.slots):
        mine = np.flatnonzero(problem.choices.slot == slot)
        by_slot.append(mine[np.argsort(problem.choices.cost[mine], kind="stable")][:_OF_THE_BEST])
    bulky = np.flatnonzero(problem.kept.rate * problem.kept.level < 0.1)
    rows = {name: s.row(full.layout, name, 0.0, 0.0) for name, s in sums.items()}
    found: list[_Seen] = []
    for _ in range(SAMPLES):
        picked = [
            int(draw.choice(mine))
            for slot, mine in enumerate(by_slot)
            if len(mine) and (not problem.optional[slot] or draw.random() < _HELPER_SHARE)
        ]
        places = np.array(picked, dtype=np.intp)
        low, best, high = (getattr(problem.choices, x)[places] for x in ("low", "best", "high"))
        t = draw.random(len(places))
        levels = np.exp(
            (1 - t) * np.log(np.maximum(low, 0.3 * best)) + t * np.log(np.minimum(high, 2 * best))
        )
        kept = _fill(problem, levels, bulky)
        if kept is None:
            continue
        _, after = full.look(places, levels, kept)
        figures = measures(after)
        summed = {
            name: rows[name].at(places, levels, problem.choices.best, kept) + sums[name].offset
            for name in rows
        }
        found.append(_Seen(summed, figures))
    return found


def _fill(problem: Problem, levels: Floats, bulky: Ints) -> Floats | None:
    """Return kept levels that bring a combination to the total: the bulk gives and takes."""
    kept = problem.kept.level.copy()
    rest = problem.total - levels.sum() - kept.sum()
    held = kept[bulky].sum()
    if held <= 0.0:
        return kept if abs(rest) < 15.0 else None
    factor = (held + rest) / held
    if not 0.4 <= factor <= 1.8:
        return None
    kept[bulky] *= factor
    return kept


def _fit(
    window: Window, layout: Layout, sums: dict[str, _Sum], seen: list[_Seen]
) -> tuple[Row | None, float]:
    """Return the row that stands for a window, and its error."""
    name = {"consistency": "25", "hot": "40", "cover": "cover", "drift": "10"}.get(window.measure)
    if name is None or name not in sums:
        return None, 0.0
    pairs = []
    for one in seen:
        figure, sum_ = one.figures[window.measure], one.sums[name]
        if window.measure == "drift":
            warm = one.sums["40"]
            sum_ = sum_ / warm if warm > 0.0 else math.nan
        if figure == figure and sum_ > 0.0 and window.excess(figure) < _NEAR:
            pairs.append((math.log(sum_), figure))
    if len(pairs) < _FEWEST:
        return None, 0.0
    u, v = np.array(pairs).T
    spread = float(np.ptp(u))
    if spread < 1e-6:
        return None, 0.0
    power, start = np.polyfit(u, v, 1)
    if power < _LEAST_POWER:
        return None, 0.0
    off = v - (start + power * u)
    more, less = _STRETCH * float(off.max()), _STRETCH * float(off.min())
    low = math.exp((window.low - start - more) / power) if math.isfinite(window.low) else -math.inf
    high = (
        math.exp((window.high - start - less) / power) if math.isfinite(window.high) else math.inf
    )
    error = max(more, -less)
    if window.measure == "drift":
        # G10 / G40 <= high, multiplied out.
        cold = sums["10"].row(layout, window.rule, 0.0, 0.0)
        hot = sums["40"].row(layout, window.rule, 0.0, 0.0)
        row = Row(
            window.rule,
            cold.at_best - high * hot.at_best,
            cold.up - high * hot.up,
            cold.down - high * hot.down,
            cold.kept - high * hot.kept,
            -math.inf,
            -(sums["10"].offset - high * sums["40"].offset),
        )
        return row, error
    return sums[name].row(layout, window.rule, low, high), error


def influential(layout: Layout, rules: set[str], places: Ints) -> list[int]:
    """Return those of some choices that can have a part in breaking some rules of the windows."""
    frame = layout.frame
    bodily = {"consistency", "melts-in-climate", "oil-binding"}
    if not rules <= bodily | {"preservative-cover"}:
        return [int(p) for p in places]
    found = []
    for place in places:
        number, choice = layout.columns[int(place)]
        index = layout.slots[number].index
        item = frame.before.batch.items[index]
        antimicrobial = frame.base.does(item.material, "antimicrobial") > 0
        small = max(choice.levels.high, item.percent) < 2.0
        if small and antimicrobial and rules <= bodily:
            continue
        found.append(int(place))
    return found
