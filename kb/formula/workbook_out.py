"""Write tables as a spreadsheet workbook or as CSV; text stays text, whatever it begins with."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

#: Characters that a workbook cannot hold.
_UNHELD = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_WIDEST, _NARROWEST = 60, 9
_MOST_TEXT = 32_000


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet: its title, its rows, and which of them (from 0) are headings."""

    title: str
    rows: Sequence[Sequence[str | float | None]]
    headings: frozenset[int] = frozenset()


def to_workbook(pages: Sequence[Page]) -> bytes:
    """Return the bytes of a workbook with one sheet for each page."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    book.remove(book.active)
    bold, wrapped = Font(bold=True), Alignment(wrap_text=True, vertical="top")
    for page in pages:
        sheet = book.create_sheet(re.sub(r"[\\/*?:\[\]]", " ", page.title)[:31] or "Sheet")
        widths: dict[int, int] = {}
        for number, row in enumerate(page.rows):
            for column, value in enumerate(row, 1):
                if value is None or value == "":
                    continue
                cell = sheet.cell(number + 1, column)
                if isinstance(value, str):
                    cell.value = _UNHELD.sub("", value)[:_MOST_TEXT]
                    cell.data_type = "s"
                else:
                    cell.value = value
                if number in page.headings:
                    cell.font = bold
                if isinstance(value, str) and len(value) > _WIDEST:
                    cell.alignment = wrapped
                widths[column] = max(widths.get(column, 0), len(str(value)))
        for column, width in widths.items():
            letter = get_column_letter(column)
            sheet.column_dimensions[letter].width = min(max(width + 2, _NARROWEST), _WIDEST)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def table_csv(rows: Sequence[Sequence[str | float | None]]) -> str:
    """Return a table as CSV with points and commas, as statistics programs read it.

    Text that a spreadsheet would take for a sum begins with an apostrophe.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in rows:
        writer.writerow(
            "" if c is None else _safe(c) if isinstance(c, str) else f"{c:.6g}" for c in row
        )
    return out.getvalue()


def _safe(cell: str) -> str:
    return f"'{cell}" if cell[:1] in {"=", "+", "-", "@"} else cell
