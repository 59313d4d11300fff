"""One immutable in-memory view of the base: numpy columns, roles with their closure, edges."""

from __future__ import annotations

import dataclasses
import json
import math
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from kb.formula.names import NameIndex
from kb.store.lazily import LazyRows, LazyTable, to_lines
from kb.store.naming import name_rows
from kb.store.records import (
    Crystal,
    Edge,
    Known,
    Limit,
    Material,
    Part,
    Play,
    Records,
    Role,
    Trait,
)

#: A role counts for an edge when the material plays it at least this strongly.
_COUNTS_IN_EDGES = 0.3


@dataclasses.dataclass(frozen=True, slots=True)
class Columns:
    """Value, low and high of every property (rows) of every material (columns); NaN unknown."""

    properties: tuple[str, ...]
    value: npt.NDArray[np.float64]
    low: npt.NDArray[np.float64]
    high: npt.NDArray[np.float64]


class Snapshot:
    """The base as the engine sees it.

    Grades inherit roles, crystals, parts and limits of their generic material where they have
    none of their own; ``known`` does the same for values.
    """

    def __init__(self, records: Records, build: str) -> None:
        self.build = build
        self.records = records
        self.materials: dict[str, Material] = {m.id: m for m in records.materials}
        self.roles: Mapping[str, Role] = records.roles
        #: Every stated compatibility; ``edges_touching`` and ``edges_among`` look only at some.
        self.edges: list[Edge] = records.edges
        self._players: dict[str, list[str]] | None = None
        self._names: NameIndex | None = None
        self._touching: Mapping[str, list[int]] | None = records.touching
        self._strengths: dict[str, dict[str, float]] = {}
        self._handles: dict[str, frozenset[str]] = {}
        self._name_counts: Counter[str] | None = None
        self._grades: dict[str, list[str]] | None = None

    # -- looking things up -------------------------------------------------------------------

    def plays(self, material: str) -> tuple[Play, ...]:
        """Return the roles a material plays."""
        return self._inherited(self.records.plays, material)

    def crystals(self, material: str) -> tuple[Crystal, ...]:
        """Return what of a material can crystallise in oil."""
        return self._inherited(self.records.crystals, material)

    def parts(self, material: str) -> tuple[Part, ...]:
        """Return the parts of a blend."""
        return self._inherited(self.records.parts, material)

    def limits(self, material: str) -> tuple[Limit, ...]:
        """Return the legal limits of a material: its own and its generic grade's."""
        own = self.records.limits.get(material, ())
        generic = material.split("--")[0]
        return own if generic == material else own + self.records.limits.get(generic, ())

    def known(self, material: str, name: str) -> Known | None:
        """Return the working value of a property, from the generic grade if need be."""
        own = self.records.known.get(material, {}).get(name)
        if own is not None or "--" not in material:
            return own
        return self.records.known.get(material.split("--")[0], {}).get(name)

    def value(self, material: str, name: str, default: float = math.nan) -> float:
        """Return the working value alone."""
        found = self.known(material, name)
        return default if found is None else found.value

    def players(self, role: str) -> list[str]:
        """Return the materials that play exactly this role."""
        return self._by_role().get(role, [])

    def _by_role(self) -> dict[str, list[str]]:
        if self._players is None:
            self._players = defaultdict(list)
            for material in self.materials:
                for play in self.plays(material):
                    self._players[play.role].append(material)
        return self._players

    def players_below(self, role: str) -> list[str]:
        """Return the materials that play this role or one below it, sorted."""
        found: set[str] = set()
        for other in self.roles.values():
            if role in other.ancestors:
                found.update(self._by_role().get(other.id, ()))
        return sorted(found)

    def all_roles(self, material: str) -> frozenset[str]:
        """Return every role of a material with all roles above them."""
        return frozenset().union(*(self.roles[p.role].ancestors for p in self.plays(material)))

    def does(self, material: str, role: str) -> float:
        """Return how strongly a material plays a role or one below it (0: not at all)."""
        strengths = self._strengths.get(material)
        if strengths is None:
            strengths = {}
            for play in self.plays(material):
                for above in self.roles[play.role].ancestors:
                    strengths[above] = max(strengths.get(above, 0.0), play.strength)
            self._strengths[material] = strengths
        return strengths.get(role, 0.0)

    def handles(self, material: str) -> frozenset[str]:
        """Return the typed names that an edge may use for a material."""
        found = self._handles.get(material)
        if found is None:
            about = self.materials[material]
            words = {f"material:{material}", f"material:{about.generic}"}
            words.update(f"tag:{tag}" for tag in about.tags)
            if about.charge != "none":
                words.add(f"charge:{about.charge}")
            for play in self.plays(material):
                if play.strength >= _COUNTS_IN_EDGES:
                    words.update(f"role:{role}" for role in self.roles[play.role].ancestors)
            found = self._handles[material] = frozenset(words)
        return found

    def edges_touching(self, handle: str) -> list[Edge]:
        """Return the edges that name a typed handle such as ``role:wax``."""
        return [self.edges[n] for n in self._places(handle)]

    def edges_among(self, handles: Collection[str]) -> list[Edge]:
        """Return the edges of which both ends are among some handles, in their order."""
        places = {n for handle in handles for n in self._places(handle)}
        edges = (self.edges[n] for n in sorted(places))
        return [e for e in edges if e.subject in handles and e.object in handles]

    def _places(self, handle: str) -> list[int]:
        if self._touching is None:
            self._touching = touching(self.edges)
        return self._touching.get(handle, [])

    def name_count(self, material: str) -> int:
        """Return how many names lead to a material."""
        if self._name_counts is None:
            self._name_counts = Counter(m for _, m, _ in self.records.names)
        return self._name_counts[material]

    def grades(self, generic: str) -> list[str]:
        """Return the grades of an INCI name, the plain one apart."""
        if self._grades is None:
            self._grades = defaultdict(list)
            for material in self.materials:
                name, mark, _ = material.partition("--")
                if mark:
                    self._grades[name].append(material)
        return self._grades.get(generic, [])

    def citation(self, source: str) -> str:
        """Return the citation of a source id."""
        return self.records.sources.get(source, source)

    @property
    def names(self) -> NameIndex:
        """All names, normalised once."""
        if self._names is None:
            about = [(m.id, m.inci, m.grade, m.cas) for m in self.materials.values()]
            self._names = NameIndex.from_rows(name_rows(about, self.records.names))
        return self._names

    def _inherited(self, table: Mapping[str, tuple[Any, ...]], material: str) -> tuple[Any, ...]:
        own = table.get(material)
        if own is None and "--" in material:
            own = table.get(material.split("--")[0])
        return own or ()

    def similarity(self, a: str, b: str) -> float:
        """Return how near two roles are by shared information content (Lin 1998), 0 to 1.

        Only roles above whose players can stand in for each other count as shared.
        """
        if a == b:
            return 1.0
        first, second = self.roles[a], self.roles[b]
        shared = [r for r in first.ancestors & second.ancestors if self.roles[r].kin]
        if not shared:
            return 0.0
        common = max(self.roles[r].information for r in shared)
        total = first.information + second.information
        return 2.0 * common / total if total > 0 else 0.0

    # -- whole-column view and the user's own world ------------------------------------------

    def columns(self) -> Columns:
        """Return all working values as read-only arrays, properties by materials."""
        names = tuple(sorted(self.records.units))
        shape = (len(names), len(self.materials))
        arrays = tuple(np.full(shape, np.nan) for _ in range(3))
        for column, material in enumerate(self.materials):
            for row, name in enumerate(names):
                found = self.known(material, name)
                if found is not None:
                    for array, number in zip(
                        arrays, (found.value, found.low, found.high), strict=True
                    ):
                        array[row, column] = number
        for array in arrays:
            array.setflags(write=False)
        return Columns(names, *arrays)

    def overlay(self, own: Records) -> Snapshot:
        """Return a view with the user's own records laid over ours; ours stay untouched."""
        base = self.records
        fresh = {m.id for m in own.materials}
        known = {m: dict(v) for m, v in base.known.items()}
        for material, values in own.known.items():
            known.setdefault(material, {}).update(values)
        merged = Records(
            materials=[m for m in base.materials if m.id not in fresh] + own.materials,
            names=own.names + base.names,
            known=known,
            plays={**base.plays, **own.plays},
            crystals={**base.crystals, **own.crystals},
            parts={**base.parts, **own.parts},
            limits={**base.limits, **own.limits},
            edges=base.edges + own.edges,
            roles={**base.roles, **own.roles},
            policies={**base.policies, **own.policies},
            sources={**base.sources, **own.sources},
            units={**base.units, **own.units},
        )
        return Snapshot(merged, self.build)


