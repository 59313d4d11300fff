"""The linear problem of an adaptation as data: choices for slots, kept lines, named rules."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Choices:
    """Every material that may fill a slot, one column each; levels in % of the formula.

    A choice that is taken stands between ``low`` and ``high``. It costs ``cost`` at its ``best``
    level and ``rate`` more for every percent away from it.
    """

    slot: Ints
    low: Floats
    best: Floats
    high: Floats
    cost: Floats
    rate: Floats

    def __len__(self) -> int:
        return len(self.slot)

    def take(self, places: Ints) -> Choices:
        """Return some of the choices."""
        return Choices(
            self.slot[places],
            self.low[places],
            self.best[places],
            self.high[places],
            self.cost[places],
            self.rate[places],
        )


@dataclass(frozen=True, slots=True)
class Kept:
    """Lines that keep their material and may give or take; ``rate`` is the cost of a percent.

    Without ``weighed`` they count in the total.
    """

    level: Floats
    low: Floats
    high: Floats
    rate: Floats
    weighed: bool = True

    def __len__(self) -> int:
        return len(self.level)


@dataclass(frozen=True, slots=True)
class Row:
    """One named rule: low <= fixed + what choices and kept lines bring <= high.

    A choice brings ``at_best`` at its best level, ``up`` for each percent above it and ``down``
    less for each percent below. A kept line brings ``kept`` for each percent.
    """

    rule: str
    at_best: Floats
    up: Floats
    down: Floats
    kept: Floats
    low: float = -np.inf
    high: float = np.inf

    def take(self, places: Ints) -> Row:
        """Return the row over some of the choices."""
        return replace(
            self, at_best=self.at_best[places], up=self.up[places], down=self.down[places]
        )

    def at(self, places: Ints, levels: Floats, best: Floats, kept: Floats) -> float:
        """Return what some choices at their levels, and the kept lines, bring."""
        off = levels - best[places]
        part = (
            self.at_best[places]
            + self.up[places] * np.maximum(off, 0.0)
            - self.down[places] * np.maximum(-off, 0.0)
        )
        return float(part.sum() + self.kept @ kept)


@dataclass(frozen=True, slots=True)
class Clash:
    """Choices that may not stand together: any of the first with any of the second."""

    rule: str
    first: Ints
    second: Ints


@dataclass(frozen=True, slots=True)
class Cut:
    """Choices of which at most ``most`` may be taken, less those of ``unless`` that are taken."""

    places: tuple[int, ...]
    most: int
    unless: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """Choose one material for each slot (or none, where it is optional) and all levels.

    The percents of choices and kept lines sum to ``total``. The objective is the sum of the costs
    of the choices, of their distance from their best level, and of what kept lines give or take.
    """

    choices: Choices
    optional: npt.NDArray[np.bool_]
    kept: Kept
    rows: tuple[Row, ...] = ()
    clashes: tuple[Clash, ...] = ()
    cuts: tuple[Cut, ...] = ()
    total: float = 100.0

    @property
    def slots(self) -> int:
        """Number of slots."""
        return len(self.optional)

    def whole(self) -> Row:
        """Return the rule that all percents add up to the total."""
        best = self.choices.best
        one = np.ones(len(best))
        lines = np.full(len(self.kept), float(self.kept.weighed))
        return Row("total", best.copy(), one, one, lines, self.total, self.total)

    def linked(self) -> tuple[Row, ...]:
        """Return all rows, the total first."""
        return (self.whole(), *self.rows)

    def take(self, places: Ints) -> Problem:
        """Return the problem with some of the choices only; clashes and cuts follow them."""
        at = np.full(len(self.choices), -1, dtype=np.intp)
        at[places] = np.arange(len(places))

        def kept_of(old: Ints) -> Ints:
            found = at[old]
            return found[found >= 0]

        clashes = (Clash(c.rule, kept_of(c.first), kept_of(c.second)) for c in self.clashes)
        cuts = []
        for cut in self.cuts:
            left = [int(at[p]) for p in cut.places]
            # A cut on choices that are not all here holds by itself where one was wanted too many.
            inside = tuple(p for p in left if p >= 0)
            if len(inside) > cut.most:
                unless = tuple(int(at[p]) for p in cut.unless if at[p] >= 0)
                cuts.append(Cut(inside, cut.most, unless))
        return replace(
            self,
            choices=self.choices.take(places),
            rows=tuple(row.take(places) for row in self.rows),
            clashes=tuple(c for c in clashes if len(c.first) and len(c.second)),
            cuts=tuple(cuts),
        )

    def cost_of(self, places: Ints, levels: Floats, kept: Floats) -> float:
        """Return the objective of some choices at their levels with kept lines at theirs."""
        choices = self.choices
        away = np.abs(levels - choices.best[places])
        moved = np.abs(kept - self.kept.level)
        return float(
            choices.cost[places].sum()
            + (choices.rate[places] * away).sum()
            + (self.kept.rate * moved).sum()
        )


@dataclass(frozen=True, slots=True)
class Answer:
    """What solving gave: places of the choices taken, their levels, the kept levels.

    ``status`` is ``optimal``, ``infeasible`` or ``stopped``; ``bound`` holds in any case.
    """

    status: str
    value: float
    bound: float
    places: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    levels: Floats = field(default_factory=lambda: np.zeros(0))
    kept: Floats = field(default_factory=lambda: np.zeros(0))
