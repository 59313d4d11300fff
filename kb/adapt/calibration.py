"""Windows of the full model as rows of the linear problem, with the error of doing so."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from kb.adapt.anatomy import anatomy_of
from kb.adapt.fullmodel import FullModel
from kb.adapt.layout import Layout
from kb.adapt.problem import Floats, Ints, Problem, Row
from kb.adapt.windows import Window
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
#: Mass that may be missing from a sampled phase where nothing gives or takes, %.
_SPARE = 10.0
#: An antimicrobial below this level, %, is no part of the body.
_TRACE = 2.0


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
        for name in _STANDS_FOR.get(window.measure, ()):
            row, error = _fit(window, name, layout, sums, seen) if name in sums else (None, 0.0)
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
        found["thickness"] = _thickness(layout, problem)
    elif "consistency" in kinds and frame.before.system in {"o/w", "water gel"}:
        found |= _water_body(layout, problem)
    if "cover" in kinds:
        company, items = frame.company, frame.before.batch.items
        rates = np.array([company.cover_rate(c.material, c.levels.best) for _, c in layout.columns])
        choices = problem.choices
        each = rates[:, None] * np.stack((choices.low, choices.best, choices.high), axis=1)
        kept = problem.kept
        rates = np.array(
            [company.cover_rate(items[i].material, items[i].percent) for i in layout.kept]
        )
        stay = rates[:, None] * np.stack((kept.low, kept.level, kept.high), axis=1)
        found["cover"] = _as_sum(each, stay, problem)
    return found


def _thickness(layout: Layout, problem: Problem) -> _Sum:
    """Return the sum of the logarithms of the viscosities of the oils, over the oil phase."""
    oil = layout.frame.company.oil_mass
    mine, stay = layout.anatomies()
    each = np.array([a.thickness for a in mine], dtype=np.float64)[:, None] / oil
    kept = np.array([a.thickness for a in stay], dtype=np.float64) / oil
    choices = problem.choices
    levels = np.stack((choices.low, choices.best, choices.high), axis=1)
    return _Sum(each * levels, kept, 0.0)


def _water_body(layout: Layout, problem: Problem) -> dict[str, _Sum]:
    """Return the sums that carry the body where water is outside.

    The swollen network by its fatty partners and by the surfactants that swell it, or gum.
    """
    company, items = layout.frame.company, layout.frame.before.batch.items
    found = {}
    for name, brings in (
        ("lamellar", company.lamellar),
        ("swelling", company.swelling),
        ("gum", company.gum),
    ):
        if sum(brings(i.material, i.percent) for i in items) <= 0.0:
            continue
        each = [
            [brings(c.material, x) for x in (c.levels.low, c.levels.best, c.levels.high)]
            for _, c in layout.columns
        ]
        ends = zip(problem.kept.low, problem.kept.level, problem.kept.high, strict=True)
        stay = [
            [brings(items[i].material, float(x)) for x in three]
            for i, three in zip(layout.kept, ends, strict=True)
        ]
        found[name] = _as_sum(np.array(each).reshape(-1, 3), np.array(stay).reshape(-1, 3), problem)
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
        kept = _fill(problem, full.layout, places, levels)
        if kept is None:
            continue
        figures = full.look(places, levels, kept)
        summed = {
            name: rows[name].at(places, levels, problem.choices.best, kept) + sums[name].offset
            for name in rows
        }
        found.append(_Seen(summed, figures))
    return found


def _fill(problem: Problem, layout: Layout, places: Ints, levels: Floats) -> Floats | None:
    """Let the bulk of each phase, taken or kept, bring it to the mass it had; none if it cannot.

    ``levels`` of choices that are the bulk of a phase are changed in place.
    """
    mine, stay = layout.anatomies()
    kept = problem.kept.level.copy()
    before = layout.frame.before.phases
    for phase, mass in (("oil", before.oil_mass), ("water", before.water_mass)):
        each = np.array([mine[int(p)].mass[phase] for p in places], dtype=np.float64)
        lines = np.array([a.mass[phase] for a in stay], dtype=np.float64)
        rest = mass - float(each @ levels) - float(lines @ kept)
        if abs(rest) < 1e-9:
            continue
        bulk = [
            n
            for n, p in enumerate(places)
            if layout.columns[int(p)][1].levels.unit == "balance" and each[n] > 0.5
        ]
        lying = [n for n, k in enumerate(layout.kept) if k in layout.frame.bulk and lines[n] > 0.5]
        if bulk:
            level = levels[bulk[0]] + rest / each[bulk[0]]
            if not 0.2 * levels[bulk[0]] <= level <= 3.0 * levels[bulk[0]]:
                return None
            levels[bulk[0]] = level
        elif lying:
            level = kept[lying[0]] + rest / lines[lying[0]]
            if not 0.2 * kept[lying[0]] <= level <= 3.0 * kept[lying[0]]:
                return None
            kept[lying[0]] = level
        elif abs(rest) > _SPARE:
            return None
    return kept


#: Which sums can stand for a quantity, as logarithms unless named plain.
_STANDS_FOR = {
    "consistency": ("25", "thickness", "lamellar", "swelling", "gum"),
    "hot": ("40",),
    "cover": ("cover",),
    "drift": ("10",),
}
_PLAIN = frozenset({"thickness"})


def _fit(
    window: Window, name: str, layout: Layout, sums: dict[str, _Sum], seen: list[_Seen]
) -> tuple[Row | None, float]:
    """Return the row of one sum that stands for a window, and its error."""
    plain = name in _PLAIN
    pairs = []
    for one in seen:
        figure, sum_ = one.figures[window.measure], one.sums[name]
        if window.measure == "drift":
            warm = one.sums["40"]
            sum_ = sum_ / warm if warm > 0.0 else math.nan
        if figure == figure and (plain or sum_ > 0.0) and window.excess(figure) < _NEAR:
            pairs.append((sum_ if plain else math.log(sum_), figure))
    if len(pairs) < _FEWEST:
        return None, 0.0
    u, v = np.array(pairs).T
    if float(np.ptp(u)) < 1e-6:
        return None, 0.0
    power, start = np.polyfit(u, v, 1)
    if power < _LEAST_POWER:
        return None, 0.0
    off = v - (start + power * u)
    more, less = _STRETCH * float(off.max()), _STRETCH * float(off.min())

    def end(value: float, error: float) -> float:
        if not math.isfinite(value):
            return value
        at = (value - start - error) / power
        return float(at) if plain else math.exp(at)

    low, high = end(window.low, more), end(window.high, less)
    error = max(more, -less)
    if window.measure != "drift":
        return sums[name].row(layout, window.rule, low, high), error
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


#: Roles that have a part in a rule: a choice of none, in place of none, can be any other.
_PART_IN = {
    "electrolyte-break": ("water-thickener", "electrolyte", "emulsifier"),
    "wrong-emulsion-type": ("emulsifier", "soap-part"),
    "needs-partner": ("emulsifier", "soap-part"),
    "emulsifier-low": ("emulsifier", "soap-part"),
    "emulsifier-missing": ("emulsifier", "soap-part"),
    "water-capacity": ("emulsifier", "soap-part"),
    "no-soap": ("soap-part",),
    "wrong-counter-ion": ("soap-part",),
}
_BODILY = frozenset({"consistency", "melts-in-climate", "oil-binding", "no-structure"})
_BUILDS_WATER = ("emulsifier", "electrolyte", "soap-part")


def influential(layout: Layout, rules: set[str], places: Ints) -> list[int]:
    """Return those of some choices that can have a part in breaking some rules.

    The body of a product is made by what stands outside, its type by emulsifiers, and so on: a
    choice that has no part in it, in place of a material that has none either, can be any other.
    """
    frame = layout.frame
    found = []
    for place in places:
        number, choice = layout.columns[int(place)]
        item = frame.before.batch.items[layout.slots[number].index]
        pair = (choice.material, item.material)
        small = max(choice.levels.high, item.percent) < _TRACE
        if any(_has_part(rule, pair, item.stage, layout, small=small) for rule in rules):
            found.append(int(place))
    return found


def _has_part(rule: str, pair: tuple[str, str], stage: str, layout: Layout, *, small: bool) -> bool:
    base, company = layout.frame.base, layout.frame.company
    if rule in _PART_IN:
        return any(base.does(m, role) > 0.0 for m in pair for role in _PART_IN[rule])
    if rule not in _BODILY:
        return True
    if small and base.does(pair[1], "antimicrobial") > 0.0:
        return False
    if layout.frame.before.system in {"o/w", "water gel"}:
        return any(
            company.lamellar(m, 1.0) > 0.0
            or company.gum(m, 1.0) > 0.0
            or any(base.does(m, role) > 0.0 for role in _BUILDS_WATER)
            for m in pair
        )
    return any(
        mass["oil"] + mass["powder"] > 0.0
        for mass in (anatomy_of(m, stage, base).mass for m in pair)
    )
