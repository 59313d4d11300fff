"""Tables as the user hands them over: CSV with a header, each row with its line."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

from kb.errors import FormulaError
from kb.formula.clean import one_line
from kb.formula.reading import decode, read_bytes

_MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class Line:
    """One row by column name, with its line in the file."""

    number: int
    cells: dict[str, str]

    def get(self, name: str) -> str:
        """Return a cell, empty when there is no such column."""
        return self.cells.get(name, "")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as read: its origin, its columns as written, its rows."""

    origin: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]


def read_table(path: str) -> Sheet:
    """Read a CSV file with a header row.

    Raises
    ------
    FormulaError
        It cannot be read, or has no rows below a header.
    """
    return parse_table(decode(read_bytes(path, "list"), path), path)


def parse_table(text: str, origin: str) -> Sheet:
    """Read CSV text; commas, semicolons or tabs between the columns, decimal commas with those.

    Raises
    ------
    FormulaError
        It has no rows below a header, or a row is longer than the header.
    """
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    lines: list[Line] = []
    columns: tuple[str, ...] = ()
    start = 1
    try:
        for cells in reader:
            number, start = start, reader.line_num + 1
            tidy = [_number(one_line(cell), delimiter) for cell in cells]
            if not any(tidy) or tidy[0].startswith("#"):
                continue
            if not columns:
                columns = tuple(cell.casefold() for cell in tidy)
                _check_columns(columns, origin, number)
                continue
            if any(tidy[len(columns) :]):
                raise FormulaError(
                    f"This line has {len(tidy)} cells, the header {len(columns)}.",
                    f"{origin}:{number}",
                    "Put cells that hold the separator in quotes.",
                )
            lines.append(Line(number, dict(zip(columns, tidy, strict=False))))
    except csv.Error as error:
        raise FormulaError(
            f"The table cannot be read: {error}.", f"{origin}:{reader.line_num}", "Export as CSV."
        ) from None
    if not lines:
        raise FormulaError(
            "There are no rows below the header.", origin, "`kb own template` shows the columns."
        )
    if len(lines) > _MOST_ROWS:
        raise FormulaError(f"The file has {len(lines)} rows.", origin, f"At most {_MOST_ROWS}.")
    return Sheet(origin, columns, tuple(lines))


def _number(cell: str, delimiter: str) -> str:
    """Write a decimal comma as a point where commas do not part the columns."""
    if delimiter != "," and re.fullmatch(r"-?\d+,\d+(\s*(-|\.\.)\s*-?\d+,\d+)?", cell):
        return cell.replace(",", ".")
    return cell


def _check_columns(columns: tuple[str, ...], origin: str, number: int) -> None:
    named = [column for column in columns if column]
    twice = next((column for column in named if named.count(column) > 1), "")
    if twice:
        raise FormulaError(
            f"The column {twice!r} stands there twice.", f"{origin}:{number}", "Leave one out."
        )
