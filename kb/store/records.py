"""The records a snapshot is made of: plain data, the same for our materials and the user's."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Material:
    """What a maker buys."""

    id: str
    inci: str
    grade: str
    cas: str
    origin: str
    form: str
    charge: str
    phase: str
    tags: frozenset[str]
    note: str = ""

    @property
    def generic(self) -> str:
        """Id of the generic grade of the same INCI name."""
        return self.id.split("--")[0]


@dataclass(frozen=True, slots=True)
class Play:
    """A role that a material plays: usual level in % of the formula, strength 0 to 1."""

    role: str
    low: float | None
    high: float | None
    strength: float
    source: str
    evidence: str


@dataclass(frozen=True, slots=True)
class Trait:
    """A property that decides how alike two players of a role are."""

    property: str
    kind: str
    tolerance: float
    weight: float
    decisive: bool
    why: str


@dataclass(frozen=True, slots=True)
class Role:
    """What an ingredient does.

    ``kin`` tells whether players of the roles below can stand in for each other at all;
    ``information`` is minus the log of the share of materials that play it.
    """

    id: str
    label: str
    definition: str
    loss_rule: str
    kin: bool
    parents: tuple[str, ...]
    children: tuple[str, ...]
    ancestors: frozenset[str]
    information: float
    traits: tuple[Trait, ...]


@dataclass(frozen=True, slots=True)
class Crystal:
    """One component of a material that can crystallise in the oil phase."""

    component: str
    share: float
    molar_mass: float
    melting_point: float
    fusion_enthalpy: float
    association: str
    activity: float


@dataclass(frozen=True, slots=True)
class Edge:
    """A stated compatibility between two things."""

    subject: str
    object: str
    verdict: str
    rule: str
    system: str
    subject_min: float
    object_min: float
    ph_low: float
    ph_high: float
    mechanism: str
    source: str
    evidence: str


@dataclass(frozen=True, slots=True)
class Limit:
    """A legal limit or caution on a material."""

    jurisdiction: str
    kind: str
    low: float | None
    high: float | None
    unit: str
    applies: str
    basis: str
    section: str
    date_read: str
    source: str
    evidence: str
    note: str

    @property
    def unit_is_percent(self) -> bool:
        """True when the figures are percents of the formula."""
        return self.unit == "%"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a blend, carrier or coating, share in %."""

    part: str
    low: float
    high: float
    purpose: str


@dataclass(frozen=True, slots=True)
class Known:
    """The working value of one property of one material, with its 90 % range."""

    value: float
    low: float
    high: float
    evidence: str
    source: str


@dataclass(slots=True)
class Records:
    """Everything a snapshot holds, by material id where it belongs to one.

    ``touching`` gives the places of the edges that name a handle, where it was worked out before.
    """

    materials: list[Material] = field(default_factory=list)
    names: list[tuple[str, str, str]] = field(default_factory=list)
    known: dict[str, dict[str, Known]] = field(default_factory=dict)
    plays: dict[str, tuple[Play, ...]] = field(default_factory=dict)
    crystals: dict[str, tuple[Crystal, ...]] = field(default_factory=dict)
    parts: dict[str, tuple[Part, ...]] = field(default_factory=dict)
    limits: dict[str, tuple[Limit, ...]] = field(default_factory=dict)
    edges: list[Edge] = field(default_factory=list)
    roles: dict[str, Role] = field(default_factory=dict)
    policies: dict[str, str] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    touching: dict[str, list[int]] | None = field(default=None, compare=False)
