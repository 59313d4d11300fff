"""Copies of the user's file: made whole, checked before they come back."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from pathlib import Path

from kb.errors import DatabaseError, UsageError
from kb.own.content import changing, read_content
from kb.own.file import beside, fault, holds_something, reading, write_copy
from kb.own.tables import TABLES


def backup(path: Path, target: Path) -> None:
    """Write a copy of the user's file.

    Raises
    ------
    UsageError
        There is nothing to copy yet.
    DatabaseError
        The file is damaged, or the copy cannot be written.
    """
    if not holds_something(path):
        raise UsageError("There is no own file yet.", str(path), "`kb own add FILE` makes it.")
    with reading(path) as connection:
        try:
            write_copy(connection, target)
        except (sqlite3.Error, OSError) as error:
            raise fault(error, target) from None


def restore(path: Path, source: Path) -> Path | None:
    """Put the content of a checked copy in place of the present one, as one change.

    A present file that is damaged is moved aside; its new path is returned.

    Raises
    ------
    UsageError
        There is no such copy.
    DatabaseError
        The copy is foreign, newer or damaged, or the file cannot be written.
    """
    if not source.is_file() or not holds_something(source):
        raise UsageError("There is no such copy.", str(source), "Name a file of `kb own backup`.")
    if path.exists() and source.samefile(path):
        raise UsageError("This is the file itself.", str(source), "Name a copy of it.")
    with tempfile.TemporaryDirectory() as folder:
        # Read from a copy of the copy, so that an older one is migrated without being touched.
        draft = Path(folder) / "own.sqlite"
        try:
            shutil.copyfile(source, draft)
        except OSError as error:
            raise fault(error, source) from None
        try:
            content = read_content(draft)
        except DatabaseError as error:
            text = error.message.replace("Your own file", "This copy")
            raise DatabaseError(text, str(source), "Name another copy.") from None
    aside = _set_aside(path)
    with changing(path, f"restored {source.name}") as change:
        for table in TABLES:
            change.drop(table.name)
        for table in TABLES:
            for row in content[table.name]:
                change.put(table.name, row)
    return aside


def _set_aside(path: Path) -> Path | None:
    """Move a file that cannot be trusted out of the way; a good, newer or foreign one stays."""
    try:
        read_content(path)
    except DatabaseError as error:
        if "is damaged" not in error.message:
            raise
        kept = beside(path, "damaged")
        try:
            os.replace(path, kept)
            journal = Path(f"{path}-journal")
            if journal.exists():
                os.replace(journal, Path(f"{kept}-journal"))
        except OSError as reason:
            raise fault(reason, path) from None
        return kept
    return None
