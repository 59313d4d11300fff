"""One statement about a formula, and how it names lines and materials."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.batch import Batch, Item
from kb.store.snapshot import Snapshot

LEVELS = ("problem", "caution", "note")


@dataclass(frozen=True, slots=True)
class Finding:
    """One statement about a formula."""

    level: str
    rule: str
    message: str
    lines: tuple[int, ...] = ()
    source: str = ""


def lines_of(batch: Batch, materials: set[str]) -> tuple[int, ...]:
    """Return the numbers of the lines that hold any of some materials."""
    return tuple(sorted(i.line for i in batch.items if i.material in materials))


def added_up(batch: Batch) -> list[Item]:
    """Return one item a material at the sum of its lines: what levels and limits are held to."""
    first: dict[str, Item] = {}
    for item in batch.items:
        if item.material not in first or item.active:
            first[item.material] = item
    return [item.at(batch.holds(material)) for material, item in first.items()]


def label(material: str, base: Snapshot) -> str:
    """Return the name of a material for a sentence."""
    return base.materials[material].inci
