"""What an adaptation gives: changes with reasons, what follows, proof, or what closed the door."""

from __future__ import annotations

from dataclasses import dataclass, field

from kb.adapt.proof import Proof
from kb.adapt.wish import Wish
from kb.engine.answers import Change
from kb.engine.batch import Batch
from kb.engine.context import Caution
from kb.engine.profile import Profile


@dataclass(slots=True)
class Exchanged:
    """One line that went: what stood there, what stands there now, and why."""

    index: int
    line: int
    old: str
    percent: float
    to: list[tuple[str, float]]
    because: str
    why: list[str] = field(default_factory=list)
    cautions: list[Caution] = field(default_factory=list)
    method: list[str] = field(default_factory=list)
    asks: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Moved:
    """A line that stayed with another level."""

    index: int
    line: int
    material: str
    before: float
    after: float


@dataclass(slots=True)
class Solution:
    """One adapted formula, with everything that follows from it."""

    changes: list[Exchanged]
    moved: list[Moved]
    batch: Batch
    distance: float
    proof: Proof
    after: Profile
    effects: dict[str, Change] = field(default_factory=dict)
    trial: list[str] = field(default_factory=list)
    cost: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class ClosedBy:
    """One rule of a set that cannot hold together; ``opens`` if the door opens without it alone."""

    key: str
    rule: str
    line: int | None
    text: str
    opens: bool
    instead: str = ""
    distance: float | None = None


@dataclass(slots=True)
class Adaptation:
    """The answer: ``status`` is ``solved``, ``unchanged``, ``infeasible`` or ``time_limit``."""

    status: str
    wish: Wish
    before: Profile
    solutions: list[Solution] = field(default_factory=list)
    closed_by: list[ClosedBy] = field(default_factory=list)
    irreducible: bool = True
    asks: list[str] = field(default_factory=list)
    proof: Proof | None = None
