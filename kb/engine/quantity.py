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
        found = float(np.percentile(self.draws[1:], percentile))
        return min(found, middle) if percentile < 50 else max(found, middle)
