"""Trees of what the base knows: show, roles, suits, why a fact."""

from __future__ import annotations

import sqlite3
from typing import Any

from kb.engine.suits import Verdict, suits_system
from kb.engine.traits import traits_of
from kb.errors import UnknownNameError
from kb.report.paper import plain
from kb.report.tree import Tree, naming
from kb.store import asking
from kb.store.snapshot import Snapshot


def show_tree(material: str, base: Snapshot, connection: sqlite3.Connection) -> Tree:
    """Return the tree of ``kb show``."""
    about = base.materials[material]
    grades = [m for m in base.grades(about.generic) if m != material]
    return {
        "ingredient": about.id,
        "inci": about.inci,
        "grade": about.grade or None,
        "grades": grades,
        "cas": about.cas or None,
        "origin": about.origin,
        "form": about.form,
        "charge": about.charge,
        "phase": about.phase,
        "tags": sorted(about.tags),
        "note": about.note,
        "names": sorted({n for n, m, _ in base.records.names if m in {about.id, about.generic}}),
        "composition": [
            {
                "ingredient": p.part if p.part in base.materials else None,
                "part": p.part,
                "low": p.low,
                "high": p.high,
                "purpose": p.purpose,
            }
            for p in base.parts(material)
        ],
        "roles": [
            {
                "role": p.role,
                "label": base.roles[p.role].label,
                "low": p.low,
                "high": p.high,
                "strength": p.strength,
                "source": base.citation(p.source) if p.source else p.evidence,
            }
            for p in sorted(base.plays(material), key=lambda p: (-p.strength, p.role))
        ],
        "facts": _own_facts(material, base)
        + [_fact(f) for f in asking.facts_of(connection, material)],
        "edges": _edges(material, base),
        "limits": [
            {
                "jurisdiction": x.jurisdiction,
                "kind": x.kind,
                "low": x.low,
                "high": x.high,
                "unit": x.unit,
                "applies": x.applies,
                "basis": x.basis,
                "section": x.section,
                "date_read": x.date_read or None,
                "evidence": x.evidence,
                "note": x.note,
            }
            for x in base.limits(material)
        ],
    }


def _own_facts(material: str, base: Snapshot) -> list[Tree]:
    """Return the values that the user's own file gives for a material."""
    return [
        {
            "material": material,
            "property": name,
            "value": known.value,
            "low": known.low,
            "high": known.high,
            "unit": base.records.units.get(name, ""),
            "temperature_c": None,
            "conditions": "as you entered it",
            "source": base.citation(known.source),
            "evidence": known.evidence,
            "note": "",
        }
        for name, known in sorted(base.records.known.get(material, {}).items())
        if base.citation(known.source).startswith("yours")
    ]


def _fact(f: dict[str, Any]) -> Tree:
    return {
        "material": f["material"],
        "property": f["property"],
        "value": f["value"],
        "low": f["low"],
        "high": f["high"],
        "unit": f["unit"],
        "temperature_c": f["temperature_c"],
        "conditions": f["conditions"],
        "source": f["citation"] or f["evidence"],
        "evidence": f["evidence"],
        "note": f["note"],
    }


def _edges(material: str, base: Snapshot) -> list[Tree]:
    mine = base.handles(material)
    found = []
    for edge in base.edges:
        if edge.subject in mine or edge.object in mine:
            other = edge.object if edge.subject in mine else edge.subject
            found.append(
                {
                    "with": other,
                    "label": _handle_label(other, base),
                    "verdict": edge.verdict,
                    "rule": edge.rule,
                    "system": edge.system or None,
                    "mechanism": edge.mechanism,
                    "source": base.citation(edge.source) if edge.source else edge.evidence,
                    "evidence": edge.evidence,
                }
            )
    return found


def _handle_label(handle: str, base: Snapshot) -> str:
    """Return what a typed handle such as ``role:wax`` means, in words."""
    kind, _, name = handle.partition(":")
    if kind == "material" and name in base.materials:
        return base.materials[name].inci
    if kind == "role" and name in base.roles:
        return base.roles[name].label
    if kind == "tag":
        return f"what is {name.replace('-', ' ')}"
    return f"{name} ones" if kind == "charge" else name


