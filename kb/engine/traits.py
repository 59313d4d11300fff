"""How alike two players of a role are, trait by trait."""

from __future__ import annotations

import math
from dataclasses import dataclass

from kb.store.records import Known, Trait
from kb.store.snapshot import Snapshot

#: Fit of a trait whose value is unknown: unknown must not flatter.
UNKNOWN_FIT = 0.35
#: Ranges wider than this many tolerances tell no more than ignorance.
_BLUR = 3.0


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


def compare(role: str, original: str, candidate: str, base: Snapshot) -> list[Comparison]:
    """Compare two materials on the deciding traits of a role; traits unknown for the original
    are left out, traits unknown for the candidate count as ``UNKNOWN_FIT``.
    """
    found = []
    for trait in traits_of(role, base):
        mine = base.known(original, trait.property)
        theirs = base.known(candidate, trait.property)
        if mine is None:
            continue
        if theirs is None:
            found.append(Comparison(trait, UNKNOWN_FIT, mine.value, None, None))
            continue
        distance, blur = _distance(trait, mine, theirs)
        fit = 1.0 / (1.0 + distance**2)
        if blur > _BLUR:
            fit = min(fit, UNKNOWN_FIT + 0.3)
        found.append(Comparison(trait, fit, mine.value, theirs.value, distance))
    return found


def _distance(trait: Trait, mine: Known, theirs: Known) -> tuple[float, float]:
    """Return the distance of the values and the width of the candidate's range, in tolerances."""
    if trait.kind == "ratio":
        scale = math.log(1.0 + trait.tolerance)
        a, b = max(mine.value, 1e-9), max(theirs.value, 1e-9)
        width = math.log(max(theirs.high, 1e-9) / max(theirs.low, 1e-9))
        return abs(math.log(b / a)) / scale, 0.5 * width / scale
    scale = max(trait.tolerance, 1e-9)
    return abs(theirs.value - mine.value) / scale, 0.5 * (theirs.high - theirs.low) / scale
