"""What the user hands over, turned into rows of the same shape as our own seed text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from kb.formula.names import normalise
from kb.own.lists import Line, Sheet
from kb.store.seed import Problem
from kb.store.snapshot import Snapshot
from kb.store.tables import BY_NAME, DATA_SHEET

ENTERED = "own-entered"
#: Facts of a materials list carry this place; they go when the material is given anew.
PLACE = "materials list"
MATERIAL_COLUMNS = (
    *("name", "inci", "cas", "origin", "form", "charge", "phase", "tags", "roles"),
    *("composition", "other_names", "source", "note"),
)
_EDGE = tuple(BY_NAME["edges"].header)
_LIMIT = tuple(BY_NAME["limits"].header)
COLUMNS: dict[str, tuple[str, ...]] = {
    "materials": MATERIAL_COLUMNS,
    "facts": (
        *("material", "property", "value", "low", "high", "unit", "temperature_c"),
        *("conditions", "source", "note"),
    ),
    "edges": tuple(c for c in _EDGE if c != "evidence"),
    "limits": tuple(c for c in _LIMIT if c != "evidence"),
}
_TYPED = re.compile(r"(material|role|tag|charge|system):")
_RANGE = re.compile(r"(-?\d+(?:\.\d+)?)\s*(?:\.\.|-|to)\s*(-?\d+(?:\.\d+)?)")
_ROLE = re.compile(r"(\S+)(?:\s+(-?[\d.,]+)\s*(?:\.\.|-|to)\s*(-?[\d.,]+)\s*%?)?")


@dataclass(frozen=True, slots=True)
class Given:
    """One row for a seed table, with the place in the user's file that it came from."""

    table: str
    cells: dict[str, str]
    line: int = 0
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class Batch:
    """Everything one file gives: rows, materials given anew, faults found on the way."""

    origin: str
    rows: list[Given] = field(default_factory=list)
    anew: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    def fault(self, line: int, column: str, read: str, wanted: str) -> None:
        """Note one fault."""
        self.problems.append(Problem(self.origin, line, column, read, wanted))


def slug(text: str) -> str:
    """Return a name as part of an id."""
    return "-".join(re.findall(r"[a-z0-9]+", normalise(text))) or "unnamed"


def kind_of(sheet: Sheet) -> str:
    """Return which kind of list a header belongs to."""
    for mark, kind in (("property", "facts"), ("verdict", "edges"), ("jurisdiction", "limits")):
        if mark in sheet.columns:
            return kind
    return "materials"


def from_sheet(sheet: Sheet, world: Snapshot) -> Batch:
    """Turn a list into rows; materials are named as the user names them."""
    kind = kind_of(sheet)
    batch = Batch(sheet.origin)
    allowed = set(COLUMNS[kind])
    if kind == "materials":
        allowed |= set(world.records.units)
    for column in sheet.columns:
        if column and column not in allowed and column.partition("@")[0] not in allowed:
            near = _nearest(column, allowed)
            batch.fault(1, column, column, f"a column of `kb own template`, such as {near}")
    for line in sheet.lines:
        if kind == "materials":
            _material(line, world, batch)
        else:
            _row(kind, line, world, batch)
    return batch


def _nearest(column: str, allowed: set[str]) -> str:
    from rapidfuzz import process

    return ", ".join(name for name, _, _ in process.extract(column, sorted(allowed), limit=3))


def _source(text: str, batch: Batch, line: int) -> tuple[str, str]:
    """Return source id and evidence of a statement: seen in a data sheet, or just entered."""
    name = f"own-{slug(text)}" if text else ENTERED
    known = {g.cells["source"] for g in batch.rows if g.table == "sources"}
    if name not in known:
        cells = {
            "source": name,
            "citation": text or "entered without a source",
            "kind": "own",
            "year": "",
            "address": "",
        }
        batch.rows.append(Given("sources", cells, line, {"citation": "source"}))
    return name, DATA_SHEET if text else "memory"


def _material(line: Line, world: Snapshot, batch: Batch) -> None:
    name = line.get("name")
    if not normalise(name):
        batch.fault(line.number, "name", name, "the name you use, in Latin letters or digits")
        return
    inci = line.get("inci") or name
    answer = world.names.resolve(inci)
    match = answer.match
    ours = match is not None and match.by in {"inci", "id", "synonym", "registry"}
    taken = world.names.resolve(name).match
    if taken is not None and taken.score == 100.0 and "own" not in _tags(taken.material, world):
        wanted = (
            f"a name of its own; it leads to {taken.material} already "
            "(`kb own template --of facts` gives our materials your values)"
        )
        batch.fault(line.number, "name", name, wanted)
        return
    if match is not None and "own" in _tags(match.material, world):
        ours = "--" in match.material
    if match is not None and match.by == "near" and not ours:
        batch.remarks.append(
            f"{batch.origin}:{line.number}: {inci!r} is taken as new; "
            f"if you mean {match.matched}, write it so."
        )
    tag = f"own-{slug(name)}"
    about = None
    if ours and match is not None:
        about = world.materials[world.materials[match.material].generic]
    material = f"{about.id}--{tag}" if about else tag
    if material in world.materials and not _bears(name, material, world):
        wanted = f"a name that differs in letters or digits; {material} is another of yours"
        batch.fault(line.number, "name", name, wanted)
        return
    if material in batch.anew:
        batch.fault(line.number, "name", name, "each material once")
        return
    batch.anew.append(material)
    source, evidence = _source(line.get("source"), batch, line.number)
    number = line.number
    cells = {
        "material": material,
        "inci": about.inci if about else inci,
        "grade": f"yours: {name}" if about else "",
        "cas": line.get("cas"),
        "origin": line.get("origin") or (about.origin if about else "unknown"),
        "form": line.get("form") or (about.form if about else ""),
        "charge": line.get("charge") or (about.charge if about else ""),
        "phase": line.get("phase") or (about.phase if about else ""),
        "tags": line.get("tags") or (" ".join(sorted(about.tags - {"own"})) if about else ""),
        "note": line.get("note"),
    }
    batch.rows.append(Given("materials", cells, number, {"material": "name", "grade": "name"}))
    names = [name, *_list(line.get("other_names"))]
    if not about and normalise(inci) != normalise(name):
        names.append(inci)
    for one in dict.fromkeys(names):
        cells = {"name": one, "material": material, "language": "en", "kind": "common"}
        batch.rows.append(Given("names", cells, number, {}))
    sourced = {"source": source, "evidence": evidence}
    _roles(line, material, sourced, batch)
    _parts(line, material, sourced, world, batch)
    for column, text in line.cells.items():
        if text and column.partition("@")[0] in world.records.units:
            _value(column, text, material, sourced, number, world, batch)


