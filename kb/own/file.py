"""The one file of the user: where it lies, how it is opened, written, migrated and refused.

Rollback journal, not write-ahead log: at rest there is exactly one file, so a copy made by a sync
folder, a stick or a backup program is whole, and network folders work; a log would add two files
that such copies lose. Writes are few and small, so the slower journal costs nothing that is felt.
"""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import json
import os
import sqlite3
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

from kb.errors import DatabaseError

APPLICATION_ID = 0x4C694F77
#: Scripts that take the file from schema n to n + 1; the first makes it.
MIGRATIONS: tuple[str, ...] = ("schema-1.sql", "schema-2.sql")
#: How long a writer waits for another one, s.
WAIT_S = 5.0
_WRITABLE = "Allow writing to its folder, or set KB_OWN to a path you can write."


def own_path() -> Path:
    """Return where the user's file belongs: ``KB_OWN``, or the platform's folder for user data."""
    named = os.environ.get("KB_OWN")
    if named:
        return Path(named).expanduser()
    from platformdirs import user_data_dir

    return Path(user_data_dir("like-for-like")) / "own.sqlite"


def holds_something(path: Path) -> bool:
    """Tell whether there is a file with content; a missing or empty one holds nothing."""
    try:
        return path.stat().st_size > 0
    except (FileNotFoundError, NotADirectoryError):
        return False
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no usable path"
        raise DatabaseError(
            f"Your own file cannot be reached: {reason}.", str(path), "Check KB_OWN."
        ) from None


def open_file(path: Path, mode: str) -> sqlite3.Connection:
    """Open a file as SQLite does: ``ro``, ``rw`` or ``rwc``."""
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=WAIT_S, isolation_level=None
    )
    connection.row_factory = sqlite3.Row
    return connection


def fault(error: Exception, path: Path) -> DatabaseError:
    """Return what a fault of the file means for the user; none of them changes its content."""
    text = str(error)
    if "locked" in text or "busy" in text:
        return DatabaseError(
            "Another process is writing to your own file; nothing was changed.",
            str(path),
            "Try again when it is done.",
        )
    if "full" in text or "disk I/O" in text or "No space" in text:
        return DatabaseError(
            "The disk is full or fails; nothing was changed.", str(path), "Free some space."
        )
    if isinstance(error, OSError):
        text = error.strerror or "no usable path"
    if "readonly" in text or "unable to open" in text or isinstance(error, OSError):
        return DatabaseError(f"Your own file cannot be opened: {text}.", str(path), _WRITABLE)
    return damaged(path, text)


def damaged(path: Path, reason: str) -> DatabaseError:
    """Return the error for a file whose content cannot be trusted."""
    return DatabaseError(
        f"Your own file is damaged: {reason}.",
        str(path),
        "It stays as it is. Bring a copy back with `kb own restore FILE`.",
    )


def schema_of(connection: sqlite3.Connection, path: Path) -> int:
    """Return the schema number of a file, 0 when it is empty.

    Raises
    ------
    DatabaseError
        It is another program's file, or made by a newer version of this one.
    """
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    things = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if not things and not version and not application:
        return 0
    if application != APPLICATION_ID:
        raise DatabaseError(
            "This is no file of your own world.", str(path), "Check KB_OWN; the file stays."
        )
    if version > len(MIGRATIONS):
        raise DatabaseError(
            f"Your own file has schema {version}, newer than this program's {len(MIGRATIONS)}.",
            str(path),
            "It stays untouched. Use the newer version of the program.",
        )
    return version


def content_hash(connection: sqlite3.Connection) -> str:
    """Return a hash over every row of the user's, what can be undone included."""
    digest = hashlib.sha256()
    names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY 1")
    for (name,) in names.fetchall():
        if name == "meta" or name.startswith("sqlite_"):
            continue
        rows = [list(row) for row in connection.execute(f"SELECT * FROM {name}")]
        rows.sort(key=lambda row: json.dumps(row))
        digest.update(json.dumps([name, rows]).encode())
    return digest.hexdigest()


def verify(connection: sqlite3.Connection, path: Path) -> None:
    """Raise when the content is not what was last written.

    Raises
    ------
    DatabaseError
        The file is damaged.
    """
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise damaged(path, str(found).splitlines()[0])
    row = connection.execute("SELECT value FROM meta WHERE key = 'content'").fetchone()
    if row is None or row[0] != content_hash(connection):
        raise damaged(path, "a value is not what was written")


