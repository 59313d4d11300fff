"""Pick the best fact of each property, with the range that its evidence deserves."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kb.science import viscosity as liquid
from kb.store.tables import DATA_SHEET

#: Properties that are brought to this temperature before facts are compared, degC.
REFERENCE_C = 25.0
TEMPERED = frozenset(
    {"viscosity", "density", "surface_tension", "interfacial_tension_water", "refractive_index"}
)
#: Evidence from best to worst. For what commerce decides, practice beats a derived ideal. A data
#: sheet in the user's hand is of the very material.
LADDER = {"published": 0, DATA_SHEET: 0, "derived": 1, "memory": 2, "common practice": 3}
TRADE_LADDER = {"published": 0, DATA_SHEET: 0, "common practice": 1, "memory": 2, "derived": 3}
TRADE_DECIDES = frozenset({"hlb", "water_capacity", "electrolyte_tolerance", "ph_low", "ph_high"})
#: Half of the 90 % range in units of the property's tolerance, when a fact states no range.
HALF_WIDTH = {
    "published": 0.5,
    DATA_SHEET: 0.5,
    "derived": 1.0,
    "memory": 1.0,
    "common practice": 1.5,
}
#: What a structure fixes, and the sources that took it from one: no range but rounding.
_FIXED_BY_STRUCTURE = (
    "molar_mass",
    frozenset(
        {
            "atomic-masses",
            "computed-from-structure",
            "iupac-atomic-weights",
            "iupac-atomic-weights-2021",
        }
    ),
)
_EXACT = 0.01

#: The level at the head of the conditions of a measurement in water, and what counts as the same.
_LEVEL = re.compile(r"\s*(\d+(?:\.\d+)?)\s*%")
_SAME_LEVEL = math.log(2.5)


@dataclass(frozen=True, slots=True)
class Fact:
    """One stored value of one property of one material, as numbers."""

    id: int
    material: str
    name: str
    value: float | None
    low: float | None
    high: float | None
    temperature_c: float | None
    source: str
    evidence: str
    conditions: str = ""

    @property
    def middle(self) -> float:
        """The value, or the middle of the range."""
        if self.value is not None:
            return self.value
        ends = [end for end in (self.low, self.high) if end is not None]
        return sum(ends) / len(ends)


@dataclass(frozen=True, slots=True)
class Best:
    """The value the engine works with: 90 % range, evidence, and the fact behind it."""

    value: float
    low: float
    high: float
    evidence: str
    source: str
    fact: int


def tolerance_band(kind: str, tolerance: float, value: float, half: float) -> tuple[float, float]:
    """Return the range around a value that a share of the property's tolerance spans."""
    if kind == "ratio":
        factor = (1.0 + tolerance) ** half
        return value / factor, value * factor
    return value - half * tolerance, value + half * tolerance


def best_facts(
    facts: Iterable[Fact],
    properties: Mapping[str, tuple[str, float, float | None, float | None]],
    slopes: Mapping[str, float],
) -> dict[tuple[str, str], Best]:
    """Choose one value for each material and property.

    Facts on the best rung of evidence compete; the one with the middle value wins and the range
    covers the rung. Temperature-dependent facts are first taken near ``REFERENCE_C``; viscosity
    is brought there by the double-logarithm law with the material's slope.

    Parameters
    ----------
    facts : iterable of Fact
    properties : mapping
        Property to (kind of tolerance, tolerance, lowest, highest allowed).
    slopes : mapping
        Material to slope of the double-logarithm viscosity law.
    """
    groups: dict[tuple[str, str], list[Fact]] = defaultdict(list)
    for fact in facts:
        groups[fact.material, fact.name].append(fact)
    return {
        key: _choose(group, properties[key[1]], slopes.get(key[0], 3.6))
        for key, group in groups.items()
    }