# -- to and from the blob in the file ----------------------------------------------------------

_LISTS: dict[str, type] = {
    "plays": Play,
    "crystals": Crystal,
    "parts": Part,
    "limits": Limit,
}


def touching(edges: Iterable[Edge]) -> dict[str, list[int]]:
    """Return for each typed handle the places of the edges that name it."""
    found: dict[str, list[int]] = defaultdict(list)
    for place, edge in enumerate(edges):
        found[edge.subject].append(place)
        if edge.object != edge.subject:
            found[edge.object].append(place)
    return found


def to_parts(records: Records) -> dict[str, bytes]:
    """Turn records into the named blobs kept in the file.

    What belongs to one material, and each edge, is a line of its own, taken apart when asked for.
    """

    def rows(items: Iterable[Any]) -> list[list[Any]]:
        return [[_plain(getattr(item, f.name)) for f in dataclasses.fields(item)] for item in items]

    parts: dict[str, Any] = {
        "materials": rows(records.materials),
        "names": records.names,
        "roles": [
            [_plain(getattr(r, f.name)) for f in dataclasses.fields(r) if f.name != "traits"]
            + [rows(r.traits)]
            for r in records.roles.values()
        ],
        "policies": records.policies,
        "sources": records.sources,
        "units": records.units,
    }
    blobs = {
        name: json.dumps(part, ensure_ascii=False, separators=(",", ":")).encode()
        for name, part in parts.items()
    }
    blobs["known"] = to_lines(
        (m, {p: rows([k])[0] for p, k in v.items()}) for m, v in records.known.items()
    )
    blobs["edges"] = to_lines(("", row) for row in rows(records.edges))
    blobs["touching"] = to_lines(touching(records.edges).items())
    for name in _LISTS:
        blobs[name] = to_lines((m, rows(items)) for m, items in getattr(records, name).items())
    return dict(sorted(blobs.items()))