def keep_hash(connection: sqlite3.Connection) -> None:
    """Write the hash of the content as it is now, within the same transaction."""
    connection.execute(
        "INSERT OR REPLACE INTO meta VALUES ('content', ?)", (content_hash(connection),)
    )


@contextlib.contextmanager
def reading(path: Path) -> Iterator[sqlite3.Connection]:
    """Open for reading: one moment of the file, checked, older schemas migrated first.

    Raises
    ------
    DatabaseError
        Newer, foreign, damaged, or not to be opened.
    """
    connection = None
    try:
        _finish_broken_write(path)
        connection = open_file(path, "ro")
        if schema_of(connection, path) < len(MIGRATIONS):
            connection.close()
            connection = open_file(path, "rw")
            prepare(connection, path)
        connection.execute("BEGIN")
        verify(connection, path)
        yield connection
    except (sqlite3.Error, OSError) as error:
        raise fault(error, path) from None
    finally:
        if connection is not None:
            connection.close()


def _finish_broken_write(path: Path) -> None:
    """Take back what a killed writer left half done; a reader alone may not."""
    if Path(f"{path}-journal").exists():
        with contextlib.closing(open_file(path, "rw")) as connection:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()


@contextlib.contextmanager
def writing(path: Path) -> Iterator[sqlite3.Connection]:
    """Open for one change: all of it is written, or nothing.

    Raises
    ------
    DatabaseError
        Newer, foreign, damaged, locked, full, or not to be written.
    """
    connection = None
    try:
        fresh = not path.exists()
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = open_file(path, "rwc")
        prepare(connection, path)
        if fresh:
            path.chmod(0o600)
        connection.execute("BEGIN IMMEDIATE")
        verify(connection, path)
        yield connection
        keep_hash(connection)
        connection.execute("COMMIT")
    except (sqlite3.Error, OSError) as error:
        raise fault(error, path) from None
    finally:
        if connection is not None:
            # What was not committed is taken back.
            with contextlib.suppress(sqlite3.Error):
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
            connection.close()


def prepare(connection: sqlite3.Connection, path: Path) -> None:
    """Make the tables of an empty file; migrate an older one, with a copy of it kept first."""
    schema_of(connection, path)
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.execute("PRAGMA synchronous = EXTRA")
    if schema_of(connection, path) == len(MIGRATIONS):
        return
    connection.execute("BEGIN IMMEDIATE")
    # Another process may have done it while this one waited.
    old = schema_of(connection, path)
    if old == len(MIGRATIONS):
        connection.execute("COMMIT")
        return
    if old:
        verify(connection, path)
        with contextlib.closing(open_file(path, "ro")) as before:
            write_copy(before, beside(path, f"schema-{old}"))
    for script in MIGRATIONS[old:]:
        for statement in _statements(_script(script)):
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
    keep_hash(connection)
    connection.execute("COMMIT")


def _script(name: str) -> str:
    return resources.files("kb.own").joinpath(name).read_text(encoding="utf-8")


def _statements(script: str) -> Iterator[str]:
    """Yield the statements of a script; running it whole would end the transaction."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def beside(path: Path, why: str) -> Path:
    """Return a free path beside the user's file for a copy of it."""
    stamp = datetime.datetime.now().strftime("%Y%m%d-%H%M%S")
    for number in range(1000):
        more = f"-{number}" if number else ""
        found = path.with_name(f"{path.stem}.{why}-{stamp}{more}{path.suffix}")
        if not found.exists():
            return found
    return path.with_name(f"{path.stem}.{why}-{stamp}-{os.getpid()}{path.suffix}")


def write_copy(connection: sqlite3.Connection, target: Path) -> None:
    """Write a whole copy of an open file to a new one, by rename."""
    draft = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with contextlib.closing(sqlite3.connect(draft)) as copy:
            connection.backup(copy)
        draft.chmod(0o600)
        with draft.open("rb+") as stream:
            os.fsync(stream.fileno())
        os.replace(draft, target)
    finally:
        draft.unlink(missing_ok=True)