def _choose(
    group: Sequence[Fact], about: tuple[str, float, float | None, float | None], slope: float
) -> Best:
    kind, tolerance, lowest, highest = about
    name = group[0].name
    ladder = TRADE_LADDER if name in TRADE_DECIDES else LADDER
    if name in TEMPERED or name == "solid_fat_content":
        group = _near_reference(group)
    if name == "gel_viscosity":
        group = _near_one_percent(group)
    rung = min(ladder[fact.evidence] for fact in group)
    rivals = [_at_reference(fact, slope) for fact in group if ladder[fact.evidence] == rung]
    rivals.sort(key=lambda fact: (fact.middle, fact.source, fact.id))
    winner = rivals[(len(rivals) - 1) // 2]
    lows, highs = [], []
    for fact in rivals:
        fixed = name == _FIXED_BY_STRUCTURE[0] and fact.source in _FIXED_BY_STRUCTURE[1]
        half = _EXACT if fixed else HALF_WIDTH[winner.evidence]
        band = tolerance_band(kind, tolerance, fact.middle, half)
        lows.append(fact.low if fact.low is not None else band[0])
        highs.append(fact.high if fact.high is not None else band[1])
    low, high = min(*lows, winner.middle), max(*highs, winner.middle)
    if lowest is not None:
        low = max(low, lowest)
    if highest is not None:
        high = min(high, highest)
    return Best(winner.middle, low, high, winner.evidence, winner.source, winner.id)


def _near_reference(group: Sequence[Fact]) -> Sequence[Fact]:
    def distance(fact: Fact) -> float:
        given = fact.temperature_c
        return abs((REFERENCE_C if given is None else given) - REFERENCE_C)

    nearest = min(distance(fact) for fact in group)
    return [fact for fact in group if distance(fact) <= max(nearest, 5.0)]


def _near_one_percent(group: Sequence[Fact]) -> Sequence[Fact]:
    """Keep what was measured nearest to 1 %: a gum grows with a high power of its level."""

    def distance(fact: Fact) -> float:
        level = _LEVEL.match(fact.conditions)
        return abs(math.log(float(level[1]))) if level and float(level[1]) > 0.0 else 0.0

    nearest = min(distance(fact) for fact in group)
    return [fact for fact in group if distance(fact) <= nearest + _SAME_LEVEL]


def _at_reference(fact: Fact, slope: float) -> Fact:
    given = fact.temperature_c
    if fact.name != "viscosity" or given is None or abs(given - REFERENCE_C) < 0.5:
        return fact

    def move(number: float | None) -> float | None:
        if number is None or number <= 0:
            return number
        return float(liquid.at_temperature(number, given, REFERENCE_C, slope))

    return Fact(
        fact.id,
        fact.material,
        fact.name,
        move(fact.value),
        move(fact.low),
        move(fact.high),
        REFERENCE_C,
        fact.source,
        fact.evidence,
        fact.conditions,
    )


def viscosity_slope(facts: Sequence[Fact], family: float) -> float:
    """Return the double-logarithm slope from a material's own facts, else the family's.

    Parameters
    ----------
    facts : sequence of Fact
        Viscosity facts of one material.
    family : float
        Slope of the material's family.
    """
    usable = [
        fact
        for fact in facts
        if fact.value is not None
        and fact.temperature_c is not None
        and 0 <= fact.temperature_c <= 80
        and fact.value > 0.3
    ]
    by_source: dict[str, list[Fact]] = defaultdict(list)
    for fact in usable:
        by_source[fact.source].append(fact)
    best: tuple[float, float] | None = None
    for group in by_source.values():
        group.sort(key=lambda fact: fact.temperature_c or 0.0)
        cold, warm = group[0], group[-1]
        span = (warm.temperature_c or 0.0) - (cold.temperature_c or 0.0)
        assert cold.value is not None and warm.value is not None
        if span >= 10 and cold.value > warm.value and (best is None or span > best[0]):
            slope = float(
                liquid.slope_from_two(
                    cold.value, cold.temperature_c or 0.0, warm.value, warm.temperature_c or 0.0
                )
            )
            best = (span, slope)
    return min(max(best[1], 1.0), 7.0) if best else family
