"""All that is the user's as TOML text that reads in again."""

from __future__ import annotations

import json
import re
import tomllib
from typing import Any

from kb.errors import FormulaError
from kb.own.content import Content
from kb.own.given import Batch, Given
from kb.own.tables import OWN_TABLES, TABLES
from kb.store.tables import DATA_SHEET, EVIDENCE

FORM = 1


def to_text(content: Content) -> str:
    """Return the whole content as TOML; cells that hold nothing are left out."""
    out = ["# Like for Like: materials, values, shelf and measurements of one user."]
    out += ["# `kb own add` reads it in again.", f"form = {FORM}"]
    for table in TABLES:
        for row in content[table.name]:
            out += ["", f"[[{table.name}]]"]
            for column in table.columns:
                if row[column] not in ("", None):
                    out.append(f"{column} = {_value(row[column])}")
    return "\n".join(out) + "\n"


def _value(value: Any) -> str:
    if isinstance(value, str):
        text = json.dumps(value, ensure_ascii=False)
        return re.sub("[\x7f-\x9f\ud800-\udfff]", lambda c: f"\\u{ord(c[0]):04x}", text)
    return repr(float(value))


def from_text(text: str, origin: str) -> tuple[Batch, Content]:
    """Read TOML text: rows for the lint, and shelf and measurements as they are.

    Raises
    ------
    FormulaError
        It is no such text.
    """
    try:
        tree = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise FormulaError(
            f"The TOML cannot be read: {error}.", origin, "Give a file of `kb own export`."
        ) from None
    if "line" in tree:
        raise FormulaError(
            "This is a formula, not a list of your own.",
            origin,
            "`kb own template` shows a list; `kb check` looks at a formula.",
        )
    if tree.pop("form", FORM) != FORM:
        raise FormulaError("The form of this text is newer.", origin, "Use the newer program.")
    batch = Batch(origin)
    rest: Content = {table.name: [] for table in TABLES if not table.seed}
    lines = _lines(text)
    for name, rows in tree.items():
        if name not in OWN_TABLES or not isinstance(rows, list):
            raise FormulaError(f"`{name}` is no part of it.", origin, "See `kb own export`.")
        for index, row in enumerate(rows):
            line = lines.get((name, index), 0)
            if isinstance(row, dict):
                _take(name, row, line, batch, rest)
            else:
                batch.fault(line, name, str(row)[:60], f"a table headed [[{name}]]")
    return batch, rest


def _take(name: str, row: dict[str, Any], line: int, batch: Batch, rest: Content) -> None:
    about = OWN_TABLES[name]
    cells: dict[str, Any] = {}
    good = True
    for column in row:
        if column not in about.columns:
            batch.fault(line, column, str(row[column])[:60], "a column of " + name)
            good = False
    for column in about.columns:
        value = row.get(column)
        if column in about.numbers:
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if value is not None and not number:
                batch.fault(line, column, str(value)[:60], "a number")
                good = False
            cells[column] = float(value) if number and value is not None else None
        else:
            if value is not None and not isinstance(value, str):
                batch.fault(line, column, str(value)[:60], "text in quotes")
                good = False
            cells[column] = value or ""
    needed = [c for c in about.key if c in {"name", "id"} and not about.seed and not cells[c]]
    if needed or (name == "measurement" and cells["value"] is None):
        batch.fault(line, needed[0] if needed else "value", "", "something here")
        good = False
    if not good:
        return
    if cells.get("evidence") == EVIDENCE[0]:
        # Seen by the user, not by us.
        cells["evidence"] = DATA_SHEET
    if about.seed:
        batch.rows.append(Given(about.seed, cells, line))
        if name == "material":
            if cells["material"] and not is_own(cells["material"]):
                batch.fault(line, "material", cells["material"], "an id of yours, own- in it")
            batch.anew.append(cells["material"])
    else:
        rest[name].append(cells)


def is_own(material: str) -> bool:
    """Tell whether an id is one of the user's: ours never begin so."""
    return material.startswith("own-") or "--own-" in material


def _lines(text: str) -> dict[tuple[str, int], int]:
    """Return the line of each table header by name and number."""
    found: dict[tuple[str, int], int] = {}
    counts: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        match = re.fullmatch(r"\s*\[\[\s*(\w+)\s*\]\]\s*", line)
        if match:
            count = counts.get(match[1], 0)
            found[match[1], count] = number
            counts[match[1]] = count + 1
    return found
