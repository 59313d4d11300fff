"""A formula as the science sees it: materials with amounts, sorted into phases."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from kb.formula.model import Formula
from kb.formula.names import Resolution
from kb.store.records import Material
from kb.store.snapshot import Snapshot

_STAGES = {
    "water": ("water", "wasser", "aqu", "eau", "agua", "hydro"),
    "powder": ("powder", "pigment", "pulver", "poudre", "polvo"),
    "cool-down": ("cool", "kalt", "abk", "refroid", "frio", "after", "below 40", "add"),
    "oil": ("oil", "fat", "fett", "ol ", "oel", "huile", "gras", "aceite", "lipid", "wax", "melt"),
}
_PURPOSES = frozenset({"main", "partner", "carrier", "water"})
#: Above this octanol-water partition (log10) a material that may go either way counts as oil.
_OIL_LOG_P = 2.5


def stage_kind(stage: str) -> str:
    """Return ``water``, ``oil``, ``powder``, ``cool-down`` or nothing for a stage as written.

    Examples
    --------
    >>> stage_kind("Wasserphase"), stage_kind("B"), stage_kind("cool down")
    ('water', '', 'cool-down')
    """
    word = stage.casefold().replace("ö", "o").replace("ü", "u").strip() + " "
    for kind, marks in _STAGES.items():
        if any(word.startswith(mark) for mark in marks):
            return kind
    return ""


@dataclass(frozen=True, slots=True)
class Item:
    """One material in the pot: percent by mass, stage, and the line it stands on (from 1)."""

    material: str
    percent: float
    stage: str = ""
    line: int = 0
    role: str = ""
    active: bool | None = None
    locked: bool = False

    def at(self, percent: float) -> Item:
        """Return the same line at another level."""
        return replace(self, percent=percent)

    def of(self, material: str, percent: float) -> Item:
        """Return the line with another material on it; a stated role stays."""
        return replace(self, material=material, percent=percent)


@dataclass(frozen=True, slots=True)
class Share:
    """A material's part of a phase, all its lines together, blends and solutions taken apart."""

    material: str
    percent: float


@dataclass(frozen=True, slots=True)
class Batch:
    """A whole formula in materials.

    ``unknown`` is the percent of lines that no material is known for; they count in the total
    and in no prediction.
    """

    items: tuple[Item, ...]
    system: str = ""
    ph: float | None = None
    product: dict[str, object] = field(default_factory=dict)
    name: str = ""
    unknown: float = 0.0

    def total(self) -> float:
        """Return the sum of all percents."""
        return sum(item.percent for item in self.items) + self.unknown

    def holds(self, material: str) -> float:
        """Return the percent of a material, all its lines together."""
        return sum(item.percent for item in self.items if item.material == material)

    def by_material(self) -> dict[str, float]:
        """Return the percent of each material, all its lines together."""
        return {item.material: self.holds(item.material) for item in self.items}

    def with_items(self, items: Iterable[Item]) -> Batch:
        """Return the same product with other items."""
        return replace(self, items=tuple(items))


def make_batch(formula: Formula, answers: list[Resolution]) -> Batch:
    """Turn a formula and the answers to its names into a batch, one item a line.

    Percents are scaled to a total of 100.
    """
    scale = 100.0 / formula.total if formula.total > 0 else 0.0
    items: list[Item] = []
    unknown = 0.0
    for number, (line, answer) in enumerate(zip(formula.lines, answers, strict=True), 1):
        percent = line.percent * scale
        if answer.match is None:
            unknown += percent
            continue
        items.append(
            Item(
                answer.match.material,
                percent,
                line.stage,
                number,
                line.role,
                line.active,
                line.locked,
            )
        )
    return Batch(tuple(items), formula.system, formula.ph, formula.product, formula.name, unknown)


@dataclass(frozen=True, slots=True)
class Phases:
    """Shares of a batch by phase, in percent of the formula."""

    oil: tuple[Share, ...]
    water: tuple[Share, ...]
    powder: tuple[Share, ...]

    @property
    def oil_mass(self) -> float:
        """Percent of the formula that is oil phase, powders apart."""
        return sum(share.percent for share in self.oil)

    @property
    def water_mass(self) -> float:
        """Percent of the formula that is water phase."""
        return sum(share.percent for share in self.water)

    @property
    def powder_mass(self) -> float:
        """Percent of the formula that is powder."""
        return sum(share.percent for share in self.powder)


def sort_phases(batch: Batch, base: Snapshot) -> Phases:
    """Sort a batch into oil, water and powder; blends and solutions are taken apart."""
    found: dict[str, dict[str, float]] = {"oil": {}, "water": {}, "powder": {}}
    for item in batch.items:
        for material, percent in take_apart(item.material, item.percent, base):
            held = found[phase_of(base.materials[material], item.stage, base)]
            held[material] = held.get(material, 0.0) + percent
    return Phases(
        *(
            tuple(Share(material, percent) for material, percent in sorted(held.items()))
            for held in found.values()
        )
    )


def is_water(material: str, base: Snapshot) -> bool:
    """Tell whether a material is water or nearly so; a humectant that may fill its place is not."""
    return base.does(material, "water-phase-base") >= 0.5


def take_apart(material: str, percent: float, base: Snapshot) -> list[tuple[str, float]]:
    """Return what a blend, hydrate or solution is made of, in percent of the formula."""
    about = base.materials[material]
    parts = [p for p in base.parts(material) if p.purpose in _PURPOSES]
    wanted = about.tags & {"blend", "brings-water"} or about.form == "solution"
    if not parts or not wanted or any(p.part == material for p in parts):
        return [(material, percent)]
    shares = [(p.part, (p.low + p.high) / 2.0) for p in parts]
    total = sum(share for _, share in shares)
    if total < 60.0 or any(part not in base.materials for part, _ in shares):
        return [(material, percent)]
    return [(part, percent * share / total) for part, share in shares]


def phase_of(about: Material, stage: str, base: Snapshot) -> str:
    """Return the phase a material ends in."""
    if about.phase != "either":
        return about.phase
    kind = stage_kind(stage)
    if kind in {"oil", "water"}:
        if base.does(about.id, "antimicrobial"):
            return "water"
        return kind
    if base.does(about.id, "wo-emulsifier") or base.does(about.id, "scent"):
        return "oil"
    if base.does(about.id, "emulsifier") or base.does(about.id, "antimicrobial"):
        return "water"
    return "oil" if base.value(about.id, "log_p", 0.0) > _OIL_LOG_P else "water"
