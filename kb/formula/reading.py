"""Read a formula from a file or text; every fault names its place and what to do."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from kb.errors import FormulaError
from kb.formula.model import QS, Formula, Line
from kb.formula.numbers import short
from kb.formula.sheet import read_sheet
from kb.formula.toml_text import looks_like_toml, read_toml

MAX_BYTES = 1_000_000
#: A workbook of a few thousand lines with a logo stays below this.
MAX_WORKBOOK = 5_000_000
_WORKBOOKS = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0")
MAX_LINES = 1_000
MAX_NAME = 300


def read_formula(path: str) -> Formula:
    """Read a formula file; ``-`` reads standard input.

    Parameters
    ----------
    path : str
        File path, or ``-``.

    Returns
    -------
    Formula

    Raises
    ------
    FormulaError
        The file is missing, empty, too large, not text, or not a formula.
    """
    if path == "-":
        if sys.stdin is None:
            raise FormulaError("There is no standard input.", "-", "Name a file.")
        raw, origin = sys.stdin.buffer.read(MAX_WORKBOOK + 1), "standard input"
    else:
        raw, origin = read_bytes(path), path
    return parse_formula(decode(raw, origin), origin)


def read_bytes(path: str, what: str = "formula file") -> bytes:
    """Read a file up to just above the largest size, or say why it cannot be read."""
    try:
        if Path(path).is_dir():
            raise FormulaError(f"This is a folder, not a {what}.", path, "Name a file in it.")
        with Path(path).open("rb") as stream:
            return stream.read(MAX_WORKBOOK + 1)
    except FileNotFoundError:
        raise FormulaError(
            f"There is no such {what}.",
            path,
            "Check the path; `-` reads standard input."
            if what == "formula file"
            else "Check the path.",
        ) from None
    except PermissionError:
        raise FormulaError(
            "The file may not be read.", path, "Allow reading it, or copy it elsewhere."
        ) from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or "no usable path"
        raise FormulaError(
            f"The file cannot be read: {reason}.", short(path), "Check the path."
        ) from None


def decode(raw: bytes, origin: str) -> str:
    """Turn file bytes into text, the sheet of a workbook too, or say why that cannot be."""
    if raw.startswith(_WORKBOOKS):
        from kb.formula.workbook_in import workbook_text

        if len(raw) > MAX_WORKBOOK:
            raise FormulaError(
                f"The workbook is larger than {MAX_WORKBOOK // 1_000_000} MB.",
                origin,
                "Keep the list alone, without pictures.",
            )
        return workbook_text(raw, origin, MAX_BYTES)
    if len(raw) > MAX_BYTES:
        raise FormulaError(
            "The file is larger than 1 MB; that is no formula.",
            origin,
            "Give one formula as TOML, CSV or XLSX.",
        )
    if not raw.strip(b" \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise FormulaError("The file is empty.", origin, "Write at least two lines of ingredients.")
    try:
        if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
            return raw.decode("utf-16")
        if b"\0" in raw:
            raise FormulaError(
                "The file holds binary data, not text.", origin, "Give a TOML or CSV text file."
            )
        try:
            return raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            return raw.decode("cp1252")
    except UnicodeDecodeError:
        raise FormulaError(
            "The file is not readable text.", origin, "Save it as UTF-8 text."
        ) from None


def parse_formula(text: str, origin: str = "formula") -> Formula:
    """Parse formula text; TOML when it looks like TOML, else CSV.

    Raises
    ------
    FormulaError
        The text is not a formula.
    """
    if not text.strip("\ufeff \t\r\n"):
        raise FormulaError("The file is empty.", origin, "Write at least two lines of ingredients.")
    if looks_like_toml(text, origin):
        lines, head = read_toml(text.removeprefix("\ufeff"), origin)
    else:
        lines, head = read_sheet(text.removeprefix("\ufeff"), origin)
    _check_size(lines, origin)
    return replace(head, lines=tuple(_filled(lines, origin)))


def _check_size(lines: list[Line], origin: str) -> None:
    if not lines:
        raise FormulaError(
            "No ingredient lines were found.", origin, "Give a name and a percent on each line."
        )
    if len(lines) > MAX_LINES:
        raise FormulaError(
            f"The file has {len(lines)} lines; a formula has at most {MAX_LINES}.",
            lines[MAX_LINES].place,
            "Give one formula a file.",
        )
    for line in lines:
        if len(line.given) > MAX_NAME:
            raise FormulaError(
                f"A name is {len(line.given)} characters long: {short(line.given)}.",
                line.place,
                f"Write the name of one ingredient, at most {MAX_NAME} characters.",
            )


def _filled(lines: list[Line], origin: str) -> list[Line]:
    """Fill the q.s. line and check that something is left to work with."""
    balance = [n for n, line in enumerate(lines) if line.qs]
    if len(balance) > 1:
        names = ", ".join(lines[n].given for n in balance[:5])
        raise FormulaError(
            f"{len(balance)} lines are {QS}: {names}.",
            lines[balance[1]].place,
            f"Only one line can be {QS}; give the others a percent, a trace such as 0.1 too.",
        )
    fixed = sum(line.percent for line in lines)
    if not balance:
        if fixed <= 0:
            raise FormulaError(
                "All percents are zero.", origin, "Give the percent by mass of each line."
            )
        return lines
    left = round(100.0 - fixed, 6)
    old = lines[balance[0]]
    if left < 0:
        raise FormulaError(
            f"The other lines add up to {fixed:g} %, so nothing is left for {old.given!r}.",
            old.place,
            "Lower another line, or give this one a percent.",
        )
    return [replace(line, percent=left) if line.qs else line for line in lines]
