"""Predictions anchored to what the user measured, and the factor their own batches share."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from kb.engine.accepting import key_of
from kb.engine.answers import SwapResult
from kb.engine.opening import Opened, open_formula
from kb.engine.profile import ABSOLUTE, Profile, consistency_at_25, make_profile
from kb.engine.quantity import Quantity
from kb.engine.readings import Reading, convert, reading_of_file, reading_of_row, unread_in_file
from kb.errors import KbError
from kb.formula.reading import parse_formula
from kb.science.anchoring import batch_spread, formula_spread, shared_factor, spread_of
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

NAME = "consistency_25c"
#: The ratio of two like formulas is right within this factor (science/consistency).
_RATIO = 2.5
#: Batches of one formula by one maker repeat within this factor (assumption: a user notices 20 to
#: 30 %), which counts as much as this many repeats.
_REPEAT, _REPEAT_WEIGHT = 1.3, 4.0
#: Formulas of the log that the factor is learnt from, newest first; more change it little.
_MOST = 24
Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Anchor:
    """A measured consistency at 25 degC, mPa.s, and what stands behind it.

    ``version`` is the earlier version that was measured, with its own predicted draws, where the
    formula itself was not.
    """

    value: float
    spread: float
    count: int
    used: tuple[str, ...]
    unused: tuple[str, ...]
    version: Opened | None = None


@dataclass(frozen=True, slots=True)
class Process:
    """The factor that a maker's batches share, measured over predicted, as its logarithm."""

    mean: float
    spread: float
    formulas: int

    @property
    def factor(self) -> float:
        """Its middle."""
        return math.exp(self.mean)


@dataclass(frozen=True, slots=True)
class Experience:
    """What the user's measurements say of one formula."""

    anchor: Anchor | None = None
    process: Process | None = None
    unused: tuple[str, ...] = ()

    @property
    def says_something(self) -> bool:
        """Tell whether there is an anchor, a factor, or a reason why a measurement is not used."""
        return bool(self.anchor or self.process or self.unused)


def experience(opened: Opened, base: Snapshot, rows: Rows) -> Experience:
    """Gather what was measured of a formula, its last versions, and the user's other formulas.

    Parameters
    ----------
    opened : Opened
    base : Snapshot
    rows : sequence of mapping
        The user's log.
    """
    key = key_of(opened)
    own = [reading_of_file(opened.formula.measured), *map(reading_of_row, _rows(rows, key))]
    anchor, unused = _anchor([r for r in own if r is not None], opened, base)
    unused += unread_in_file(opened.formula.measured)
    for version in () if anchor else reversed(opened.formula.versions):
        anchor, more = _of_version(version, rows, base)
        unused += more
        if anchor:
            break
    process = process_of(rows, base, but=key)
    return Experience(anchor, process, tuple(unused))


def _rows(rows: Rows, key: str) -> list[Mapping[str, Any]]:
    return [row for row in rows if key and str(row["formula"]).startswith(key)]


def _of_version(
    version: Mapping[str, object], rows: Rows, base: Snapshot
) -> tuple[Anchor | None, list[str]]:
    """Anchor to an earlier version whose recipe the log has kept."""
    logged = _rows(rows, str(version.get("key", "")))
    recipe = next((str(row["recipe"]) for row in logged if row["recipe"]), "")
    if not recipe:
        return None, []
    old = _opened(recipe, base)
    if old is None:
        return None, []
    found = [r for r in map(reading_of_row, logged) if r is not None]
    anchor, unused = _anchor(found, old, base)
    return (replace(anchor, version=old) if anchor else None), unused


def recipes_of(rows: Rows, base: Snapshot) -> dict[str, tuple[Opened, float | None]]:
    """Return each logged formula and its consistency by the model alone, mPa.s, by key."""
    found = {}
    for row in rows:
        if row["recipe"] and row["formula"] not in found:
            opened = _opened(str(row["recipe"]), base)
            if opened is not None:
                found[row["formula"]] = (opened, consistency_at_25(opened.batch, base))
    return found


def _opened(recipe: str, base: Snapshot) -> Opened | None:
    try:
        return open_formula(parse_formula(recipe, "log.toml"), base)
    except KbError:
        # A formula of the log that this base cannot read any more teaches nothing.
        return None


def _anchor(
    readings: Sequence[Reading], opened: Opened, base: Snapshot
) -> tuple[Anchor | None, list[str]]:
    converted, unused = [], []
    for reading in readings:
        label = f"{reading.value:,.0f} mPa.s ({reading.where}{_dated(reading)})"
        found = convert(reading, opened.batch, base)
        if isinstance(found, str):
            unused.append(f"{label} is not used: {found}")
        else:
            converted.append((found, label, reading))
    if not converted:
        return None, unused
    # A spindle's own scale counts only where nothing better is there, and one spindle at a time.
    known = [c for c in converted if not c[0].own_scale]
    chosen = known or [c for c in converted if c[2].method == _newest(converted)]
    for one in converted:
        if one not in chosen:
            unused.append(f"{one[1]} is not used: {one[0].said}.")
    values = [c[0].value for c in chosen]
    middle = math.exp(sum(map(math.log, values)) / len(values))
    single = batch_spread(values, spread_of(_REPEAT), _REPEAT_WEIGHT)
    carried = sum(c[0].spread for c in chosen) / len(chosen)
    spread = math.hypot(single / math.sqrt(len(values)), carried)
    used = tuple(f"{c[1]}{f': {c[0].said}' if c[0].said else ''}" for c in chosen)
    return Anchor(middle, spread, len(values), used, tuple(unused)), unused


