"""Who can play the roles of a line: every material scored on roles and traits, cheaply."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import TypeVar

from kb.engine.roles import Here
from kb.engine.traits import UNKNOWN_FIT, Comparison, compare, traits_of
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot
from kb.store.tables import DATA_SHEET

#: One number, or a column of them.
Number = TypeVar("Number", float, Array)

#: A play of a role less alike than this brings nothing.
LEAST_SIMILARITY = 0.22
#: Playing a near role instead of the role itself costs this share of the similarity.
_NEAR_COST = 0.8
#: A grade stands for its INCI name when it fits better than the plain one by this factor.
GRADE_BETTER = 1.15
#: How much of the score evidence and chemical kinship can take away.
_EVIDENCE_COUNTS, _KINSHIP_COUNTS = 0.4, 0.12
_RUNG_POINTS = {
    "published": 2.0,
    DATA_SHEET: 2.0,
    "derived": 0.6,
    "memory": 0.6,
    "common practice": 0.4,
}
_STANDING_SCALE = 8.0


@dataclass(slots=True)
class Candidate:
    """A material that might stand in, with how it scores before the formula is looked at."""

    material: str
    role_fit: float
    worst: float
    mean: float
    known: float
    standing: float
    kinship: float
    played: dict[str, str] = field(default_factory=dict)
    comparisons: list[Comparison] = field(default_factory=list)

    @property
    def score(self) -> float:
        """Role and traits together."""
        return float(
            score_of(self.role_fit, self.worst, self.mean, self.known, self.standing, self.kinship)
        )

    @property
    def evidence(self) -> float:
        """How much is known: of the deciding traits, and of the material at all."""
        return float(evidence_of(self.known, self.standing))


def evidence_of(known: Number, standing: Number) -> Number:
    """Return how much is known, 0 to 1; numbers or columns of them."""
    return 0.4 * known + 0.6 * standing


def score_of(
    role_fit: Number,
    worst: Number,
    mean: Number,
    known: Number,
    standing: Number,
    kinship: Number,
) -> Number:
    """Return the score; the worst decisive trait weighs most. Numbers or columns of them."""
    evidence = evidence_of(known, standing)
    scored: Number = (
        role_fit
        * (worst**0.4 * mean**0.6)
        * (1.0 - _EVIDENCE_COUNTS + _EVIDENCE_COUNTS * evidence)
        * (1.0 - _KINSHIP_COUNTS + _KINSHIP_COUNTS * kinship)
    )
    return scored


def score_candidate(
    material: str,
    original: str,
    here: tuple[Here, ...],
    base: Snapshot,
    ph: float | None = None,
    salt: float | None = None,
) -> Candidate:
    """Score one material against the roles a line plays here."""
    role_fit, played = 0.0, {}
    worst, mean, known, weight_sum = 1.0, 0.0, 0.0, 0.0
    comparisons: list[Comparison] = []
    for want in here:
        best, best_role = best_play(want.role, material, base)
        if best < LEAST_SIMILARITY:
            continue
        role_fit += want.share * best
        played[want.role] = best_role
        if not traits_of(want.role, base):
            continue
        found = compare(want.role, original, material, base, ph, salt)
        weights = sum(c.trait.weight for c in found)
        if weights <= 0:
            mean += want.share * UNKNOWN_FIT
            weight_sum += want.share
            continue
        average = sum(c.trait.weight * c.fit for c in found) / weights
        told = sum(c.trait.weight for c in found if c.candidate is not None) / weights
        decisive = [c.fit for c in found if c.trait.decisive]
        floor = min(decisive, default=average)
        # A minor role's worst trait must not outvote the leading role's.
        worst *= (max(floor, 0.02)) ** want.share
        mean += want.share * average
        known += want.share * told
        weight_sum += want.share
        comparisons += found
    if weight_sum > 0:
        mean, known = mean / weight_sum, known / weight_sum
        worst = worst ** (1.0 / weight_sum)
    else:
        worst, mean, known = UNKNOWN_FIT, UNKNOWN_FIT, 0.0
    return Candidate(
        material,
        role_fit,
        worst,
        mean,
        known,
        standing(material, base),
        _kinship(material, original, base),
        played,
        comparisons,
    )


def best_play(wanted: str, material: str, base: Snapshot) -> tuple[float, str]:
    """Return how well a material does the work of a role, 0 to 1, and by playing which role."""
    best, best_role = 0.0, ""
    for play in base.plays(material):
        likeness = alike(wanted, play.role, base) * min(1.0, 0.35 + 0.65 * play.strength)
        if likeness > best:
            best, best_role = likeness, play.role
    return best, best_role


def words_of(material: str, base: Snapshot) -> frozenset[str]:
    """Return the words of an INCI name that tell of chemistry: heads and chains."""
    return frozenset(re.findall(r"[a-z]{3,}", base.materials[material].inci.casefold()))


def _kinship(material: str, original: str, base: Snapshot) -> float:
    """Return how much of the chemistry two INCI names share, 0 to 1: same head, same chain."""
    first, second = words_of(material, base), words_of(original, base)
    return len(first & second) / len(first | second) if first and second else 0.0


def standing(material: str, base: Snapshot) -> float:
    """Return how well known a material is, 0 to 1, from its values and what they stand on.

    What is described in many places can be bought in many places, and surprises less.
    """
    generic = material.split("--")[0]
    values = {**base.records.known.get(generic, {}), **base.records.known.get(material, {})}
    points = sum(_RUNG_POINTS[k.evidence] for k in values.values())
    points += 0.5 * min(base.name_count(generic), 12)
    return 1.0 - math.exp(-points / _STANDING_SCALE)


def alike(wanted: str, played: str, base: Snapshot) -> float:
    """Return how far playing one role is playing another, 0 to 1."""
    if wanted == played:
        return 1.0
    if wanted in base.roles[played].ancestors:
        return 0.95
    return _NEAR_COST * base.similarity(wanted, played)
