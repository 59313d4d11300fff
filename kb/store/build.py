"""Build the one SQLite file from the seed text: atomic, deterministic, sealed by a hash."""

from __future__ import annotations

import contextlib
import math
import os
import sqlite3
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from importlib import resources
from pathlib import Path

from kb import __version__
from kb.errors import DatabaseError, SeedError
from kb.formula.names import normalise
from kb.store import snapshot as views
from kb.store.gather import best_of, records_of
from kb.store.lint import lint
from kb.store.records import (
    Known,
    Records,
    Role,
    Trait,
)
from kb.store.seal import seal
from kb.store.seed import Row, Seed, read_seed, seed_hash

SCHEMA = 1
APPLICATION_ID = 0x4C694B65
_PAGE = 4096
#: A draft older than this belongs to no build that still runs, s.
_STALE_S = 3600.0


def build(
    folder: Path,
    target: Path,
    *,
    force: bool = False,
    progress: Callable[[str], None] | None = None,
) -> dict[str, int]:
    """Build the file and put it in place by rename.

    Parameters
    ----------
    folder : Path
        Folder of the seed text.
    target : Path
        Where the file goes; nothing there changes unless the whole build succeeds.
    force : bool
        Replace an existing file.
    progress : callable, optional
        Called with a word at each step.

    Returns
    -------
    dict of str to int
        Rows by table.

    Raises
    ------
    SeedError
        The seed text has problems; all are in the message.
    DatabaseError
        The file exists, or cannot be written.
    """
    say = progress or (lambda word: None)
    if target.exists() and not force:
        raise DatabaseError("The file exists already.", str(target), "Add --force to replace it.")
    say("reading the seed text")
    seed = read_seed(folder)
    problems = lint(seed)
    if problems:
        raise SeedError(
            f"The seed text has {len(problems)} problems:\n"
            + "\n".join(f"  {p}" for p in problems[:20]),
            str(folder),
            "Run `kb data lint` for all of them and mend them.",
        )
    with _temporary(target) as draft:
        say("writing tables")
        counts = _write(seed, draft, seed_hash(folder))
        say("sealing")
        seal(draft)
        draft.chmod(0o644)
        os.replace(draft, target)
        _sync_folder(target.parent)
    return counts


@contextlib.contextmanager
def _temporary(target: Path) -> Iterator[Path]:
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _remove_stale(target.parent)
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=".kb-", suffix=".part")
    except OSError as error:
        raise DatabaseError(
            f"The folder cannot be written: {error.strerror}.",
            str(target.parent),
            "Set KB_DATABASE to a path you can write.",
        ) from None
    os.close(handle)
    draft = Path(name)
    try:
        yield draft
    except (OSError, sqlite3.Error) as error:
        raise DatabaseError(
            f"The file cannot be written: {error}.",
            str(target),
            "Free some space, or set KB_DATABASE to a path you can write.",
        ) from None
    finally:
        draft.unlink(missing_ok=True)


def _remove_stale(folder: Path) -> None:
    """Remove what builds that were killed left behind."""
    for path in folder.glob(".kb-*.part*"):
        with contextlib.suppress(OSError):
            if time.time() - path.stat().st_mtime > _STALE_S:
                path.unlink()


def _sync_folder(folder: Path) -> None:
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _write(seed: Seed, draft: Path, text_hash: str) -> dict[str, int]:
    from sqlite_utils import Database

    connection = sqlite3.connect(draft)
    try:
        connection.execute(f"PRAGMA page_size = {_PAGE}")
        # The draft is thrown away on any failure: no journal file, one sync at the seal.
        connection.execute("PRAGMA journal_mode = MEMORY")
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA}")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.executescript(
            resources.files("kb.store").joinpath("schema.sql").read_text(encoding="utf-8")
        )
        database = Database(connection)
        counts: dict[str, int] = {}

        def fill(table: str, rows: list[dict[str, object]]) -> None:
            counts[table] = len(rows)
            if rows:
                database.table(table).insert_all(rows, batch_size=500)

        records = _asserted(seed, fill)
        _computed(seed, records, connection, fill)
        fill(
            "build",
            [
                {
                    "id": 1,
                    "schema": SCHEMA,
                    "version": __version__,
                    "seed_hash": text_hash,
                    "content_hash": "content-sha256:" + "0" * 64,
                }
            ],
        )
        connection.commit()
        faults = connection.execute("PRAGMA foreign_key_check").fetchall()
        if faults:
            raise SeedError(f"Rows refer to nothing: {faults[:3]}", str(seed.folder))
        connection.execute("INSERT INTO name_fts(name_fts) VALUES ('optimize')")
        connection.commit()
        connection.execute("VACUUM")
        if connection.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
            raise DatabaseError("The fresh file fails its own check.", str(draft))
    finally:
        connection.close()
    return counts


def _typed(rows: list[Row], table: str, drop: tuple[str, ...] = ()) -> list[dict[str, object]]:
    """Turn text rows into typed ones, sorted by all their text."""
    from kb.store.tables import BY_NAME

    columns = [c for c in BY_NAME[table].columns if c.name not in drop]
    out = []
    for row in sorted(rows, key=lambda r: tuple(r.cells.values())):
        typed: dict[str, object] = {}
        for column in columns:
            text = row[column.name]
            if column.kind == "number":
                typed[column.name] = float(text) if text else None
            else:
                typed[column.name] = text or None
        out.append(typed)
    return out