def _newest(converted: Sequence[tuple[Any, str, Reading]]) -> str:
    return max(converted, key=lambda c: c[2].date)[2].method


def _dated(reading: Reading) -> str:
    return f", {reading.date}" if reading.date else ""


def process_of(rows: Rows, base: Snapshot, but: str = "") -> Process | None:
    """Learn the factor that the user's batches share, from formulas whose recipe the log keeps.

    Parameters
    ----------
    rows : sequence of mapping
        The user's log.
    base : Snapshot
    but : str
        Key of a formula that is left out, because it is predicted from its own measurement.
    """
    keys = dict.fromkeys(
        row["formula"]
        for row in sorted(rows, key=lambda row: str(row["date"]), reverse=True)
        if row["quantity"] == "consistency" and row["recipe"] and row["formula"] != but
    )
    logs, variances = [], []
    for key in list(keys)[:_MOST]:
        logged = _rows(rows, key)
        opened = _opened(next(str(r["recipe"]) for r in logged if r["recipe"]), base)
        if opened is None:
            continue
        readings = [r for r in map(reading_of_row, logged) if r is not None]
        # What a spindle reads at an unknown rate says nothing about the maker's process.
        rated = [r for r in readings if r.rate is not None or not r.method]
        anchor, _ = _anchor(rated, opened, base)
        predicted = consistency_at_25(opened.batch, base) if anchor else None
        if anchor and predicted:
            logs.append(math.log(anchor.value / predicted))
            variances.append(formula_spread(_RATIO) ** 2 + anchor.spread**2)
    if not logs:
        return None
    mean, spread = shared_factor(logs, variances, _process_spread())
    return Process(mean, spread, len(logs))


def _process_spread() -> float:
    """Return the log spread of makers: what the whole error leaves beside the formula's share."""
    return math.sqrt(spread_of(ABSOLUTE) ** 2 - formula_spread(_RATIO) ** 2)


def anchor_profile(profile: Profile, found: Experience, base: Snapshot) -> None:
    """Put the anchored consistency in place of the modelled one, with what it rests on."""
    old = profile.quantities[NAME]
    if old.draws is None or not found.says_something:
        return
    draws = _anchored(profile, old.draws, found, base)
    profile.quantities[NAME] = Quantity(
        NAME, draws, old.unit, old.method, old.limited_by, _told(found, old)
    )


def _anchored(profile: Profile, modelled: Array, found: Experience, base: Snapshot) -> Array:
    draw, anchor, process = profile.sampler, found.anchor, found.process
    if anchor is not None:
        measured = anchor.value * draw.log_spread("consistency/measured", anchor.spread)
        if anchor.version is None:
            return measured
        earlier = make_profile(anchor.version.batch, base, draw.count - 1)
        before = earlier.quantities[NAME].draws
        return modelled if before is None else measured * modelled / before
    if process is None:
        return modelled
    left = math.hypot(process.spread, formula_spread(_RATIO))
    narrowed = draw.log_spread("consistency/absolute", left)
    return np.asarray(
        modelled / draw.factor("consistency/absolute", ABSOLUTE) * narrowed * process.factor
    )


def _told(found: Experience, old: Quantity) -> dict[str, object]:
    told: dict[str, object] = {
        "modelled": {"value": old.value, "low": old.low, "high": old.high},
        "unused": list(found.unused),
    }
    if found.anchor is not None:
        told["measured"] = found.anchor.value
        told["used"] = list(found.anchor.used)
        told["of_version"] = found.anchor.version is not None
    elif found.process is not None:
        told["process_factor"] = found.process.factor
        told["formulas"] = found.process.formulas
    return told


def anchor_swaps(result: SwapResult, found: Experience, base: Snapshot, draws: int) -> None:
    """Anchor a formula and every stand-in found for it: the predicted ratio times the measured."""
    if not result.swaps or not found.says_something:
        return
    wide = make_profile(result.before.batch, base, draws)
    modelled = wide.quantities[NAME].draws
    if modelled is None:
        return
    anchor_profile(wide, found, base)
    before = wide.quantities[NAME]
    result.before.quantities[NAME] = before
    for one in result.swaps:
        after = one.after.quantities[NAME]
        if after.draws is None or before.draws is None:
            continue
        anchored = replace(after, draws=before.draws * after.draws / modelled, detail=before.detail)
        one.after.quantities[NAME] = anchored
        if NAME in one.effects:
            one.effects[NAME] = replace(
                one.effects[NAME], before=before.value, after=anchored.value
            )
