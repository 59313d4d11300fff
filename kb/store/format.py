"""Bring seed files to their one form: sorted, quoted only where needed, LF."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from kb.store.seed import Problem, read_rows, table_files
from kb.store.tables import TABLES, Table


def formatted(path: Path, folder: Path, table: Table) -> str | None:
    """Return the text a seed file should have, or none when it cannot be read.

    Parameters
    ----------
    path : Path
        The file.
    folder : Path
        Folder of the seed text.
    table : Table
        What it holds.
    """
    problems: list[Problem] = []
    rows = list(read_rows(path, folder, table, problems))
    if any(p.line for p in problems):
        return None
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.header)
    cells = [[_tidy(row[c]) for c in table.header] for row in rows]
    writer.writerows(sorted(cells))
    return out.getvalue()


def format_seed(folder: Path, *, check: bool) -> list[str]:
    """Rewrite every seed table to its one form; with ``check`` only name the files that differ."""
    changed = []
    for table in TABLES:
        for path in table_files(folder, table):
            wanted = formatted(path, folder, table)
            if wanted is None or wanted.encode() == path.read_bytes():
                continue
            changed.append(path.relative_to(folder).as_posix())
            if not check:
                path.write_bytes(wanted.encode())
    return changed


def _tidy(text: str) -> str:
    return " ".join(text.split())
