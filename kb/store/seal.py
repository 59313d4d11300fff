"""Seal a built file with the hash of its own bytes, and check the seal at every opening."""

from __future__ import annotations

import hashlib
import os
import re
from pathlib import Path

from kb.errors import DatabaseError

_MARK = re.compile(rb"content-sha256:([0-9a-f]{64})")
_WORD = b"content-sha256:"
_BLANK = _WORD + b"0" * 64
_FIX = "Run `kb build --force` to make it anew; your own data is in another file."


def seal(path: Path) -> str:
    """Write the hash of all other bytes into the file and force it to disk."""
    data = path.read_bytes()
    if data.count(_BLANK) != 1:
        raise DatabaseError("The fresh file has no single place for its seal.", str(path))
    digest = hashlib.sha256(data).hexdigest()
    with path.open("r+b") as stream:
        stream.seek(data.index(_BLANK))
        stream.write(b"content-sha256:" + digest.encode())
        stream.flush()
        os.fsync(stream.fileno())
    return digest


def check_seal(path: Path) -> None:
    """Raise when any byte of the file differs from what was built.

    Raises
    ------
    DatabaseError
        The file is missing, not ours, or altered.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise DatabaseError(
            "The knowledge file is missing.", str(path), "Run `kb build`."
        ) from None
    except OSError as error:
        raise DatabaseError(
            f"The knowledge file cannot be read: {error.strerror}.", str(path), _FIX
        ) from None
    if not data.startswith(b"SQLite format 3\0"):
        raise DatabaseError("This is not a knowledge file.", str(path), _FIX)
    start = data.find(_WORD)
    mark = _MARK.match(data, start) if start >= 0 else None
    if mark is None or data.find(_WORD, start + 1) >= 0:
        raise DatabaseError("The knowledge file is damaged or not ours.", str(path), _FIX)
    whole = hashlib.sha256(memoryview(data)[:start])
    whole.update(_BLANK)
    whole.update(memoryview(data)[start + len(_BLANK) :])
    if whole.hexdigest().encode() != mark[1]:
        raise DatabaseError("The knowledge file is damaged: its seal is broken.", str(path), _FIX)
