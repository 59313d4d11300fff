"""Tell the delimiter and the columns of an exported sheet, and mend split cells."""

from __future__ import annotations

import csv
import io
import math
import re
from collections import Counter
from dataclasses import dataclass, field

from kb.errors import FormulaError
from kb.formula.clean import one_line
from kb.formula.headers import header_kind
from kb.formula.numbers import amount_in, balance_total, short

#: A header may stand below a few lines of title.
_TITLE_ROWS = 15
DELIMITERS = ";\t|,"
_FIX = "Put names that hold a comma in quotes, or export with semicolons between the columns."


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the sheet with its line in the file."""

    number: int
    cells: list[str]


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand: rows below the header, column of each kind, number of columns."""

    rows: list[Row]
    columns: dict[str, int]
    headings: dict[str, str] = field(default_factory=dict)
    width: int = 0
    delimiter: str = ","
    skipped: str = ""
    header: int = 0


def find_layout(text: str, origin: str) -> Layout:
    """Find delimiter, header and columns of a sheet.

    Raises
    ------
    FormulaError
        No name and percent columns can be told.
    """
    stated = re.match(r"\s*\"?sep=(.)\"?[^\n]*\n", text)
    if stated:
        text = "\n" + text[stated.end() :]
    delimiters = stated[1] if stated and stated[1] in DELIMITERS else DELIMITERS
    read = {d: read_rows(text, d, origin) for d in delimiters if d in text}
    headed = [one for d, rows in read.items() if (one := _with_header(rows, d))]
    if headed:
        # A line further down may look like a header when it is split in another way.
        return min(headed, key=lambda layout: layout.header)
    bare = [_without_header(rows, delimiter, origin) for delimiter, rows in read.items()]
    found = [layout for layout in bare if layout]
    if found:
        return max(found, key=lambda layout: sum(_has_amount(r, layout) for r in layout.rows))
    first = next((line for line in text.splitlines() if line.strip()), "")
    raise FormulaError(
        f"No name and percent columns were found; the first line reads {short(first.strip())}.",
        f"{origin}:1",
        "Head the columns `ingredient` and `percent` "
        "(German, French, Spanish and Italian words do too).",
    )


def mended(row: Row, layout: Layout, origin: str) -> list[str]:
    """Return the cells of a row, with a name or number joined again that the delimiter split.

    Raises
    ------
    FormulaError
        The row has more cells than columns and can be read in two ways.
    """
    cells = list(row.cells)
    while len(cells) > layout.width and not cells[-1]:
        cells.pop()
    extra = len(cells) - layout.width
    amount = layout.columns.get("percent", -1)
    name = layout.columns.get("name", -1)
    if extra <= 0 or amount < 0:
        return cells
    ways = [cells] if amount < layout.width - 1 and is_amount(cells[amount]) else []
    for start, glue in ((name, f"{layout.delimiter} "), (amount, layout.delimiter)):
        joined = glue.join(cells[start : start + extra + 1])
        if start == name and re.search(r"\d,\s*\d", joined):
            joined = layout.delimiter.join(cells[start : start + extra + 1])
        way = [*cells[:start], joined, *cells[start + extra + 1 :]]
        if is_amount(way[amount]) and re.search(r"[^\W\d]", way[name]) and way not in ways:
            ways.append(way)
    if len(ways) == 1:
        return ways[0]
    if ways or any(is_amount(cell) for cell in cells):
        raise FormulaError(
            f"This line has {len(cells)} cells, the header {layout.width}: "
            f"{short(layout.delimiter.join(row.cells))}.",
            f"{origin}:{row.number}",
            _FIX,
        )
    return cells


def is_amount(text: str) -> bool:
    """Tell whether a cell is a number, with or without unit, or fills up to a total."""
    return balance_total(text) is not None or not math.isnan(amount_in(text)[0])


def read_rows(text: str, delimiter: str, origin: str, *, remarks: bool = False) -> list[Row]:
    """Return the rows that hold something, remarks apart or alone; a line end as delimiter is none.

    A remark begins with ``#``.
    """
    reader = csv.reader(
        io.StringIO(text, newline=""),
        delimiter="\x1f" if delimiter == "\n" else delimiter,
        skipinitialspace=True,
    )
    rows = []
    before = 0
    try:
        for cells in reader:
            row = Row(before + 1, [one_line(c) for c in cells])
            before = reader.line_num
            if any(row.cells) and _is_comment(row.cells) is remarks:
                rows.append(row)
    except csv.Error as error:
        raise FormulaError(
            f"The table cannot be read: {error}.",
            f"{origin}:{reader.line_num}",
            "Export the sheet as plain CSV.",
        ) from None
    return rows


def _is_comment(cells: list[str]) -> bool:
    numbers = re.fullmatch(r"# ?(no|nr|num)?\.?", cells[0].lower())
    return cells[0].startswith("#") and numbers is None


def _with_header(rows: list[Row], delimiter: str) -> Layout | None:
    for index, row in enumerate(rows[:_TITLE_ROWS]):
        columns: dict[str, int] = {}
        headings: dict[str, str] = {}
        for position, cell in enumerate(row.cells):
            kind = header_kind(cell)
            if kind and kind not in columns:
                columns[kind], headings[kind] = position, cell
        if "inci" in columns:
            # The INCI name resolves best; another name column helps where it is blank.
            other = columns.pop("name", None)
            columns["name"] = columns.pop("inci")
            if other is not None:
                columns["other name"] = other
        measure = next((k for k in ("percent", "grams", "amount") if k in columns), "")
        if "name" in columns and measure:
            columns["percent"] = columns[measure]
            headings["measure"] = measure
            headings["percent"] = headings[measure]
            width = len(row.cells)
            while width and not row.cells[width - 1]:
                width -= 1
            below = rows[index + 1 :]
            return Layout(below, columns, headings, width, delimiter, header=row.number)
    return None


def _without_header(rows: list[Row], delimiter: str, origin: str) -> Layout | None:
    """Take name and percent by position."""
    if not rows:
        return None
    if (
        delimiter == ","
        and len(rows) > 1
        and all(len(r.cells) == 3 and re.fullmatch(r"\d+,\d+", ",".join(r.cells[1:])) for r in rows)
    ):
        raise FormulaError(
            "Commas stand between the columns and in the numbers.",
            f"{origin}:{rows[0].number}",
            "Write decimals with a point, or export with semicolons between the columns.",
        )
    width = Counter(len(r.cells) for r in rows).most_common(1)[0][0]
    for name, amount in ((0, 1), (1, 2), (1, 0), (0, 2)):
        if width <= max(name, amount):
            continue
        usable = [r for r in rows if len(r.cells) >= width]
        good = [
            is_amount(r.cells[amount]) and bool(re.search(r"[^\W\d]{2}", r.cells[name]))
            for r in usable
        ]
        if sum(good) < max(1, len(usable) / 2):
            continue
        columns = {"name": name, "percent": amount}
        if name == 1 and amount == 2:
            columns["stage"] = 0
        skip = not is_amount(rows[0].cells[min(amount, len(rows[0].cells) - 1)]) and any(good[1:])
        filled = len(rows[0].cells) > amount and bool(rows[0].cells[amount])
        headed = skip and filled
        return Layout(
            rows[1:] if headed else rows,
            columns,
            {"measure": "amount"},
            width,
            delimiter,
            delimiter.join(rows[0].cells) if headed else "",
        )
    return None


def _has_amount(row: Row, layout: Layout) -> bool:
    amount = layout.columns["percent"]
    return len(row.cells) > amount and is_amount(row.cells[amount])
