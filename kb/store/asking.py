"""Ask the file itself: all facts of a material with their sources, methods, coverage, conflicts."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from typing import Any

from kb.store.best import tolerance_band

_FACTS = """
SELECT fact.*, source.citation, source.address FROM fact
LEFT JOIN source ON source.source = fact.source
WHERE fact.material IN (?, ?) ORDER BY fact.property, fact.temperature_c, fact.id
"""


def build_of(connection: sqlite3.Connection) -> str:
    """Return the hash of the seed text a file was built from."""
    return str(connection.execute("SELECT seed_hash FROM build").fetchone()[0])


def facts_of(connection: sqlite3.Connection, material: str) -> list[dict[str, Any]]:
    """Return every fact of a material; a grade shows those of its generic material as well."""
    rows = connection.execute(_FACTS, (material, material.split("--")[0]))
    return [dict(row) for row in rows]


def method_of(connection: sqlite3.Connection, quantity: str) -> dict[str, Any]:
    """Return the method behind a quantity, what bears its name before what helps it."""
    name = "solids_25c" if quantity.startswith("solids_") else quantity
    rows = connection.execute(
        "SELECT * FROM method WHERE quantity = ? ORDER BY method", (name,)
    ).fetchall()
    own = name.removesuffix("_25c").replace("_", "-")
    rows.sort(key=lambda row: row["method"] != own)
    if not rows:
        return {}
    found = dict(rows[0])
    for row in rows[1:]:
        for column in ("equation", "citation", "validity", "error"):
            found[column] = f"{found[column]}; {row[column]}"
    return found


def property_of(connection: sqlite3.Connection, name: str) -> dict[str, Any] | None:
    """Return a property's row, or nothing."""
    row = connection.execute("SELECT * FROM property WHERE property = ?", (name,)).fetchone()
    return dict(row) if row else None


def traits_using(connection: sqlite3.Connection, name: str) -> list[str]:
    """Return the roles that a property decides."""
    rows = connection.execute(
        "SELECT role FROM role_trait WHERE property = ? ORDER BY role", (name,)
    )
    return [row["role"] for row in rows]


def coverage(connection: sqlite3.Connection) -> dict[str, Any]:
    """Return counts, evidence shares, and how complete the deciding traits are by role."""
    count = {
        table: connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
        for table in ("material", "fact", "edge", "role", "play", "limit_rule", "policy", "name")
    }
    evidence = {
        row[0]: row[1]
        for row in connection.execute("SELECT evidence, count(*) FROM fact GROUP BY 1 ORDER BY 2")
    }
    known = {
        (row[0], row[1]) for row in connection.execute("SELECT material, property FROM best_fact")
    }
    weights: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for row in connection.execute("SELECT role, property, weight FROM role_trait"):
        weights[row[0]].append((row[1], row[2]))
    players: dict[str, list[str]] = defaultdict(list)
    for row in connection.execute("SELECT role, material FROM play"):
        players[row[0]].append(row[1])
    roles = {}
    for role, traits in sorted(weights.items()):
        mine = players.get(role, [])
        total = sum(w for _, w in traits) * len(mine)
        held = sum(
            w
            for material in mine
            for name, w in traits
            if (material, name) in known or (material.split("--")[0], name) in known
        )
        roles[role] = {"players": len(mine), "traits_known": held / total if total else None}
    properties = {
        row[0]: row[1]
        for row in connection.execute(
            "SELECT property, count(DISTINCT material) FROM fact GROUP BY 1 ORDER BY 1"
        )
    }
    return {"counts": count, "evidence": evidence, "roles": roles, "properties": properties}


def conflicts(connection: sqlite3.Connection) -> list[dict[str, Any]]:
    """Return pairs of facts of one material and property that disagree beyond tolerance.

    Facts at temperatures more than 3 K apart, and facts whose ranges meet, do not conflict.
    """
    about = {
        row["property"]: (row["tolerance_kind"], row["tolerance"])
        for row in connection.execute("SELECT * FROM property")
    }
    groups: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for row in connection.execute("SELECT * FROM fact ORDER BY id"):
        groups[row["material"], row["property"]].append(dict(row))
    found = []
    for (material, name), facts in sorted(groups.items()):
        kind, tolerance = about[name]
        for n, first in enumerate(facts):
            for second in facts[n + 1 :]:
                if _disagree(first, second, kind, tolerance):
                    found.append(
                        {"material": material, "property": name, "first": first, "second": second}
                    )
    return found


def _disagree(a: dict[str, Any], b: dict[str, Any], kind: str, tolerance: float) -> bool:
    ta, tb = a["temperature_c"], b["temperature_c"]
    if (ta is None) != (tb is None) or (ta is not None and abs(ta - tb) > 3.0):
        return False
    ends = []
    for fact in (a, b):
        values = [fact[k] for k in ("value", "low", "high") if fact[k] is not None]
        low, high = min(values), max(values)
        if low == high:
            low, high = tolerance_band(kind, tolerance, low, 0.5)
        ends.append((low, high))
    return bool(ends[0][1] < ends[1][0] or ends[1][1] < ends[0][0])


def ids(connection: sqlite3.Connection, table: str) -> list[str]:
    """Return the ids of a table of named things: ``role``, ``policy``, ``property``."""
    if table not in {"role", "policy", "property"}:
        raise ValueError(f"no table of names: {table!r}")
    return [row[0] for row in connection.execute(f"SELECT {table} FROM {table} ORDER BY 1")]