def from_parts(parts: Mapping[str, bytes]) -> Records:
    """Turn the blobs of the file back into records."""
    tree = {
        name: json.loads(parts[name])
        for name in ("materials", "names", "roles", "policies", "sources", "units")
    }
    records = Records(
        materials=[_material(row) for row in tree["materials"]],
        names=[tuple(row) for row in tree["names"]],
        known=LazyTable(parts["known"], lambda v: {p: Known(*k) for p, k in v.items()}),
        edges=LazyRows(parts["edges"], lambda row: Edge(*row)),
        touching=LazyTable(parts["touching"], list),
        roles={row[0]: _role(row) for row in tree["roles"]},
        policies=tree["policies"],
        sources=tree["sources"],
        units=tree["units"],
    )
    for name, kind in _LISTS.items():
        setattr(records, name, LazyTable(parts[name], _maker(kind)))
    return records


def _maker(kind: type) -> Callable[[Any], tuple[Any, ...]]:
    return lambda rows: tuple(kind(*row) for row in rows)


def _material(row: list[Any]) -> Material:
    name, inci, grade, cas, origin, form, charge, phase, tags, note = row
    return Material(name, inci, grade, cas, origin, form, charge, phase, frozenset(tags), note)


def _role(row: list[Any]) -> Role:
    name, label, definition, loss, kin, parents, children, ancestors, information, traits = row
    return Role(
        name,
        label,
        definition,
        loss,
        kin,
        tuple(parents),
        tuple(children),
        frozenset(ancestors),
        information,
        tuple(Trait(*t) for t in traits),
    )


def _plain(value: Any) -> Any:
    if isinstance(value, frozenset):
        return sorted(value)
    return value
