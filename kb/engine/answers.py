"""What an answer to "what can stand in for this line" holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from kb.engine.candidates import Candidate
from kb.engine.context import Caution
from kb.engine.exchange import Exchange
from kb.engine.profile import Profile
from kb.engine.roles import Here


@dataclass(frozen=True, slots=True)
class Change:
    """How a quantity changes: before, after, and the change with its 90 % range."""

    before: float | None
    after: float | None
    unit: str
    kind: str
    value: float | None
    low: float | None
    high: float | None


@dataclass(slots=True)
class Swap:
    """One accepted replacement with everything that follows from it.

    ``others`` are the further materials of a blend, each with its percent.
    """

    candidate: Candidate
    trial: Exchange
    total: float
    parts: dict[str, float]
    cautions: list[Caution]
    after: Profile
    effects: dict[str, Change] = field(default_factory=dict)
    why: list[str] = field(default_factory=list)
    method: list[str] = field(default_factory=list)
    card: list[str] = field(default_factory=list)
    label: list[str] = field(default_factory=list)
    others: tuple[tuple[str, float], ...] = ()

    @property
    def replacing(self) -> list[tuple[str, float]]:
        """What stands on the line now: one material with its percent, or a blend of some."""
        return [(self.candidate.material, self.trial.percent), *self.others]


@dataclass(frozen=True, slots=True)
class Rejected:
    """One candidate that is out, and why; ``score`` orders them by nearness."""

    material: str
    rule: str
    reason: str
    score: float


class SwapResult:
    """The answer to one question: what can stand in for this line here.

    Why the others are not among the swaps is worked out when it is first asked for.
    """

    def __init__(
        self,
        index: int,
        here: tuple[Here, ...],
        before: Profile,
        swaps: list[Swap],
        others: Callable[[], list[Rejected]],
        nearest_miss: Rejected | None,
        asks: list[str],
    ) -> None:
        self.index, self.here, self.before = index, here, before
        self.swaps, self.nearest_miss, self.asks = swaps, nearest_miss, asks
        self._others = others

    @cached_property
    def rejected(self) -> list[Rejected]:
        """Everything that is out or ranks lower, nearest first, each with its reason."""
        return self._others()
