"""How alike two players of a role are, trait by trait."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from kb.science.numbers import Array
from kb.store.records import Known, Trait
from kb.store.snapshot import Snapshot

#: Fit of a trait whose value is unknown: unknown must not flatter.
UNKNOWN_FIT = 0.35
_OUT_OF_WINDOW = 0.1
#: Ranges wider than this many tolerances tell no more than ignorance.
_BLUR = 3.0
#: Within half a tolerance two values feel the same.
_ALIKE = 0.5
#: For a trait wanted "at least" or "at most", distance on the good side counts this much less.
_EASY = 3.0


@dataclass(frozen=True, slots=True)
class Comparison:
    """One trait compared: fit from 0 to 1, the two values, distance in tolerances."""

    trait: Trait
    fit: float
    original: float | None
    candidate: float | None
    distance: float | None


def traits_of(role: str, base: Snapshot) -> tuple[Trait, ...]:
    """Return the traits of a role, or of the nearest role above that has some."""
    frontier = [role]
    while frontier:
        for name in frontier:
            if base.roles[name].traits:
                return base.roles[name].traits
        frontier = sorted({p for name in frontier for p in base.roles[name].parents})
    return ()


def compare(
    role: str, original: str, candidate: str, base: Snapshot, ph: float | None = None
) -> list[Comparison]:
    """Compare two materials on the deciding traits of a role.

    HLB is compared between nonionics only; windows of pH are judged at the known pH. Traits
    unknown for the original are left out; unknown for the candidate they count as
    ``UNKNOWN_FIT``.
    """
    found = []
    for trait in traits_of(role, base):
        mine = base.known(original, trait.property)
        theirs = base.known(candidate, trait.property)
        if mine is None or (trait.property == "hlb" and _ionic(original, candidate, base)):
            continue
        if ph is not None and theirs is not None and trait.property in {"ph_low", "ph_high"}:
            inside = theirs.low <= ph if trait.property == "ph_low" else ph <= theirs.high
            fit = 1.0 if inside else _OUT_OF_WINDOW
            found.append(Comparison(trait, fit, mine.value, theirs.value, None))
            continue
        if theirs is None:
            found.append(Comparison(trait, UNKNOWN_FIT, mine.value, None, None))
            continue
        distance, blur = _distance(trait, mine, theirs)
        fit = 1.0 / (1.0 + max(0.0, distance - _ALIKE) ** 2)
        if blur > _BLUR:
            fit = min(fit, UNKNOWN_FIT + 0.3)
        found.append(Comparison(trait, fit, mine.value, theirs.value, distance))
    return found


def fits_of(
    trait: Trait, mine: Known, value: Array, low: Array, high: Array, ph: float | None = None
) -> Array:
    """Return the fit of a trait for columns of values and ranges; NaN is unknown.

    The same figures as ``compare`` gives one by one.
    """
    unknown = np.isnan(value)
    if ph is not None and trait.property in {"ph_low", "ph_high"}:
        inside = low <= ph if trait.property == "ph_low" else ph <= high
        return np.where(unknown, UNKNOWN_FIT, np.where(inside, 1.0, _OUT_OF_WINDOW))
    middle, own_low, own_high = mine.value, mine.low, mine.high
    if trait.kind == "ratio":
        scale = math.log(1.0 + trait.tolerance)
        middle, own_low, own_high = (math.log(max(x, 1e-9)) for x in (middle, own_low, own_high))
        value, low, high = (np.log(np.maximum(x, 1e-9)) for x in (value, low, high))
    else:
        scale = max(trait.tolerance, 1e-9)
    blur = 0.5 * (high - low) / scale
    nearest = np.minimum(
        np.maximum(value, middle - 0.5 * (middle - own_low)), middle + 0.5 * (own_high - middle)
    )
    apart = np.abs(value - nearest)
    if trait.kind in {"at least", "at most"}:
        better = value > nearest if trait.kind == "at least" else value < nearest
        distance = apart / np.where(better, scale * _EASY, scale)
    else:
        distance = apart / scale
    fit = 1.0 / (1.0 + np.maximum(0.0, distance - _ALIKE) ** 2)
    fit = np.where(blur > _BLUR, np.minimum(fit, UNKNOWN_FIT + 0.3), fit)
    return np.where(unknown, UNKNOWN_FIT, fit)


def _ionic(original: str, candidate: str, base: Snapshot) -> bool:
    charges = {base.materials[m].charge for m in (original, candidate)}
    return bool(charges & {"anionic", "cationic", "amphoteric"})


def _distance(trait: Trait, mine: Known, theirs: Known) -> tuple[float, float]:
    """Return the distance and the width of the candidate's range, both in tolerances.

    A generic original covers a range: the distance counts from the nearest point of its middle
    half, since no one of its grades was named.
    """
    if trait.kind == "ratio":
        scale = math.log(1.0 + trait.tolerance)
        middle, low, high, value, wide_low, wide_high = (
            math.log(max(x, 1e-9))
            for x in (mine.value, mine.low, mine.high, theirs.value, theirs.low, theirs.high)
        )
    else:
        scale = max(trait.tolerance, 1e-9)
        middle, low, high = mine.value, mine.low, mine.high
        value, wide_low, wide_high = theirs.value, theirs.low, theirs.high
    width = 0.5 * (wide_high - wide_low) / scale
    nearest = min(max(value, middle - 0.5 * (middle - low)), middle + 0.5 * (high - middle))
    better = {"at least": value > nearest, "at most": value < nearest}.get(trait.kind, False)
    if better:
        scale *= _EASY
    return abs(value - nearest) / scale, width
