"""What a long run has answered so far, in a file of its own; a stopped run goes on from there."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from kb.errors import DatabaseError

#: Runs whose answers are kept; older files are removed.
_KEPT = 20
_WAIT_S = 30.0
_FIX = "Start it with --fresh, or remove the file."


class Ledger:
    """Answers by key, written as they come; each writing is whole or not there at all.

    Parameters
    ----------
    folder : Path
        Where such files lie.
    run : str
        What was asked, and of which base; the same run finds its answers again.
    fresh : bool
        Forget what was answered before.
    """

    def __init__(self, folder: Path, run: str, *, fresh: bool = False) -> None:
        self.path = folder / f"run-{hashlib.sha256(run.encode()).hexdigest()[:24]}.sqlite"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            if fresh:
                self.path.unlink(missing_ok=True)
            _prune(folder, self.path)
            with closing(self._open()) as connection, connection:
                connection.execute(
                    "CREATE TABLE IF NOT EXISTS answer (key TEXT PRIMARY KEY, data TEXT NOT NULL)"
                    " STRICT"
                )
        except (OSError, sqlite3.Error) as error:
            raise self._fault(error) from None

    def known(self) -> dict[str, Any]:
        """Return the answers that are there."""
        try:
            with closing(self._open()) as connection:
                rows = connection.execute("SELECT key, data FROM answer").fetchall()
                return {key: json.loads(data) for key, data in rows}
        except (sqlite3.Error, ValueError) as error:
            raise self._fault(error) from None

    def add(self, answers: Iterable[tuple[str, Any]]) -> None:
        """Write answers down; all of them or, when it fails, none."""
        rows = [(key, json.dumps(data, ensure_ascii=False)) for key, data in answers]
        try:
            with closing(self._open()) as connection, connection:
                connection.executemany("INSERT OR REPLACE INTO answer VALUES (?, ?)", rows)
        except sqlite3.Error as error:
            raise self._fault(error) from None

    def _open(self) -> sqlite3.Connection:
        return sqlite3.connect(self.path, timeout=_WAIT_S)

    def _fault(self, error: Exception) -> DatabaseError:
        return DatabaseError(
            f"What was answered so far cannot be kept: {error}.", str(self.path), _FIX
        )


def _prune(folder: Path, but: Path) -> None:
    """Remove the oldest runs."""
    runs = [path for path in folder.glob("run-*.sqlite") if path != but]
    with suppress(OSError):
        runs.sort(key=lambda path: path.stat().st_mtime)
        for path in runs[: max(0, len(runs) - _KEPT + 1)]:
            path.unlink()