def roles_tree(base: Snapshot) -> Tree:
    """Return the tree of ``kb roles``."""
    return {
        "roles": [
            {
                "role": r.id,
                "parents": list(r.parents),
                "label": r.label,
                "players": len(base.players_below(r.id)),
            }
            for r in base.roles.values()
        ]
    }


def role_id(text: str, base: Snapshot) -> str:
    """Return the role a word means, or raise with the nearest."""
    word = text.strip().casefold().replace(" ", "-").replace("/", "")
    if word in base.roles:
        return word
    labels = {r.label.casefold(): r.id for r in base.roles.values()}
    if text.strip().casefold() in labels:
        return labels[text.strip().casefold()]
    from rapidfuzz import process

    pool = {**{r: r for r in base.roles}, **labels}
    near = tuple(dict.fromkeys(pool[n] for n, _, _ in process.extract(word, list(pool), limit=5)))
    raise UnknownNameError(
        f"There is no role {text!r}.", "", "Did you mean " + ", ".join(near[:3]) + "?", near[:3]
    )


def role_tree(role: str, base: Snapshot) -> Tree:
    """Return the tree of ``kb roles ROLE``."""
    about = base.roles[role]
    players: list[Tree] = []
    for material in base.players_below(role):
        plays = [p for p in base.plays(material) if role in base.roles[p.role].ancestors]
        best = max(plays, key=lambda p: p.strength)
        players.append(
            {
                **naming(material, base),
                "role": best.role,
                "low": best.low,
                "high": best.high,
                "strength": best.strength,
            }
        )
    players.sort(key=lambda p: (-p["strength"], p["ingredient"]))
    return {
        "role": role,
        "label": about.label,
        "definition": about.definition,
        "parents": list(about.parents),
        "children": list(about.children),
        "traits": [
            {
                "property": t.property,
                "kind": t.kind,
                "tolerance": t.tolerance,
                "weight": t.weight,
                "decisive": t.decisive,
                "why": t.why,
            }
            for t in traits_of(role, base)
        ],
        "players": players,
    }


def verdict_tree(material: str, verdict: Verdict, base: Snapshot, system: str | None) -> Tree:
    """Return the tree of ``kb suits``."""
    tree: Tree = {
        **naming(material, base),
        "system": system,
        "verdict": verdict.verdict,
        "as_role": verdict.as_role,
        "because": [
            {
                "verdict": r.verdict,
                "text": plain(r.text),
                "source": r.source,
                "evidence": r.evidence,
                "rule": r.rule,
            }
            for r in verdict.because
        ],
        "instead": [naming(m, base) for m in verdict.instead],
    }
    if system and verdict.verdict == "fails":
        present = suits_system(material, system, base, "present")
        tree["merely_present"] = present.verdict
    return tree


def fact_reason_tree(
    material: str, name: str, base: Snapshot, connection: sqlite3.Connection
) -> Tree:
    """Return the tree of ``kb why NAME PROPERTY``."""
    about = asking.property_of(connection, name)
    if about is None:
        from rapidfuzz import process

        near = tuple(n for n, _, _ in process.extract(name, sorted(base.records.units), limit=3))
        raise UnknownNameError(
            f"There is no property {name!r}.", "", "Did you mean " + ", ".join(near) + "?", near
        )
    known = base.known(material, name)
    own = [f for f in _own_facts(material, base) if f["property"] == name]
    facts = [f for f in asking.facts_of(connection, material) if f["property"] == name]
    best = None
    if known is not None:
        best = {
            "value": known.value,
            "low": known.low,
            "high": known.high,
            "unit": about["unit"],
            "evidence": known.evidence,
            "source": base.citation(known.source) if known.source else known.evidence,
        }
    return {
        **naming(material, base),
        "property": name,
        "meaning": about["meaning"],
        "best": best,
        "others": own + [_fact(f) for f in facts],
        "source": best["source"] if best else None,
        "used_by": asking.traits_using(connection, name) + _quantities_using(name),
    }


def _quantities_using(name: str) -> list[str]:
    from kb.engine.why import INPUTS

    return [quantity for quantity, inputs in INPUTS.items() if name in inputs]