Fill = Callable[[str, list[dict[str, object]]], None]


def _asserted(seed: Seed, fill: Fill) -> Records:
    """Write what people entered, table by table, and keep it as records."""
    t = seed.tables
    fill("source", _typed(t["sources"], "sources"))
    fill("property", _typed(t["properties"], "properties"))
    fill("method", _typed(t["methods"], "methods"))
    roles = {}
    for row in t["roles"]:
        roles[row["role"]] = {
            k: row[k] for k in ("role", "label", "definition", "loss_rule", "kin")
        }
    fill("role", [dict(roles[r]) for r in sorted(roles)])
    fill(
        "role_parent",
        sorted(
            ({"role": r["role"], "parent": r["parent"]} for r in t["roles"] if r["parent"]),
            key=lambda d: (d["role"], d["parent"]),
        ),
    )
    fill("role_trait", _typed(t["role_traits"], "role_traits"))
    fill("material", _typed(t["materials"], "materials"))
    fill("name", _typed(t["names"], "names"))
    fill("composition", _typed(t["compositions"], "compositions"))
    fill("play", _typed(t["plays"], "plays"))
    facts = _typed(t["facts"], "facts")
    fill("fact", [{"id": n, **fact} for n, fact in enumerate(facts, 1)])
    fill("crystal", _typed(t["crystals"], "crystals"))
    fill("structure", _typed(t["structures"], "structures"))
    fill("fatty_acid", _typed(t["fatty_acids"], "fatty_acids"))
    fill("edge", [{"id": n, **e} for n, e in enumerate(_typed(t["edges"], "edges"), 1)])
    fill("limit_rule", [{"id": n, **e} for n, e in enumerate(_typed(t["limits"], "limits"), 1)])
    fill("policy", [{"policy": n, "text": x} for n, x in sorted(seed.policies.items())])
    fill("formula", [{"formula": n, "text": x} for n, x in sorted(seed.formulas.items())])
    return records_of(seed)


def _computed(seed: Seed, records: Records, connection: sqlite3.Connection, fill: Fill) -> None:
    """Write what follows from the entered rows: closure, best facts, names, the snapshot."""
    records.roles = _roles(seed, records, connection, fill)
    best = best_of(seed, records)
    rows: list[dict[str, object]] = []
    for (material, name), fact in sorted(best.items()):
        rows.append(
            {
                "material": material,
                "property": name,
                "value": fact.value,
                "low": fact.low,
                "high": fact.high,
                "evidence": fact.evidence,
                "source": fact.source or None,
                "fact": fact.fact or None,
                "inherited": None,
            }
        )
        records.known.setdefault(material, {})[name] = Known(
            fact.value, fact.low, fact.high, fact.evidence, fact.source
        )
    fill("best_fact", rows)
    connection.executemany(
        "INSERT INTO name_fts (name, material) VALUES (?, ?)",
        sorted({(normalise(n), m) for n, m, _ in records.names})
        + [(normalise(m.inci), m.id) for m in records.materials],
    )
    parts = views.to_parts(records)
    fill("snapshot", [{"part": n, "data": d} for n, d in parts.items()])


def _roles(
    seed: Seed, records: Records, connection: sqlite3.Connection, fill: Fill
) -> dict[str, Role]:
    """Check the role graph, close it, and weigh each role by how few materials play it."""
    import networkx

    graph = networkx.DiGraph()
    about: dict[str, Row] = {}
    for row in seed.tables["roles"]:
        about[row["role"]] = row
        graph.add_node(row["role"])
        if row["parent"]:
            graph.add_edge(row["role"], row["parent"])
    if not networkx.is_directed_acyclic_graph(graph):
        raise SeedError("The roles form a cycle.", "roles.csv", "Run `kb data lint`.")
    closure = connection.execute(
        """
        WITH RECURSIVE above (role, ancestor) AS (
          SELECT role, role FROM role
          UNION
          SELECT above.role, role_parent.parent FROM above
          JOIN role_parent ON role_parent.role = above.ancestor
        )
        SELECT role, ancestor FROM above ORDER BY role, ancestor
        """
    ).fetchall()
    fill("role_closure", [{"role": r, "ancestor": a} for r, a in closure])
    ancestors: dict[str, set[str]] = defaultdict(set)
    for role, ancestor in closure:
        ancestors[role].add(ancestor)
    playing: dict[str, set[str]] = defaultdict(set)
    for material, plays in records.plays.items():
        for play in plays:
            for ancestor in ancestors[play.role]:
                playing[ancestor].add(material)
    total = max(1, len(records.plays))
    traits: dict[str, list[Trait]] = defaultdict(list)
    for row in seed.tables["role_traits"]:
        traits[row["role"]].append(
            Trait(
                row["property"],
                row["kind"],
                float(row["tolerance"]),
                float(row["weight"]),
                row["decisive"] == "yes",
                row["why"],
            )
        )
    return {
        role: Role(
            role,
            about[role]["label"],
            about[role]["definition"],
            about[role]["loss_rule"],
            about[role]["kin"] == "yes",
            tuple(sorted(graph.successors(role))),
            tuple(sorted(graph.predecessors(role))),
            frozenset(ancestors[role]),
            round(math.log(total / max(1, len(playing[role]))), 6) + 0.0,
            tuple(sorted(traits[role], key=lambda t: (-t.weight, t.property))),
        )
        for role in sorted(about)
    }
