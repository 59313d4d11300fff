"""Who can play the roles of a line: every material scored on roles and traits, cheaply."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from kb.engine.roles import Here
from kb.engine.traits import UNKNOWN_FIT, Comparison, compare, traits_of
from kb.store.snapshot import Snapshot

#: A play of a role less alike than this brings nothing.
LEAST_SIMILARITY = 0.22
#: Playing a near role instead of the role itself costs this share of the similarity.
_NEAR_COST = 0.8
#: How much of the score evidence and chemical kinship can take away.
_EVIDENCE_COUNTS, _KINSHIP_COUNTS = 0.4, 0.12
_RUNG_POINTS = {"published": 2.0, "derived": 0.6, "memory": 0.6, "common practice": 0.4}
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
    def fit(self) -> float:
        """Traits in one figure; the worst decisive trait weighs most."""
        return float(self.worst**0.4 * self.mean**0.6)

    @property
    def score(self) -> float:
        """Role and traits together."""
        return (
            self.role_fit
            * self.fit
            * (1.0 - _EVIDENCE_COUNTS + _EVIDENCE_COUNTS * self.evidence)
            * (1.0 - _KINSHIP_COUNTS + _KINSHIP_COUNTS * self.kinship)
        )

    @property
    def evidence(self) -> float:
        """How much is known: of the deciding traits, and of the material at all."""
        return 0.4 * self.known + 0.6 * self.standing


def score_candidate(
    material: str,
    original: str,
    here: tuple[Here, ...],
    base: Snapshot,
    ph: float | None = None,
) -> Candidate:
    """Score one material against the roles a line plays here."""
    plays = base.plays(material)
    role_fit, played = 0.0, {}
    worst, mean, known, weight_sum = 1.0, 0.0, 0.0, 0.0
    comparisons: list[Comparison] = []
    for want in here:
        best, best_role = 0.0, ""
        for play in plays:
            alike = _alike(want.role, play.role, base) * min(1.0, 0.35 + 0.65 * play.strength)
            if alike > best:
                best, best_role = alike, play.role
        if best < LEAST_SIMILARITY:
            continue
        role_fit += want.share * best
        played[want.role] = best_role
        if not traits_of(want.role, base):
            continue
        found = compare(want.role, original, material, base, ph)
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
        _standing(material, base),
        _kinship(material, original, base),
        played,
        comparisons,
    )


def _kinship(material: str, original: str, base: Snapshot) -> float:
    """Return how much of the chemistry two INCI names share, 0 to 1: same head, same chain."""
    first, second = (
        set(re.findall(r"[a-z]{3,}", base.materials[m].inci.casefold()))
        for m in (material, original)
    )
    return len(first & second) / len(first | second) if first and second else 0.0


def _standing(material: str, base: Snapshot) -> float:
    """Return how well known a material is, 0 to 1, from its values and what they stand on.

    What is described in many places can be bought in many places, and surprises less.
    """
    generic = material.split("--")[0]
    values = {**base.records.known.get(generic, {}), **base.records.known.get(material, {})}
    points = sum(_RUNG_POINTS[k.evidence] for k in values.values())
    points += 0.5 * min(base.name_count(generic), 12)
    return 1.0 - math.exp(-points / _STANDING_SCALE)


def _alike(wanted: str, played: str, base: Snapshot) -> float:
    if wanted == played:
        return 1.0
    if wanted in base.roles[played].ancestors:
        return 0.95
    return _NEAR_COST * base.similarity(wanted, played)


def rank_pool(
    original: str, here: tuple[Here, ...], base: Snapshot, ph: float | None = None
) -> list[Candidate]:
    """Score every other INCI of the base; of several grades the best stands for all."""
    generic = original.split("--")[0]
    best: dict[str, Candidate] = {}
    for material in base.materials:
        name = material.split("--")[0]
        if name == generic:
            continue
        found = score_candidate(material, original, here, base, ph)
        old = best.get(name)
        # The generic grade stands for its INCI unless a grade fits clearly better.
        if old is None or found.score > 1.15 * old.score:
            best[name] = found
    return sorted(best.values(), key=lambda c: (-c.score, c.material))