def _bears(name: str, material: str, world: Snapshot) -> bool:
    key = normalise(name)
    return any(m == material and normalise(n) == key for n, m, _ in world.records.names)


def _tags(material: str, world: Snapshot) -> frozenset[str]:
    return world.materials[material].tags


def _list(cell: str) -> list[str]:
    return [part.strip() for part in re.split(r"[;|]", cell) if part.strip()]


def _roles(line: Line, material: str, sourced: dict[str, str], batch: Batch) -> None:
    for entry in _list(line.get("roles")):
        found = _ROLE.fullmatch(entry)
        if found is None:
            batch.fault(line.number, "roles", entry, "a role and its levels: emollient 2-10")
            continue
        cells = {
            "material": material,
            "role": found[1],
            "low": found[2] or "",
            "high": found[3] or "",
            "strength": "",
            **sourced,
            "note": "",
        }
        columns = dict.fromkeys(("role", "low", "high", "material"), "roles")
        batch.rows.append(Given("plays", cells, line.number, columns))


def _parts(
    line: Line, material: str, sourced: dict[str, str], world: Snapshot, batch: Batch
) -> None:
    for entry in _list(line.get("composition")):
        found = re.fullmatch(r"(.+?)\s+([\d.,]+)(?:\s*(?:\.\.|-|to)\s*([\d.,]+))?\s*%?", entry)
        if found is None:
            batch.fault(
                line.number, "composition", entry, "a name, then its percent: Cera Alba 60-70"
            )
            continue
        answer = world.names.resolve(found[1]).match
        sure = answer is not None and answer.by != "near"
        cells = {
            "material": material,
            "part": answer.material if answer is not None and sure else found[1],
            "low": found[2],
            "high": found[3] or found[2],
            "purpose": "main",
            **sourced,
        }
        columns = dict.fromkeys(("part", "low", "high"), "composition")
        batch.rows.append(Given("compositions", cells, line.number, columns))


def _value(
    column: str,
    text: str,
    material: str,
    sourced: dict[str, str],
    line: int,
    world: Snapshot,
    batch: Batch,
) -> None:
    name, _, temperature = column.partition("@")
    span = _RANGE.fullmatch(text)
    cells = {
        "material": material,
        "property": name,
        "value": "" if span else text,
        "low": span[1] if span else "",
        "high": span[2] if span else "",
        "unit": world.records.units[name],
        "temperature_c": temperature,
        "conditions": "as stated",
        "source": sourced["source"],
        "place": PLACE,
        "evidence": sourced["evidence"],
        "note": "",
    }
    columns = dict.fromkeys(("value", "low", "high", "unit", "temperature_c"), column)
    batch.rows.append(Given("facts", cells, line, columns))


def _row(kind: str, line: Line, world: Snapshot, batch: Batch) -> None:
    """Take over a row that has the shape of ours already, names resolved."""
    cells = {name: line.get(name) for name in BY_NAME[kind].header}
    columns = ("subject", "object") if kind == "edges" else ("material",)
    for column in columns:
        text = cells[column]
        if kind == "edges" and _TYPED.match(text):
            continue
        found = world.names.resolve(text)
        if found.match is None or found.match.by == "near":
            near = ", ".join(m.matched for m in found.nearest[:3])
            wanted = f"a material by its exact name, such as {near}" if near else "a material"
            batch.fault(line.number, column, text, wanted)
            return
        material = found.match.material
        cells[column] = f"material:{material}" if kind == "edges" else material
    cells["source"], cells["evidence"] = _source(line.get("source"), batch, line.number)
    if kind == "facts":
        cells["unit"] = cells["unit"] or world.records.units.get(cells["property"], "")
        cells["conditions"] = cells["conditions"] or "as stated"
    if kind == "edges":
        cells["rule"] = cells["rule"] or "own-rule"
    if kind == "limits":
        cells["section"] = cells["section"] or "own"
        cells["kind"] = cells["kind"] or "max"
        cells["applies"] = cells["applies"] or "all"
        cells["unit"] = cells["unit"] or "%"
    batch.rows.append(Given(kind, cells, line.number, {}))
