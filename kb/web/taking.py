"""Take a formula away as a file."""

from __future__ import annotations

import re
import unicodedata

from kb.errors import FormulaError, UsageError
from kb.formula.writing import written
from kb.report.tree import envelope, to_json
from kb.web.answer import FILE_TYPES, Answer, Asked
from kb.web.bench import Work, check, work_of
from kb.web.desk import Desk
from kb.web.fields import Fields


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
    if kind not in FILE_TYPES:
        raise UsageError(
            f"There is no kind of file {kind[:20]!r}.",
            "as",
            f"Choose one of {', '.join(FILE_TYPES)}.",
        )
    formula = sheet.formula
    if kind == "json":
        content = (to_json(envelope(desk.base.build, check(desk, sheet).tree)) + "\n").encode()
    else:
        found = written(formula, f".{kind}")
        content = found if isinstance(found, bytes) else found.encode()
    name = f"{file_stem(formula.name)}.{kind}"
    return Answer(file=content, file_name=name, kind=FILE_TYPES[kind])


def file_stem(name: str) -> str:
    """Return a name as part of the name of a file."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "formula"
