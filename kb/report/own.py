"""Trees of what is the user's own: the list, one material, one change."""

from __future__ import annotations

from pathlib import Path

from kb.own.adding import find_own
from kb.own.content import Content
from kb.own.shelf import price_per_kg
from kb.own.tables import TABLES
from kb.report.tree import Tree
from kb.store.snapshot import Snapshot


def change_tree(
    done: str,
    path: Path,
    counts: dict[str, int] | None = None,
    materials: list[str] | None = None,
    remarks: list[str] | None = None,
) -> Tree:
    """Return what a command changed."""
    return {
        "done": done,
        "path": str(path),
        "counts": counts or {},
        "materials": materials or [],
        "remarks": remarks or [],
    }


def list_tree(
    content: Content,
    world: Snapshot,
    base: Snapshot,
    path: Path,
    changes: list[Tree],
    unread: list[str],
) -> Tree:
    """Return the tree of ``kb own list``."""
    own = {row["material"] for row in content["material"]}
    ours = sorted({row["material"] for row in content["fact"]} - own)
    return {
        "path": str(path),
        "counts": {table.name: len(content[table.name]) for table in TABLES},
        "materials": [_brief(row, content) for row in content["material"]],
        "values": [value for name in ours for value in _values(name, world, base)],
        "shelf": [_stock(row, world) for row in content["shelf"]],
        "changes": [{"made_at": c["made_at"], "what": c["what"]} for c in changes],
        "unread": unread,
    }


def shelf_tree(content: Content, world: Snapshot, path: Path) -> Tree:
    """Return the tree of ``kb own shelf``."""
    return {"path": str(path), "shelf": [_stock(row, world) for row in content["shelf"]]}


def _brief(row: Tree, content: Content) -> Tree:
    material = row["material"]
    return {
        "ingredient": material,
        "inci": row["inci"],
        "names": _names(material, content),
        "roles": [play["role"] for play in content["play"] if play["material"] == material],
        "values": sum(fact["material"] == material for fact in content["fact"]),
    }


def _names(material: str, content: Content) -> list[str]:
    return [row["name"] for row in content["name"] if row["material"] == material]


def _values(material: str, world: Snapshot, base: Snapshot) -> list[Tree]:
    """Return the working values that the user's facts decide, beside ours."""
    found = []
    for name, known in sorted(world.records.known.get(material, {}).items()):
        if not known.source.startswith("own-"):
            continue
        mine = base.known(material, name)
        found.append(
            {
                "ingredient": material,
                "property": name,
                "value": known.value,
                "low": known.low,
                "high": known.high,
                "unit": world.records.units.get(name, ""),
                "source": world.citation(known.source),
                "evidence": known.evidence,
                "ours": None if mine is None else mine.value,
            }
        )
    return found


def _stock(row: Tree, world: Snapshot) -> Tree:
    found = world.names.resolve(row["name"]).match
    return {
        **row,
        "ingredient": found.material if found is not None else None,
        "price_per_kg": price_per_kg(row),
    }


def own_tree(name: str, content: Content, world: Snapshot, base: Snapshot) -> Tree:
    """Return the tree of ``kb own show``."""
    material = find_own(name, content, base)
    about = world.materials[material]

    def mine(table: str) -> list[Tree]:
        return [row for row in content[table] if row.get("material") == material]

    handle = f"material:{material}"
    return {
        "ingredient": material,
        "inci": about.inci,
        "grade": about.grade or None,
        "names": _names(material, content),
        "cas": about.cas or None,
        "origin": about.origin,
        "form": about.form,
        "charge": about.charge,
        "phase": about.phase,
        "note": about.note or None,
        "follows": about.generic if about.generic != material else None,
        "roles": [
            {"role": p.role, "label": world.roles[p.role].label, "low": p.low, "high": p.high}
            for p in world.plays(material)
        ],
        "composition": [
            {"part": p.part, "low": p.low, "high": p.high} for p in world.parts(material)
        ],
        "values": _values(material, world, base),
        "edges": [
            {k: row[k] for k in ("subject", "object", "verdict", "mechanism")}
            for row in content["edge"]
            if handle in {row["subject"], row["object"]}
        ],
        "limits": [
            {k: row[k] for k in ("jurisdiction", "kind", "low", "high", "unit", "section")}
            for row in mine("limit_rule")
        ],
    }
