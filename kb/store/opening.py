"""Find, build on first use, check and open the knowledge file."""

from __future__ import annotations

import hashlib
import os
import sqlite3
from pathlib import Path

from kb.errors import DatabaseError
from kb.store.seal import check_seal
from kb.store.seed import seed_folder, seed_hash
from kb.store.snapshot import Snapshot, from_parts

SCHEMA = 1
_FIX = "Run `kb build --force`."


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
    for name in ("best.py", "build.py", "records.py", "schema.sql", "snapshot.py"):
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
    found = path or ensure_file()
    connection = connect(found)
    try:
        parts = {r["part"]: bytes(r["data"]) for r in connection.execute("SELECT * FROM snapshot")}
        build = connection.execute("SELECT seed_hash FROM build").fetchone()[0]
        return Snapshot(from_parts(parts), build)
    except (sqlite3.Error, ValueError, LookupError, TypeError, AttributeError) as error:
        reason = f"{type(error).__name__}: {error}"
        raise DatabaseError(f"The file cannot be read ({reason}).", str(found), _FIX) from None
    finally:
        connection.close()
