"""Compare two versions of a formula, and take one away as a file."""

from __future__ import annotations

import csv
import io
import re
import unicodedata

from kb.engine.swap import change
from kb.errors import UsageError
from kb.formula.model import Formula, Line
from kb.formula.writing import to_toml
from kb.report.tree import Tree, envelope, to_json
from kb.web.answer import Answer, Asked
from kb.web.bench import Checked, Work, check, form_context, work_of
from kb.web.desk import Desk
from kb.web.fields import Fields
from kb.web.sheet import Sheet, shown_percent

_KINDS = {
    "toml": "application/toml; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json; charset=utf-8",
}


def _opened(fields: Fields) -> Work:
    work = work_of(fields)
    if work is None:
        raise UsageError("No formula is named.", "s", "Open one on the bench first.")
    return work


def compare(desk: Desk, asked: Asked) -> Answer:
    """Return two versions of a formula, line by line and figure by figure."""
    sheet = _opened(asked.fields).sheet
    if not sheet.past:
        raise UsageError(
            "There is only one version of this formula.", "", "Change a line first, then compare."
        )
    wanted = asked.fields.number("version") or len(sheet.past)
    if not 1 <= wanted <= len(sheet.past):
        raise UsageError(f"There is no version {wanted}.", "version", "Choose one from the list.")
    step = sheet.past[wanted - 1]
    before, after = check(desk, Sheet(step.text, step.origin)), check(desk, sheet)
    tree: Tree = {
        "version": wanted,
        "steps": [s.what for s in sheet.past[wanted - 1 :]],
        "lines": _line_pairs(before, after),
        "effects": _effects(before, after),
    }
    context = {
        **form_context(sheet, asked),
        "tree": tree,
        "versions": list(enumerate(sheet.past, 1)),
        "wanted": wanted,
    }
    return Answer(tree, "compare.html", context)


def _line_pairs(before: Checked, after: Checked) -> list[Tree]:
    """Set the lines of two versions beside each other, in the order of the later one."""
    old, new = _keyed(before.tree["lines"]), _keyed(after.tree["lines"])
    order = list(new)
    for n, key in enumerate(old):
        if key not in new:
            order.insert(min(n, len(order)), key)
    rows = []
    for key in order:
        a, b = old.get(key), new.get(key)
        shown = b or a or {}
        had, has = (a or {}).get("percent"), (b or {}).get("percent")
        state = "gone" if b is None else "new" if a is None else "same"
        if state == "same" and abs((had or 0.0) - (has or 0.0)) > 5e-5:
            state = "changed"
        rows.append(
            {
                "name": shown["inci"] or shown["given"],
                "ingredient": shown["ingredient"],
                "before": had,
                "after": has,
                "change": (has or 0.0) - (had or 0.0),
                "state": state,
            }
        )
    return rows


def _keyed(lines: list[Tree]) -> dict[tuple[str, str, int], Tree]:
    """Return lines by material, stage and how often that has come before."""
    found: dict[tuple[str, str, int], Tree] = {}
    for line in lines:
        name, stage = line["ingredient"] or line["given"].casefold(), line["stage"].casefold()
        count = sum(key[:2] == (name, stage) for key in found)
        found[name, stage, count] = line
    return found


def _effects(before: Checked, after: Checked) -> Tree:
    found: Tree = {}
    for name, quantity in before.profile.quantities.items():
        if name in {"feel", "cost"}:
            continue
        one = change(quantity, after.profile.quantities[name])
        moved = {"kind": one.kind, "value": one.value, "low": one.low, "high": one.high}
        found[name] = {
            "before": one.before,
            "after": one.after,
            "unit": one.unit,
            "change": moved,
        }
    return found


def take(desk: Desk, asked: Asked) -> Answer:
    """Return the formula as a file."""
    sheet = _opened(asked.fields).sheet
    kind = asked.fields.get("as") or "toml"
    if kind not in _KINDS:
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
    return Answer(file=content.encode(), file_name=name, kind=_KINDS[kind])


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
