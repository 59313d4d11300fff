"""One predicted figure with its spread."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from kb.science.numbers import Array


@dataclass(slots=True)
class Quantity:
    """One predicted figure; ``draws`` carries the spread for differences."""

    name: str
    draws: Array | None
    unit: str
    method: str
    limited_by: list[str] = field(default_factory=list)
    detail: dict[str, object] | None = None

    @property
    def value(self) -> float | None:
        """The central value."""
        return None if self.draws is None else float(self.draws[0])

    @property
    def low(self) -> float | None:
        """The low end of the 90 % range."""
        return self._end(5.0)

    @property
    def high(self) -> float | None:
        """The high end of the 90 % range."""
        return self._end(95.0)

    def _end(self, percentile: float) -> float | None:
        if self.draws is None:
            return None
        middle = float(self.draws[0])
        if len(self.draws) == 1:
            return middle
        found = _percentile(self.draws[1:], percentile)
        return min(found, middle) if percentile < 50 else max(found, middle)


def _percentile(values: Array, percentile: float) -> float:
    """Return what ``numpy.percentile`` returns, without its weighing of every other method."""
    ordered = np.sort(values)
    if np.isnan(ordered[-1]):
        return float("nan")
    place = (len(ordered) - 1) * (percentile / 100.0)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    low, high = float(ordered[below]), float(ordered[above])
    part = place - below
    step = high - low
    return high - step * (1.0 - part) if part >= 0.5 else low + step * part
