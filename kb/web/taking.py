"""Take a formula away as a file."""

from __future__ import annotations

import csv
import io
import re
import unicodedata

from kb.errors import FormulaError, UsageError
from kb.formula.model import Formula, Line
from kb.formula.writing import to_toml
from kb.report.tree import envelope, to_json
from kb.web.answer import Answer, Asked
from kb.web.bench import Work, check, work_of
from kb.web.desk import Desk
from kb.web.fields import Fields
from kb.web.sheet import shown_percent

_TYPES = {
    "toml": "application/toml; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json; charset=utf-8",
}


def opened_work(fields: Fields) -> Work:
    """Return the formula a request is about.

    Raises
    ------
    UsageError
        It names none.
    FormulaError
        A cell of its form cannot be read.
    """
    work = work_of(fields)
    if work is None:
        raise UsageError("No formula is named.", "s", "Open one on the bench first.")
    if work.mistakes:
        raise FormulaError(work.mistakes[0].message, "", work.mistakes[0].fix)
    return work


def take(desk: Desk, asked: Asked) -> Answer:
    """Return the formula as a file."""
    sheet = opened_work(asked.fields).sheet
    kind = asked.fields.get("as") or "toml"
    if kind not in _TYPES:
        raise UsageError(
            f"There is no kind of file {kind[:20]!r}.", "as", "Choose toml, csv or json."
        )
    formula = sheet.formula
    if kind == "toml":
        content = to_toml(formula)
    elif kind == "csv":
        content = to_csv(formula)
    else:
        content = to_json(envelope(desk.base.build, check(desk, sheet).tree)) + "\n"
    name = f"{_file_stem(formula.name)}.{kind}"
    return Answer(file=content.encode(), file_name=name, kind=_TYPES[kind])


def to_csv(formula: Formula) -> str:
    """Return the lines of a formula as a table that reads back the same."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    head = ["ingredient", "percent", "stage", "role", "active", "locked"]
    writer.writerow(head)
    writer.writerows([_safe(cell) for cell in _cells(line)] for line in formula.lines)
    return out.getvalue()


def _cells(line: Line) -> list[str]:
    active = {True: "yes", False: "no", None: ""}[line.active]
    percent = shown_percent(line)
    return [line.given, percent, line.stage, line.role, active, "yes" if line.locked else ""]


def _safe(cell: str) -> str:
    """Keep a spreadsheet from taking a name for a sum."""
    return f"'{cell}" if re.match(r"[=+@\t\r]|-[^\d]", cell) else cell


def _file_stem(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "formula"
