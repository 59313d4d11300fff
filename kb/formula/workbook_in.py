"""A spreadsheet workbook as text: the cells of one sheet, tab between columns, a line a row.

Nothing in the file is run or worked out: a formula counts as what the spreadsheet last stored for
it. Whoever reads lists as text reads workbooks the same way, with row numbers as line numbers.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from typing import Any

from kb.errors import FormulaError
from kb.formula.clean import one_line
from kb.formula.headers import header_kind

#: What all parts together may swell to; a compressed bomb states or hides far more.
_MAX_UNPACKED = 40_000_000
_MAX_PART = 12_000_000
_MAX_PARTS = 2_000
_MAX_SHEETS = 50
MAX_ROWS = 20_000
_MAX_COLUMNS = 100
#: A header stands in the first rows, below a title at most.
_HEADER_ROWS = 15
_SAVE = "Save the sheet as a plain workbook (.xlsx) or as CSV and read that."
_DAMAGED = "The workbook is damaged: {}."


def workbook_text(raw: bytes, origin: str, most: int) -> str:
    """Return the cells of the sheet that holds the list: tabs between columns, one line a row.

    The first visible sheet that names ingredients in a heading is taken, else the first with
    content. Dates are written year-month-day; a cell shown as percent is given as percent.

    Parameters
    ----------
    raw : bytes
        The file.
    origin : str
        Its name, for messages.
    most : int
        Most characters that the text may have.

    Raises
    ------
    FormulaError
        It is no plain workbook, holds macros, is damaged, or is larger than any list.
    """
    _look_over(raw, origin)
    try:
        sheets = [
            (title, rows) for title, rows in _sheets(raw, origin, most) if any(map(any, rows))
        ]
    except FormulaError:
        raise
    except Exception as error:  # whatever a broken file makes the library raise
        reason = one_line(f"{type(error).__name__}: {error}")[:120]
        raise FormulaError(_DAMAGED.format(reason), origin, _SAVE) from None
    if not sheets:
        raise FormulaError("The workbook is empty.", origin, "Fill in its first sheet.")
    rows = next((rows for _, rows in sheets if _has_names(rows)), sheets[0][1])
    out = io.StringIO()
    writer = csv.writer(out, delimiter="\t", lineterminator="\n")
    width = max(2, *(len(row) for row in rows))
    for row in rows:
        if any(row):
            writer.writerow(row + [""] * (width - len(row)))
        else:
            out.write("\n")
    return out.getvalue()


def _look_over(raw: bytes, origin: str) -> None:
    """Refuse what is no plain workbook before anything in it is read."""
    if raw.startswith(b"\xd0\xcf\x11\xe0"):
        raise FormulaError(
            "This is an old binary workbook, or one locked with a password.", origin, _SAVE
        )
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            _check_parts(archive, origin)
    except FormulaError:
        raise
    except Exception as error:  # a broken archive makes zipfile raise anything
        raise FormulaError(_DAMAGED.format(one_line(str(error))[:80]), origin, _SAVE) from None


def _check_parts(archive: zipfile.ZipFile, origin: str) -> None:
    parts = archive.infolist()
    names = {part.filename for part in parts}
    if any(part.flag_bits & 0x1 for part in parts):
        raise FormulaError("The workbook is locked with a password.", origin, _SAVE)
    if "xl/workbook.bin" in names:
        raise FormulaError("This is a binary workbook.", origin, _SAVE)
    if "xl/workbook.xml" not in names:
        kind = "an OpenDocument file" if "content.xml" in names else "an archive"
        raise FormulaError(f"This is {kind}, not an .xlsx workbook.", origin, _SAVE)
    if any("vbaproject" in name.lower() or "/macrosheets/" in name.lower() for name in names):
        raise FormulaError(
            "The workbook holds macros and is not opened.",
            origin,
            "Save it as a workbook without macros (.xlsx).",
        )
    # No part gives more than it states, so what is stated can be relied on.
    total = sum(part.file_size for part in parts)
    if (
        total > _MAX_UNPACKED
        or len(parts) > _MAX_PARTS
        or any(part.file_size > _MAX_PART for part in parts)
        or sum(name.startswith("xl/worksheets/sheet") for name in names) > _MAX_SHEETS
    ):
        raise FormulaError(
            "The workbook unpacks to more than any list needs; it is not opened.",
            origin,
            "Keep the list alone in a workbook of its own.",
        )
    for part in parts:
        if part.filename.lower().endswith((".xml", ".rels")):
            text = archive.read(part).replace(b"\0", b"")
            if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
                raise FormulaError("The workbook is not as workbooks are built.", origin, _SAVE)


def _sheets(raw: bytes, origin: str, most: int) -> Iterator[tuple[str, list[list[str]]]]:
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = load_workbook(
            io.BytesIO(raw), read_only=True, data_only=True, keep_links=False, keep_vba=False
        )
        asked = None
        if _has_formulas(raw):
            asked = load_workbook(
                io.BytesIO(raw), read_only=True, data_only=False, keep_links=False
            )
        left = most
        for sheet in book.worksheets:
            if sheet.sheet_state != "visible":
                continue
            other = None if asked is None else asked[sheet.title]
            rows = list(_rows(sheet, other, origin, left))
            left -= sum(len(cell) for row in rows for cell in row)
            yield sheet.title, rows


def _has_formulas(raw: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        return any(
            re.search(rb"<(\w+:)?f[ >/]", archive.read(name)) is not None
            for name in archive.namelist()
            if name.startswith("xl/worksheets/")
        )


def _rows(sheet: Any, asked: Any, origin: str, left: int) -> Iterator[list[str]]:
    """Yield the rows as text; where a formula has no stored value, the formula itself."""
    for one in (sheet, asked):
        if one is not None:
            # A stated size of a million rows is neither believed nor needed.
            one.reset_dimensions()
    most = {"max_row": MAX_ROWS + 1, "max_col": _MAX_COLUMNS}
    formulas = iter(()) if asked is None else asked.iter_rows(**most)
    for number, cells in enumerate(sheet.iter_rows(**most), 1):
        stored = next(formulas, ())
        row = [_text(cell) for cell in cells]
        for place, cell in enumerate(stored):
            if place < len(row) and not row[place] and cell.data_type == "f":
                row[place] = one_line(str(cell.value))
        while row and not row[-1]:
            row.pop()
        left -= sum(map(len, row))
        if (number > MAX_ROWS and row) or left < 0:
            raise FormulaError(
                f"The sheet {sheet.title!r} holds more than any list: at most {MAX_ROWS} rows "
                "and 1 MB of text.",
                f"{origin}:{number}",
                "Keep the list alone in a workbook of its own.",
            )
        yield row


def _text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        # What is only shown behind a number, in quotes or escaped, does not change it.
        shape = re.sub(r'"[^"]*"|\\.', "", cell.number_format or "")
        return f"{100.0 * value:.15g} %" if "%" in shape else f"{value:.15g}"
    if isinstance(value, datetime.datetime):
        midnight = value.time() == datetime.time()
        return value.date().isoformat() if midnight else value.isoformat(" ")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return one_line(str(value))


def _has_names(rows: list[list[str]]) -> bool:
    return any(header_kind(cell) in {"name", "inci"} for row in rows[:_HEADER_ROWS] for cell in row)
