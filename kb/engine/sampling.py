"""Draws of facts: the same fact draws the same before and after, so shared errors cancel."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from kb.science.draws import normal_score, points
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

#: Half of the central 90 % of a standard normal.
_Z90 = 1.6448536269514722


class Sampler:
    """Columns of draws for facts and for the models' own errors.

    Parameters
    ----------
    base : Snapshot
    draws : int
        Number of draws behind the central value, which stands first in every column.
    """

    def __init__(self, base: Snapshot, draws: int = 0) -> None:
        self.base = base
        self.count = draws + 1
        self._cache: dict[tuple[str, str], Array] = {}

    def fact(
        self, material: str, name: str, default: tuple[float, float, float] | None = None
    ) -> Array | None:
        """Return the draws of a property, or of a default range when it is unknown."""
        key = (material, name)
        if key in self._cache:
            return self._cache[key]
        known = self.base.known(material, name)
        if known is None:
            if default is None:
                return None
            low, value, high = default
        else:
            low, value, high = known.low, known.value, known.high
        column = self._between(f"{material}/{name}", low, value, high)
        self._cache[key] = column
        return column

    def need(self, material: str, name: str, default: tuple[float, float, float]) -> Array:
        """Return the draws of a property with a default range (low, value, high)."""
        found = self.fact(material, name, default)
        assert found is not None
        return found

    def shared(
        self,
        material: str,
        name: str,
        default: tuple[float, float, float],
        cause: str,
        share: float,
    ) -> Array:
        """Return draws of a fact of which a share of the variance has a cause in common."""
        key = (material, name)
        if key not in self._cache:
            known = self.base.known(material, name)
            low, value, high = default if known is None else (known.low, known.value, known.high)
            common = self._normal(f"{name}/{cause}")
            own = self._normal(f"{material}/{name}")
            z = math.sqrt(share) * common + math.sqrt(1.0 - share) * own
            self._cache[key] = self._spread(z, low, value, high)
        return self._cache[key]

    def factor(self, key: str, spread: float) -> Array:
        """Return draws of a model's error: a factor whose 90 % range is 1/spread to spread."""
        if self.count == 1 or spread <= 1.0:
            return np.ones(self.count)
        return np.asarray(np.exp(self._normal(key) * math.log(spread) / _Z90))

    def log_spread(self, key: str, spread: float) -> Array:
        """Return draws of a factor whose logarithm has this standard deviation."""
        if self.count == 1 or spread <= 0.0:
            return np.ones(self.count)
        return np.asarray(np.exp(self._normal(key) * spread))

    def shift(self, key: str, half: float) -> Array:
        """Return draws of an added error whose 90 % range is -half to half."""
        if self.count == 1 or half <= 0.0:
            return np.zeros(self.count)
        return np.asarray(self._normal(key) * half / _Z90)

    def columns(self) -> list[tuple[str, Array]]:
        """Return every drawn column with a label: a fact, or a model's own error."""
        found = []
        for (first, second), column in self._cache.items():
            if first != "z":
                found.append((f"{second.replace('_', ' ')} of {first}", column))
            elif "/" in second and second.split("/")[0] not in self.base.materials:
                found.append((f"model: {second.replace('/', ' ')}", column))
        return found

    def _between(self, key: str, low: float, value: float, high: float) -> Array:
        """Split-normal draws: each side of the value reaches its end at 90 %."""
        if self.count == 1 or low >= high:
            return np.full(self.count, value)
        return self._spread(self._normal(key), low, value, high)

    def _spread(self, z: Array, low: float, value: float, high: float) -> Array:
        if self.count == 1 or low >= high:
            return np.full(self.count, value)
        if low > 0 and high / low > 1.5:
            down, up = math.log(value / low), math.log(high / value)
            return np.asarray(value * np.exp(np.where(z < 0, z * down, z * up) / _Z90))
        spread = np.where(z < 0, z * (value - low), z * (high - value)) / _Z90
        drawn = value + spread
        return np.asarray(np.maximum(drawn, low / 2.0 if low >= 0 else drawn))

    def _normal(self, key: str) -> Array:
        cached = self._cache.get(("z", key))
        if cached is None:
            cached = standard_normal(key, self.count)
            self._cache["z", key] = cached
        return cached


@lru_cache(maxsize=20_000)
def standard_normal(key: str, count: int) -> Array:
    """Return zero, then a stratified standard normal column, its order fixed by the key alone."""
    if count == 1:
        column = np.zeros(1)
    else:
        column = np.concatenate(([0.0], normal_score(points(key, count - 1))))
    column.setflags(write=False)
    return column
