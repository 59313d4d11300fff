"""Bring seed files to their one form: sorted, quoted only where needed, LF."""

from __future__ import annotations

import csv
import io
import os
from pathlib import Path

from kb.errors import SeedError
from kb.store.seed import Problem, read_rows, table_files
from kb.store.tables import TABLES, Table


def formatted(path: Path, folder: Path, table: Table) -> str | None:
    """Return the text a seed file should have, or none when rows of it cannot be read.

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
    if any(not p.mendable for p in problems):
        return None
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.header)
    cells = [[_tidy(row[c]) for c in table.header] for row in rows]
    writer.writerows(sorted(cells))
    return out.getvalue()


def format_seed(folder: Path, *, check: bool) -> list[str]:
    """Rewrite every seed table to its one form; return the files that differed.

    With ``check`` nothing is written, and files with unreadable rows are named too. Without it
    such files stay as they are: the lint says what is wrong with them.

    Raises
    ------
    SeedError
        A file cannot be written.
    """
    changed = []
    for table in TABLES:
        for path in table_files(folder, table):
            wanted = formatted(path, folder, table)
            if wanted is None:
                if check:
                    changed.append(path.relative_to(folder).as_posix())
            elif wanted.encode() != path.read_bytes():
                changed.append(path.relative_to(folder).as_posix())
                if not check:
                    _replace(path, wanted)
    return changed


def _replace(path: Path, text: str) -> None:
    draft = path.with_name(f".{path.name}.part")
    try:
        draft.write_bytes(text.encode())
        os.replace(draft, path)
    except OSError as error:
        raise SeedError(
            f"The file cannot be written: {error.strerror}.",
            str(path),
            "Allow writing in that folder.",
        ) from None
    finally:
        draft.unlink(missing_ok=True)


def _tidy(text: str) -> str:
    return " ".join(text.split())
