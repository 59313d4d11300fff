"""Read a formula from TOML or CSV text; every fault names its place and what to do."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

from kb.errors import FormulaError
from kb.formula.model import QS, Formula, Line, Remark
from kb.formula.numbers import is_balance, read_percent
from kb.formula.sheet import read_sheet

MAX_BYTES = 1_000_000
_KEYS = {"name", "system", "ph", "note", "product", "line", "measured"}
_LINE_KEYS = {"ingredient", "percent", "stage", "role", "active", "locked", "note"}


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
        raw, origin = sys.stdin.buffer.read(MAX_BYTES + 1), "standard input"
    else:
        origin = path
        file = Path(path)
        try:
            if file.is_dir():
                raise FormulaError("This is a folder, not a formula file.", path, "Name a file.")
            with file.open("rb") as stream:
                raw = stream.read(MAX_BYTES + 1)
        except FileNotFoundError:
            raise FormulaError(
                "There is no such formula file.", path, "Check the path; `-` reads standard input."
            ) from None
        except OSError as error:
            raise FormulaError(
                f"The file cannot be read: {error.strerror}.", path, "Check its permissions."
            ) from None
    return parse_formula(decode(raw, origin), origin)


def decode(raw: bytes, origin: str) -> str:
    """Turn file bytes into text, or say why they are not text."""
    if len(raw) > MAX_BYTES:
        raise FormulaError(
            "The file is larger than 1 MB; that is no formula.",
            origin,
            "Give one formula as TOML or CSV.",
        )
    if not raw.strip():
        raise FormulaError("The file is empty.", origin, "Write at least two lines of ingredients.")
    if raw.startswith(b"PK\x03\x04"):
        raise FormulaError(
            "This is a spreadsheet workbook or archive, not text.",
            origin,
            "Export the sheet as CSV and read that.",
        )
    for bom, coding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if raw.startswith(bom):
            try:
                return raw.decode(coding)
            except UnicodeDecodeError:
                break
    if b"\0" in raw:
        raise FormulaError(
            "The file holds binary data, not text.", origin, "Give a TOML or CSV text file."
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        try:
            return raw.decode("cp1252")
        except UnicodeDecodeError:
            raise FormulaError(
                "The file is not readable text.", origin, "Save it as UTF-8 text."
            ) from None


def parse_formula(text: str, origin: str = "formula") -> Formula:
    """Parse formula text; TOML when it looks like TOML, else CSV."""
    if _looks_like_toml(text, origin):
        return _from_toml(text, origin)
    return _finish(*read_sheet(text, origin), origin=origin)


def _looks_like_toml(text: str, origin: str) -> bool:
    if origin.lower().endswith(".toml"):
        return True
    if origin.lower().endswith((".csv", ".tsv", ".txt")):
        return "[[line]]" in text
    return "[[line]]" in text or text.lstrip().startswith(("name =", "[product]"))


def _from_toml(text: str, origin: str) -> Formula:
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FormulaError(
            f"The TOML cannot be read: {error}.", origin, _toml_hint(str(error))
        ) from None
    remarks: list[Remark] = []
    for key in sorted(set(tree) - _KEYS):
        remarks.append(Remark("note", "unread-key", f"{origin}: `{key}` is not read."))
    rows = tree.get("line", [])
    if not isinstance(rows, list) or not rows:
        raise FormulaError(
            "The file has no [[line]] tables.", origin, "Write one [[line]] for each ingredient."
        )
    places = _line_places(text, len(rows))
    lines = [
        _toml_line(row, f"{origin}:{place}", remarks, number)
        for number, (row, place) in enumerate(zip(rows, places, strict=True), 1)
    ]
    ph = tree.get("ph")
    if ph is not None and (isinstance(ph, bool) or not isinstance(ph, (int, float))):
        raise FormulaError(f"`ph` is {ph!r}.", origin, "Write a number such as 5.2.")
    if ph is not None and not 0 <= ph <= 14:
        raise FormulaError(f"`ph` is {ph}.", origin, "pH lies between 0 and 14.")
    head = {
        "name": str(tree.get("name", "")),
        "system": str(tree.get("system", "")).strip().lower(),
        "ph": None if ph is None else float(ph),
        "note": str(tree.get("note", "")),
        "product": _block(tree, "product", origin),
        "measured": _block(tree, "measured", origin),
    }
    return _finish(lines, remarks, head, origin=origin)


def _block(tree: dict[str, object], key: str, origin: str) -> dict[str, object]:
    block = tree.get(key, {})
    if not isinstance(block, dict):
        raise FormulaError(f"`{key}` is not a table.", origin, f"Write [{key}] on its own line.")
    return block


def _toml_line(row: object, place: str, remarks: list[Remark], number: int) -> Line:
    if not isinstance(row, dict) or not str(row.get("ingredient", "")).strip():
        raise FormulaError(
            "This line has no `ingredient`.", place, 'Write ingredient = "..." in each [[line]].'
        )
    for key in sorted(set(row) - _LINE_KEYS):
        remarks.append(
            Remark("note", "unread-key", f"{place}: `{key}` is not read.", (number,))
        )
    given = str(row["ingredient"]).strip()
    if "percent" not in row:
        raise FormulaError(
            f"{given!r} has no `percent`.", place, 'Write percent = 2.5 or percent = "q.s.".'
        )
    value = row["percent"]
    qs = isinstance(value, str) and is_balance(value)
    percent = 0.0 if qs else read_percent(value, place, given)
    active = row.get("active")
    return Line(
        given,
        percent,
        str(row.get("stage", "")).strip(),
        qs,
        str(row.get("role", "")).strip(),
        active if isinstance(active, bool) else None,
        row.get("locked") is True,
        place,
    )


def _finish(
    lines: list[Line], remarks: list[Remark], head: dict[str, object], *, origin: str
) -> Formula:
    """Fill the q.s. line and check that something is left to work with."""
    if not lines:
        raise FormulaError(
            "No ingredient lines were found.", origin, "Give a name and a percent on each line."
        )
    balance = [n for n, line in enumerate(lines) if line.qs]
    if len(balance) > 1:
        raise FormulaError(
            f"{len(balance)} lines are {QS}: " + ", ".join(lines[n].given for n in balance) + ".",
            lines[balance[1]].place,
            f"Only one line can be {QS}; give the others a percent.",
        )
    fixed = sum(line.percent for line in lines)
    if balance:
        left = round(100.0 - fixed, 6)
        old = lines[balance[0]]
        if left < 0:
            raise FormulaError(
                f"The other lines add up to {fixed:g} %, so nothing is left for {old.given!r}.",
                old.place,
                "Lower another line, or give this one a percent.",
            )
        lines[balance[0]] = Line(
            old.given, left, old.stage, True, old.role, old.active, old.locked, old.place
        )
    elif fixed <= 0:
        raise FormulaError(
            "All percents are zero.", origin, "Give the percent by mass of each line."
        )
    return Formula(lines=tuple(lines), origin=origin, remarks=tuple(remarks), **head)  # type: ignore[arg-type]


def _line_places(text: str, count: int) -> list[int]:
    places = [n for n, row in enumerate(text.splitlines(), 1) if row.strip() == "[[line]]"]
    return places if len(places) == count else list(range(1, count + 1))


def _toml_hint(message: str) -> str:
    if "Expected newline" in message or "after a statement" in message:
        return "Write decimals with a point (2.5), and text in quotes."
    return "Mend the line named above; text stands in quotes, decimals have a point."
