"""Find, build on first use, check and open the knowledge file."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kb.errors import DatabaseError
from kb.formula.names import NameIndex
from kb.store.naming import name_rows
from kb.store.seal import check_seal
from kb.store.seed import seed_folder, seed_hash

if TYPE_CHECKING:
    from kb.store.snapshot import Snapshot

SCHEMA = 1
_FIX = "Run `kb build --force`."
#: What decides the content of the file, beside the seed text.
_CODE = (
    *(
        "best.py",
        "build.py",
        "gather.py",
        "lazily.py",
        "records.py",
        "schema.sql",
        "snapshot.py",
        "tables.py",
    ),
    *("../formula/names.py", "../science/viscosity.py"),
)


def default_path() -> Path:
    """Return where the file belongs: ``KB_DATABASE``, or the platform's cache folder.

    The cached name carries the schema, the hash of the seed text and of the code that builds, so
    another version never meets the wrong file.
    """
    named = os.environ.get("KB_DATABASE")
    if named:
        return Path(named).expanduser()
    from platformdirs import user_cache_dir

    code = hashlib.sha256()
    folder = Path(__file__).parent
    for name in _CODE:
        code.update((folder / name).read_bytes())
    label = f"kb-{SCHEMA}-{seed_hash(seed_folder())[:12]}-{code.hexdigest()[:8]}.sqlite"
    return Path(user_cache_dir("like-for-like")) / label


def ensure_file() -> Path:
    """Return the path of a file that exists, building the cached one on first use."""
    path = default_path()
    if not path.exists():
        if os.environ.get("KB_DATABASE"):
            raise DatabaseError(
                "The knowledge file named by KB_DATABASE is missing.", str(path), "Run `kb build`."
            )
        from kb.store.build import build

        try:
            build(seed_folder(), path)
        except DatabaseError:
            if not path.exists():  # else another process built it meanwhile
                raise
    return path


def connect(path: Path) -> sqlite3.Connection:
    """Open a file read-only and immutable, after checking its seal and schema.

    Raises
    ------
    DatabaseError
        Missing, damaged, older or newer than this program.
    """
    check_seal(path)
    try:
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
        version = connection.execute("PRAGMA user_version").fetchone()[0]
    except sqlite3.Error as error:
        raise DatabaseError(f"The file cannot be opened: {error}.", str(path), _FIX) from None
    if version != SCHEMA:
        connection.close()
        age = "older" if version < SCHEMA else "newer"
        raise DatabaseError(
            f"The file has schema {version}, {age} than this program's {SCHEMA}.", str(path), _FIX
        )
    connection.row_factory = sqlite3.Row
    return connection


def open_snapshot(path: Path | None = None) -> Snapshot:
    """Return the in-memory view of the base."""
    from kb.store.snapshot import Snapshot, from_parts

    with _reading(path) as connection:
        parts = {r["part"]: bytes(r["data"]) for r in connection.execute("SELECT * FROM snapshot")}
        build = connection.execute("SELECT seed_hash FROM build").fetchone()[0]
        return Snapshot(from_parts(parts), build)


@dataclass(frozen=True, slots=True)
class Names:
    """The names of the base and the INCI name of each material: all that a search needs."""

    index: NameIndex
    inci: dict[str, str]
    build: str


def open_names(path: Path | None = None) -> Names:
    """Return the names alone; no array and no property is loaded."""
    with _reading(path) as connection:
        query = "SELECT part, data FROM snapshot WHERE part IN ('materials', 'names')"
        parts = {r["part"]: json.loads(r["data"]) for r in connection.execute(query)}
        build = connection.execute("SELECT seed_hash FROM build").fetchone()[0]
        about = [(row[0], row[1], row[2], row[3]) for row in parts["materials"]]
        index = NameIndex.from_rows(name_rows(about, parts["names"]))
        return Names(index, {row[0]: row[1] for row in about}, build)


@contextmanager
def _reading(path: Path | None) -> Iterator[sqlite3.Connection]:
    """Open the file, and turn every fault of its content into one kind of error."""
    found = path or ensure_file()
    connection = connect(found)
    try:
        yield connection
    except (sqlite3.Error, ValueError, LookupError, TypeError, AttributeError) as error:
        reason = f"{type(error).__name__}: {error}"
        raise DatabaseError(f"The file cannot be read ({reason}).", str(found), _FIX) from None
    finally:
        connection.close()
