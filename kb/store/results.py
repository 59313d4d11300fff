"""Results as a table for other programs: SQLite, or Parquet when pyarrow is there."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing, suppress
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from kb.errors import UsageError

Row = Mapping[str, Any]

#: SQL and Arrow types of a column by its Python type.
_SQL = {str: "TEXT", float: "REAL", int: "INTEGER"}


def check_ending(path: str) -> None:
    """Raise when a file of this name cannot be written here.

    Raises
    ------
    UsageError
        The ending is neither ``.sqlite`` nor ``.parquet``, or pyarrow is missing.
    """
    ending = Path(path).suffix.lower()
    if ending not in {".sqlite", ".parquet"}:
        raise UsageError(
            f"Results are written as .sqlite or .parquet, not {ending or 'without an ending'}.",
            path,
            "Name a file such as results.sqlite.",
        )
    if ending == ".parquet" and find_spec("pyarrow") is None:
        raise UsageError(
            "Parquet needs pyarrow, which is not installed.",
            path,
            "pip install 'like-for-like[scale]', or write .sqlite, which needs nothing more.",
        )


def write_rows(path: str, columns: Mapping[str, type], rows: Sequence[Row]) -> None:
    """Write rows to a file by rename; the ending of its name says the format.

    Parameters
    ----------
    path : str
    columns : mapping
        Name to ``str``, ``int`` or ``float``; any value may be missing.
    rows : sequence of mapping

    Raises
    ------
    UsageError
        The format is not known, or the file cannot be written.
    """
    check_ending(path)
    target = Path(path).resolve()
    draft = target.with_name(f".{target.name[:200]}.{os.getpid()}.part")
    try:
        draft.unlink(missing_ok=True)
        if target.suffix.lower() == ".parquet":
            _parquet(draft, columns, rows)
        else:
            _sqlite(draft, columns, rows)
        os.replace(draft, target)
    except (OSError, sqlite3.Error) as error:
        raise UsageError(
            f"The file cannot be written: {error}.", path, "Check the folder."
        ) from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _sqlite(draft: Path, columns: Mapping[str, type], rows: Sequence[Row]) -> None:
    named = ", ".join(f'"{name}" {_SQL[kind]}' for name, kind in columns.items())
    marks = ", ".join("?" for _ in columns)
    with closing(sqlite3.connect(draft)) as connection, connection:
        connection.execute(f"CREATE TABLE line ({named}) STRICT")
        connection.executemany(
            f"INSERT INTO line VALUES ({marks})",
            [tuple(row.get(name) for name in columns) for row in rows],
        )


def _parquet(draft: Path, columns: Mapping[str, type], rows: Sequence[Row]) -> None:
    import pyarrow
    from pyarrow import parquet

    kinds = {str: pyarrow.string(), float: pyarrow.float64(), int: pyarrow.int64()}
    schema = pyarrow.schema([(name, kinds[kind]) for name, kind in columns.items()])
    table = pyarrow.Table.from_pylist(
        [{name: row.get(name) for name in columns} for row in rows], schema=schema
    )
    parquet.write_table(table, draft)
