"""The base with the user's own world laid over it; what every command works on."""

from __future__ import annotations

import dataclasses
import json
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from kb.own.file import holds_something, own_path
from kb.store.naming import name_rows
from kb.store.opening import Names, connect, ensure_file

if TYPE_CHECKING:
    from kb.own.content import Content
    from kb.store.records import Records
    from kb.store.seed import Row
    from kb.store.snapshot import Snapshot

#: Marks the user's own materials among the tags.
TAG = "own"
#: Stands before what is the user's, wherever a source or grade is shown.
YOURS = "yours"


def open_world(path: Path | None = None) -> Snapshot:
    """Return the in-memory view of the base with the user's own records laid over.

    Without a file of the user this is the base alone, and nothing more is loaded.
    """
    import kb.store.opening as opening

    base = opening.open_snapshot(path)
    own = own_path()
    if not holds_something(own):
        return base
    from kb.own.content import read_content

    return overlaid(read_content(own), base, path)[0]


def open_own_names(path: Path | None = None) -> Names:
    """Return the names of the base and the user's; no array and no property is loaded."""
    import kb.store.opening as opening

    own = own_path()
    if not holds_something(own):
        return opening.open_names(path)
    from kb.formula.names import NameIndex
    from kb.own.content import read_content

    content = read_content(own)
    with closing(connect(path or ensure_file())) as connection:
        query = "SELECT part, data FROM snapshot WHERE part IN ('materials', 'names')"
        parts = {row["part"]: json.loads(row["data"]) for row in connection.execute(query)}
        build = connection.execute("SELECT seed_hash FROM build").fetchone()[0]
    about = [(row[0], row[1], row[2], row[3]) for row in parts["materials"]]
    about += [
        (m["material"], m["inci"], m["grade"] or YOURS, m["cas"]) for m in content["material"]
    ]
    mine = [(row["name"], row["material"], row["kind"]) for row in content["name"]]
    index = NameIndex.from_rows(name_rows(about, [*mine, *parts["names"]]))
    return Names(index, {row[0]: row[1] for row in about}, build)


def overlaid(
    content: Content, base: Snapshot, path: Path | None = None
) -> tuple[Snapshot, list[str]]:
    """Lay the user's content over a base; what this base does not know is named, not used."""
    records, unread = own_records(content, base, path)
    return base.overlay(records), unread


def own_records(
    content: Content, base: Snapshot, path: Path | None = None
) -> tuple[Records, list[str]]:
    """Return the user's content as records, and what this base cannot take."""
    from kb.own.tables import TABLES
    from kb.store.gather import best_of, records_of
    from kb.store.records import Known, Records
    from kb.store.seed import Row, Seed

    kept, unread = _usable(content, base)
    tables = {
        t.seed: [Row("own", 0, {k: str(v) for k, v in row.items()}) for row in kept[t.name]]
        for t in TABLES
        if t.seed
    }
    seed = Seed(Path(), {**tables, "crystals": [], "properties": _properties(kept, path)})
    records = records_of(seed)
    records.materials = [
        dataclasses.replace(m, tags=m.tags | {TAG}, grade=m.grade or YOURS)
        for m in records.materials
    ]
    records.sources = {name: f"{YOURS}: {text}" for name, text in records.sources.items()}
    records.units = {}
    roles = Records(plays={**base.records.plays, **records.plays}, roles=dict(base.roles))
    for (material, name), best in best_of(seed, roles).items():
        if name == "viscosity_slope" and _one_temperature(material, kept):
            generic = base.records.known.get(material.split("--")[0], {})
            if name in base.records.known.get(material, generic):
                continue
        records.known.setdefault(material, {})[name] = Known(
            best.value, best.low, best.high, best.evidence, best.source
        )
    return records, unread


def _usable(content: Content, base: Snapshot) -> tuple[Content, list[str]]:
    """Part what this base can take from what it does not know any more."""
    unread: list[str] = []
    own = set()
    materials = []
    for row in content["material"]:
        name = row["material"]
        if "--" in name and name.split("--")[0] not in base.materials:
            unread.append(f"{name}: its plain grade is not in this base")
        else:
            own.add(name)
            materials.append(row)
    known = own | set(base.materials)
    kept: Content = {**content, "material": materials}
    for table in ("name", "composition", "play", "fact", "limit_rule"):
        kept[table] = []
        for row in content[table]:
            missing = ""
            if row["material"] not in known:
                missing = row["material"]
            elif table == "play" and row["role"] not in base.roles:
                missing = f"role {row['role']}"
            elif table == "fact" and row["property"] not in base.records.units:
                missing = f"property {row['property']}"
            if missing:
                unread.append(f"{row['material']}: {missing} is not in this base")
            else:
                kept[table].append(row)
    return kept, list(dict.fromkeys(unread))


def _properties(content: Content, path: Path | None) -> list[Row]:
    from kb.store.asking import property_of
    from kb.store.seed import Row as SeedRow

    names = sorted({row["property"] for row in content["fact"]})
    if not names:
        return []
    with closing(connect(path or ensure_file())) as connection:
        found = [property_of(connection, name) for name in names]
    return [
        SeedRow("own", 0, {k: "" if v is None else str(v) for k, v in about.items()})
        for about in found
        if about is not None
    ]


def _one_temperature(material: str, content: Content) -> bool:
    found = {
        row["temperature_c"]
        for row in content["fact"]
        if row["material"] == material and row["property"] == "viscosity"
    }
    return len(found) < 2
