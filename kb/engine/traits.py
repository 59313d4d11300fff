"""How alike two players of a role are, trait by trait."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from kb.engine.system import NO_HLB_ROLES, STRONG
from kb.engine.waterphase import SALT_BREAKS, salt_borne
from kb.science.numbers import Array
from kb.science.preservation import undissociated_fraction
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
#: Kind of trait: share of an acid that is undissociated at the pH of the water, in decades.
UNDISSOCIATED = "undissociated"
_USUAL_PH = 5.0
_WINDOWS = frozenset({"ph_low", "ph_high"})
_SALT = "electrolyte_tolerance"


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
    role: str,
    original: str,
    candidate: str,
    base: Snapshot,
    ph: float | None = None,
    salt: float | None = None,
) -> list[Comparison]:
    """Compare two materials on the deciding traits of a role.

    HLB is compared only where it means something for both. What this water phase asks for is judged
    against it and not against the original: windows of pH at the known pH, how much of an acid is
    undissociated there, and the salt that must be borne. Traits unknown for the original, and those
    that cannot matter for the candidate, are left out; unknown ones count as ``UNKNOWN_FIT``.

    Parameters
    ----------
    role, original, candidate : str
        Role and material ids.
    base : Snapshot
    ph : float, optional
        pH of the water phase.
    salt : float, optional
        Electrolyte in the water phase, %.
    """
    found = []
    for trait in traits_of(role, base):
        mine = base.known(original, trait.property)
        theirs = base.known(candidate, trait.property)
        if mine is None or no_salt_to_bear(trait, salt):
            continue
        if trait.property == "hlb" and not (has_hlb(original, base) and has_hlb(candidate, base)):
            continue
        if theirs is None:
            if not cannot_matter(trait, candidate, base):
                found.append(Comparison(trait, UNKNOWN_FIT, mine.value, None, None))
            continue
        if trait.property in _WINDOWS and ph is not None:
            inside = theirs.low <= ph if trait.property == "ph_low" else ph <= theirs.high
            fit = 1.0 if inside else _OUT_OF_WINDOW
            found.append(Comparison(trait, fit, mine.value, theirs.value, None))
            continue
        if trait.property == _SALT and salt is not None:
            fit = 1.0 if salt <= salt_borne(theirs.value) else _OUT_OF_WINDOW
            found.append(Comparison(trait, fit, mine.value, theirs.value, None))
            continue
        if trait.kind == UNDISSOCIATED:
            apart = float(_decades_short(trait, mine.value, np.asarray(theirs.value), ph))
            fit = 1.0 / (1.0 + max(0.0, apart - _ALIKE) ** 2)
            found.append(Comparison(trait, fit, mine.value, theirs.value, apart))
            continue
        distance, blur = _distance(trait, mine, theirs)
        fit = 1.0 / (1.0 + max(0.0, distance - _ALIKE) ** 2)
        if blur > _BLUR:
            fit = min(fit, UNKNOWN_FIT + 0.3)
        found.append(Comparison(trait, fit, mine.value, theirs.value, distance))
    return found


def fits_of(
    trait: Trait,
    mine: Known,
    value: Array,
    low: Array,
    high: Array,
    ph: float | None = None,
    salt: float | None = None,
) -> Array:
    """Return the fit of a trait for columns of values and ranges; NaN is unknown.

    The same figures as ``compare`` gives one by one.
    """
    unknown = np.isnan(value)
    if ph is not None and trait.property in _WINDOWS:
        inside = low <= ph if trait.property == "ph_low" else ph <= high
        return np.where(unknown, UNKNOWN_FIT, np.where(inside, 1.0, _OUT_OF_WINDOW))
    if trait.property == _SALT and salt is not None:
        borne = [salt <= salt_borne(x) for x in np.nan_to_num(value).tolist()]
        return np.where(unknown, UNKNOWN_FIT, np.where(borne, 1.0, _OUT_OF_WINDOW))
    if trait.kind == UNDISSOCIATED:
        short = _decades_short(trait, mine.value, np.nan_to_num(value), ph)
        return np.where(unknown, UNKNOWN_FIT, 1.0 / (1.0 + np.maximum(0.0, short - _ALIKE) ** 2))
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


def has_hlb(material: str, base: Snapshot) -> bool:
    """Tell whether an HLB says something of a material: a nonionic that is no polymer or sterol."""
    ionic = base.materials[material].charge in {"anionic", "cationic", "amphoteric"}
    return not ionic and not any(base.does(material, role) >= STRONG for role in NO_HLB_ROLES)


def cannot_matter(trait: Trait, material: str, base: Snapshot) -> bool:
    """Tell whether an unknown value is no gap, since the property does not apply to a material.

    What has no proton to give is undissociated at any pH, and a mineral melts in no climate.
    """
    about = base.materials[material]
    if trait.kind == UNDISSOCIATED:
        return about.charge == "none" and "acid" not in about.tags
    if trait.property == "melting_point" and trait.kind == "at least":
        return about.form == "powder" and "insoluble" in about.tags
    return False


def no_salt_to_bear(trait: Trait, salt: float | None) -> bool:
    """Tell whether salt tolerance is asked of a water phase without salt."""
    return trait.property == _SALT and salt is not None and salt <= SALT_BREAKS[0]


def _decades_short(trait: Trait, mine: float, theirs: Array, ph: float | None) -> Array:
    """Return by how many tolerances, in decades, less of an acid is undissociated here."""
    at = _USUAL_PH if ph is None else ph
    own, other = (np.log10(undissociated_fraction(at, pka)) for pka in (mine, theirs))
    short = (own - other) / max(trait.tolerance, 1e-9)
    return np.where(short < 0.0, -short / _EASY, short)


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
