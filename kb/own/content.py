"""Read and change what the user's file holds; each change can be taken back."""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from kb.errors import UsageError
from kb.own.file import holds_something, reading, writing
from kb.own.tables import OWN_TABLES, TABLES

#: Changes further back, or beyond so many characters, can no longer be undone; what they did stays.
KEPT_CHANGES = 200
KEPT_CHARACTERS = 4_000_000
_FORGET = """
DELETE FROM change WHERE id IN (
  SELECT id FROM (
    SELECT id, row_number() OVER back AS place, sum(length(before)) OVER back AS size
    FROM change WINDOW back AS (ORDER BY id DESC)
  ) WHERE place > ? OR (place > 1 AND size > ?)
)
"""

Cells = dict[str, Any]
Content = dict[str, list[Cells]]


def read_content(path: Path) -> Content:
    """Return all rows by table, sorted by key; none when there is no file yet."""
    if not holds_something(path):
        return {table.name: [] for table in TABLES}
    with reading(path) as connection:
        return _all_rows(connection)


def _all_rows(connection: sqlite3.Connection) -> Content:
    return {
        table.name: [
            dict(row)
            for row in connection.execute(
                f"SELECT {', '.join(table.columns)} FROM {table.name} "
                f"ORDER BY {', '.join(table.key)}"
            )
        ]
        for table in TABLES
    }


class Change:
    """One change in the making: what it replaces is kept, so that it can be undone."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self.before: list[tuple[str, Cells, Cells | None]] = []

    def content(self) -> Content:
        """Return all rows as this change sees them; no other process can alter them now."""
        return _all_rows(self._connection)

    def put(self, table: str, row: Mapping[str, Any]) -> None:
        """Write a row; one with the same key gives way."""
        about = OWN_TABLES[table]
        full = {name: row[name] for name in about.columns}
        key = {name: full[name] for name in about.key}
        old = self._find(table, key)
        if old != full:
            self.before.append((table, key, old))
            _insert(self._connection, table, full)

    def drop(self, table: str, **match: str) -> int:
        """Remove the rows whose columns hold these words; return how many."""
        about = OWN_TABLES[table]
        where = " AND ".join(f"{name} = ?" for name in match) or "1"
        found = self._connection.execute(
            f"SELECT {', '.join(about.columns)} FROM {table} WHERE {where}", tuple(match.values())
        ).fetchall()
        for row in found:
            old = dict(row)
            key = {name: old[name] for name in about.key}
            self.before.append((table, key, old))
            _delete(self._connection, table, key)
        return len(found)

    def _find(self, table: str, key: Cells) -> Cells | None:
        where = " AND ".join(f"{name} = ?" for name in key)
        row = self._connection.execute(
            f"SELECT {', '.join(OWN_TABLES[table].columns)} FROM {table} WHERE {where}",
            tuple(key.values()),
        ).fetchone()
        return None if row is None else dict(row)


@contextmanager
def changing(path: Path, what: str) -> Iterator[Change]:
    """Make one change in one transaction and remember it for undo."""
    with writing(path) as connection:
        change = Change(connection)
        yield change
        if change.before:
            now = datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")
            connection.execute(
                "INSERT INTO change (made_at, what, before) VALUES (?, ?, ?)",
                (now, what, json.dumps(change.before, ensure_ascii=False)),
            )
            connection.execute(_FORGET, (KEPT_CHANGES, KEPT_CHARACTERS))


def undo(path: Path) -> str:
    """Take the last change back; return what it was.

    Raises
    ------
    UsageError
        There is none.
    """
    if not holds_something(path):
        raise _nothing_to_undo(path)
    with writing(path) as connection:
        last = connection.execute("SELECT * FROM change ORDER BY id DESC LIMIT 1").fetchone()
        if last is None:
            raise _nothing_to_undo(path)
        for table, key, old in reversed(json.loads(last["before"])):
            _delete(connection, table, key)
            if old is not None:
                _insert(connection, table, old)
        connection.execute("DELETE FROM change WHERE id = ?", (last["id"],))
        return str(last["what"])


def _nothing_to_undo(path: Path) -> UsageError:
    return UsageError("There is no change to take back.", str(path), "`kb own list` shows it all.")


def last_changes(path: Path, limit: int = 5) -> list[Cells]:
    """Return the last changes, newest first."""
    if not holds_something(path):
        return []
    with reading(path) as connection:
        rows = connection.execute(
            "SELECT made_at, what FROM change ORDER BY id DESC LIMIT ?", (limit,)
        )
        return [dict(row) for row in rows]


def _insert(connection: sqlite3.Connection, table: str, row: Cells) -> None:
    marks = ", ".join("?" for _ in row)
    connection.execute(
        f"INSERT OR REPLACE INTO {table} ({', '.join(row)}) VALUES ({marks})", tuple(row.values())
    )


def _delete(connection: sqlite3.Connection, table: str, key: Cells) -> None:
    where = " AND ".join(f"{name} = ?" for name in key)
    connection.execute(f"DELETE FROM {table} WHERE {where}", tuple(key.values()))
