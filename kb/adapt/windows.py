"""How near to the original the whole must stay: windows on what the full model says."""

from __future__ import annotations

import math
from dataclasses import dataclass

from kb.engine.profile import Holding, Profile

#: Users notice 20 to 30 % of a consistency (craft): a factor either way.
CONSISTENCY = 1.25
#: Swing of the body from 10 to 40 degC: as much again by half, or what any cream may swing.
DRIFT, ANY_DRIFT = 1.5, 6.0
#: Share of the yield at 40 degC that must be left, and of the oil binding.
HOT_BODY, BINDING = 0.4, 0.5
#: Yields at 40 degC below this hold nothing, Pa; what holds powder up, Pa.
NO_YIELD, HOLDS_POWDER = 5.0, 1.0
#: Share of the preservative cover that must be left, and the cover that is enough.
COVER, ENOUGH_COVER = 0.7, 1.0
#: What covered too little before must cover as much, but for rounding.
_AS_MUCH = 0.97


@dataclass(frozen=True, slots=True)
class Window:
    """One quantity, as a logarithm, between two ends."""

    rule: str
    measure: str
    low: float
    high: float

    def excess(self, value: float) -> float:
        """Return how far a value lies outside; 0 inside."""
        if value != value:
            return math.inf
        return max(self.low - value, value - self.high, 0.0)


def measures(profile: Profile) -> dict[str, float]:
    """Return the logarithms of what the windows look at; NaN where the model is silent."""
    return measures_of(
        Holding(
            profile.value("consistency_25c"),
            profile.value("climate_drift_10_over_40"),
            profile.structure_yield_40,
            profile.value("oil_binding"),
            profile.cover,
        )
    )


def measures_of(held: Holding) -> dict[str, float]:
    """Return the logarithms of what the windows look at, without a whole profile."""
    figures = {
        "consistency": held.consistency,
        "drift": held.drift,
        "hot": held.hot_yield,
        "binding": held.binding,
        "cover": held.cover,
    }
    return {
        name: math.log(value) if value is not None and value > 0.0 else math.nan
        for name, value in figures.items()
    }


def make_windows(before: Profile) -> list[Window]:
    """Return the windows that an adaptation of a formula must keep."""
    had = measures(before)
    found: list[Window] = []
    if had["consistency"] == had["consistency"]:
        width = math.log(CONSISTENCY)
        middle = had["consistency"]
        found.append(Window("consistency", "consistency", middle - width, middle + width))
    if had["drift"] == had["drift"]:
        most = max(had["drift"] + math.log(DRIFT), math.log(ANY_DRIFT))
        found.append(Window("melts-in-climate", "drift", -math.inf, most))
    held = (before.quantities["settling"].detail or {}).get("state") == "held"
    floors = []
    if before.structure_yield_40 > NO_YIELD:
        floors.append(HOT_BODY * before.structure_yield_40)
    if held and before.phases.powder and before.structure_yield_40 > HOLDS_POWDER:
        floors.append(1.01 * HOLDS_POWDER)
    if floors:
        found.append(Window("melts-in-climate", "hot", math.log(max(floors)), math.inf))
    if had["binding"] == had["binding"] and before.system in {"w/o", "anhydrous"}:
        found.append(Window("oil-binding", "binding", had["binding"] + math.log(BINDING), math.inf))
    cover = before.cover
    if cover is not None and cover > 0.0:
        least = min(_AS_MUCH * cover, max(ENOUGH_COVER, COVER * cover))
        found.append(Window("preservative-cover", "cover", math.log(least), math.inf))
    return found
