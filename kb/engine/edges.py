"""Which stated compatibilities apply to a batch, and between which of its materials."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kb.engine.batch import Batch
from kb.store.records import Edge
from kb.store.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Meeting:
    """An edge at work: the material that stands for each side (one side may be the system)."""

    edge: Edge
    subject: str
    object: str


def meetings(batch: Batch, system: str | None, ph: float | None, base: Snapshot) -> list[Meeting]:
    """Return every edge that applies among the materials of a batch."""
    present = batch.by_material()
    by_handle: dict[str, list[str]] = {}
    for material in present:
        for handle in base.handles(material):
            by_handle.setdefault(handle, []).append(material)
    found: list[Meeting] = []
    for edge in base.edges_among(by_handle):
        if edge.subject.startswith("system:") or edge.object.startswith("system:"):
            continue
        subjects, objects = by_handle.get(edge.subject), by_handle.get(edge.object)
        if subjects and objects:
            found.extend(_met(edge, subjects, objects, present, system, ph))
    return _not_coupled(found, present, base)


def meetings_of(
    material: str, batch: Batch, system: str | None, ph: float | None, base: Snapshot
) -> list[Meeting]:
    """Return the edges that apply between one material and the rest of a batch."""
    mine = base.handles(material)
    present = batch.by_material()
    company: dict[str, list[str]] = {}
    for other in present:
        if other != material:
            for handle in base.handles(other):
                company.setdefault(handle, []).append(other)
    found: list[Meeting] = []
    seen: set[int] = set()
    for handle in sorted(mine):
        for edge in base.edges_touching(handle):
            if id(edge) in seen:
                continue
            seen.add(id(edge))
            if edge.subject in mine and edge.object in company:
                found.extend(_met(edge, [material], company[edge.object], present, system, ph))
            if edge.object in mine and edge.subject in company:
                found.extend(_met(edge, company[edge.subject], [material], present, system, ph))
    return _not_coupled(found, present, base)


def couplings(material: str, base: Snapshot) -> list[Edge]:
    """Return the edges by which others keep this material in one phase with hydrocarbons.

    Their ``subject_min`` is the least share of the blend of both oils and the coupling oil, in %.
    """
    handle = f"material:{base.materials[material].generic}"
    return [e for e in base.edges_touching(handle) if e.rule == "couples" and e.object == handle]


def _not_coupled(found: list[Meeting], present: dict[str, float], base: Snapshot) -> list[Meeting]:
    """Leave out pairs that part by themselves but are held together by coupling oils here."""
    held: dict[str, bool] = {}

    def one_phase(polar: str, other: str) -> bool:
        if not couplings(polar, base) or "silicone" in base.materials[other].tags:
            return False
        if polar not in held:
            held[polar] = _coupled(polar, present, base)
        return held[polar]

    return [
        m
        for m in found
        if m.edge.rule != "immiscible"
        or m.edge.verdict != "careful"
        or not (one_phase(m.subject, m.object) or one_phase(m.object, m.subject))
    ]


def _coupled(polar: str, present: dict[str, float], base: Snapshot) -> bool:
    """Tell whether there is enough coupling oil beside a polar oil and all it would part from.

    Several coupling oils add up by their share of what each would need alone (assumption); the
    levels were read at equal parts of the two oils.
    """
    mine = base.handles(polar)
    shy = {
        (e.object if e.subject in mine else e.subject)
        for handle in mine
        for e in base.edges_touching(handle)
        if e.rule == "immiscible" and e.verdict == "careful"
    }
    needed: dict[str, float] = {}
    for edge in couplings(polar, base):
        for material in present:
            if material != polar and edge.subject in base.handles(material):
                needed[material] = min(needed.get(material, 100.0), edge.subject_min)
    apart = [m for m in present if m != polar and m not in needed and base.handles(m) & shy]
    blend = sum(present[m] for m in {polar, *apart, *needed})
    share = sum(100.0 * present[m] / blend / least for m, least in needed.items() if least > 0)
    return share >= 1.0


def _met(
    edge: Edge,
    subjects: Iterable[str],
    objects: Iterable[str],
    present: dict[str, float],
    system: str | None,
    ph: float | None,
) -> list[Meeting]:
    if edge.system and edge.system != system:
        return []
    if (edge.ph_low > 0.0 or edge.ph_high < 14.0) and (
        ph is None or not edge.ph_low <= ph <= edge.ph_high
    ):
        return []
    found = []
    objects = list(objects)
    for subject in subjects:
        if present.get(subject, 0.0) < edge.subject_min:
            continue
        for other in objects:
            if other != subject and present.get(other, 0.0) >= edge.object_min:
                found.append(Meeting(edge, subject, other))
    return found


def system_edges(material: str, system: str, base: Snapshot) -> list[Edge]:
    """Return the edges between a material (or its roles, tags) and a system."""
    mine = base.handles(material)
    found = []
    for edge in base.edges_touching(f"system:{system}"):
        other = edge.object if edge.subject == f"system:{system}" else edge.subject
        if other in mine:
            found.append(edge)
    return found
