"""The formula files of a folder, each with the hash of its bytes."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from kb.errors import FormulaError, KbError, UsageError
from kb.formula.reading import read_bytes

#: Endings of what may be a formula.
ENDINGS = (".toml", ".csv", ".tsv", ".xlsx", ".txt")


@dataclass(frozen=True, slots=True)
class File:
    """One file as it was found: name below the folder, bytes, or why it cannot be read."""

    name: str
    raw: bytes
    fault: KbError | None = None

    @property
    def digest(self) -> str:
        """Hash of name and bytes."""
        return hashlib.sha256(self.name.encode() + b"\0" + self.raw).hexdigest()


def files_of(folder: str) -> list[File]:
    """Return the formula files of a folder and the folders in it, sorted by name.

    Hidden files and folders are passed over. A file that cannot be read is kept with its fault.

    Raises
    ------
    UsageError
        There is no such folder, or no formula file in it.
    """
    place = Path(folder)
    if not place.is_dir():
        what = "This is a file, not a folder." if place.exists() else "There is no such folder."
        raise UsageError(what, folder, "Name the folder that holds the formula files.")
    found = []
    for path in sorted(place.rglob("*")):
        below = path.relative_to(place)
        hidden = any(part.startswith(".") for part in below.parts)
        if hidden or path.suffix.lower() not in ENDINGS or path.is_dir():
            continue
        try:
            found.append(File(below.as_posix(), read_bytes(str(path))))
        except FormulaError as fault:
            found.append(File(below.as_posix(), b"", fault))
    if not found:
        raise UsageError(
            "There is no formula file in this folder.",
            folder,
            f"A formula is a file that ends in {', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}.",
        )
    return found
