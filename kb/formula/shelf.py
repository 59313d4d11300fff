"""Read what is in stock: a CSV with a name on each line, other columns as they come."""

from __future__ import annotations

from kb.errors import FormulaError
from kb.formula.headers import header_kind
from kb.formula.layout import DELIMITERS, read_rows
from kb.formula.reading import decode, read_bytes


def read_shelf(path: str) -> list[str]:
    """Return the names on a stock list.

    Raises
    ------
    FormulaError
        The file cannot be read or has no names.
    """
    text = decode(read_bytes(path), path)
    lines = [line for line in text.splitlines() if line.strip()]
    usual = (d for d in DELIMITERS if sum(d in line for line in lines) > len(lines) / 2)
    rows = [row.cells for row in read_rows(text, next(usual, "\n"), path)]
    kinds = [header_kind(cell) for cell in rows[0]] if rows else []
    column = next((kinds.index(kind) for kind in ("inci", "name") if kind in kinds), None)
    body = rows if column is None else rows[1:]
    cells = [row[column or 0] for row in body if len(row) > (column or 0)]
    names = [cell for cell in cells if any(c.isalnum() for c in cell)]
    if not names:
        raise FormulaError("The stock list has no names.", path, "One material name a line.")
    return names
