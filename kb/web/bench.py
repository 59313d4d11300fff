"""The bench: a formula with its lines, findings and profile; every change is a new address."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kb.engine.anchoring import Experience, anchor_profile, experience
from kb.engine.climate import consistency_over_climate
from kb.engine.findings import find_all
from kb.engine.opening import Opened, open_formula
from kb.engine.profile import Profile, make_profile
from kb.engine.quantity import Quantity
from kb.engine.swap import DRAWS
from kb.errors import FormulaError, KbError, UsageError
from kb.formula.reading import decode
from kb.own.file import holds_something
from kb.report.formula import check_tree
from kb.report.paper import figure
from kb.report.tree import Tree
from kb.store.seed import seed_folder
from kb.web.answer import Answer, Asked
from kb.web.desk import Desk
from kb.web.fields import Fields
from kb.web.knowledge import demos
from kb.web.pictures import bars, climate_plot
from kb.web.sheet import LONGEST_LINK, Edit, Mistake, Sheet, edited, pack, shown_percent, unpack
from kb.web.words import query

#: Blank rows offered for new lines.
_BLANK_ROWS = 1
_FEEL = ("feel", "cost")
#: Kinds of file a formula is taken away as.
KINDS = ("toml", "csv", "xlsx", "json")


@dataclass(frozen=True, slots=True)
class Checked:
    """A formula looked at: what the engine made of it, and the tree of ``kb check``."""

    opened: Opened
    profile: Profile
    tree: Tree
    climate: dict[float, Quantity]


@dataclass(slots=True)
class Work:
    """What a request for the bench brings: the sheet, and rows that could not be read."""

    sheet: Sheet
    changed: bool
    edits: list[Edit]
    mistakes: list[Mistake]


def check(desk: Desk, sheet: Sheet) -> Checked:
    """Return the formula of a sheet looked at; the same sheet is looked at once."""

    def work() -> Checked:
        base = desk.base
        opened = open_formula(sheet.formula, base)
        profile = make_profile(opened.batch, base, DRAWS)
        known = measured_before(desk, opened)
        if known is not None:
            anchor_profile(profile, known, base)
        findings = find_all(opened.formula, opened.answers, profile, base)
        tree = check_tree(opened, profile, findings, base)
        return Checked(opened, profile, tree, consistency_over_climate(profile, base))

    return desk.kept(("check", sheet.text, sheet.origin), work)


def measured_before(desk: Desk, opened: Opened) -> Experience | None:
    """Return what the user measured of a formula and its like; nothing when there is nothing."""
    if not (opened.formula.measured or holds_something(desk.own)):
        return None
    return experience(opened, desk.base, desk.content["measurement"])


def work_of(fields: Fields) -> Work | None:
    """Return what a request is about, or nothing when it names no formula."""
    sheet = _start(fields)
    if sheet is None:
        return None
    fresh = "s" not in fields
    if fields.get("do") == "undo":
        return Work(sheet.undone(), True, [], [])
    edits = _edits(fields)
    if not edits:
        return Work(sheet, fresh, [], [])
    try:
        after, mistakes = edited(sheet, edits)
    except FormulaError as error:
        return Work(sheet, fresh, edits, [Mistake(0, "", error.message, error.fix)])
    return Work(after, fresh or after != sheet, edits, mistakes)


def _start(fields: Fields) -> Sheet | None:
    if fields.file is not None and (fields.file or fields.file_name):
        origin = fields.file_name or "upload"
        return Sheet(decode(fields.file, origin), origin)
    if fields.get("formula").strip():
        return Sheet(fields.get("formula"))
    if fields.get("s"):
        return unpack(fields.get("s"))
    name = fields.get("demo")
    if name:
        if name not in demos():
            raise UsageError(
                f"There is no demonstration formula {name[:60]!r}.",
                "demo",
                f"Choose one of {', '.join(demos())}.",
            )
        return Sheet((seed_folder() / "formulas" / f"{name}.toml").read_text("utf-8"))
    if "formula" in fields:
        raise FormulaError(
            "There is no formula in the form.", "formula", "Paste one, or choose a file."
        )
    return None


def _edits(fields: Fields) -> list[Edit]:
    columns = [[v for n, v in fields if n == name] for name in ("line", "name", "percent", "stage")]
    if len({len(column) for column in columns}) != 1:
        raise UsageError("The rows of the form do not match.", "", "Send the form as it stands.")
    rows = zip(*columns, strict=True)
    edits = [Edit(int(n) if n.isdigit() and len(n) < 5 else 0, a, b, c) for n, a, b, c in rows]
    return [e for e in edits if e.line or not e.blank]


def place(path: str, sheet: Sheet, **more: object) -> str:
    """Return the address that shows a sheet, or nothing when it would be too long."""
    packed = pack(sheet)
    return path + query({"s": packed, **more}) if len(packed) <= LONGEST_LINK else ""


def form_context(sheet: Sheet, asked: Asked) -> dict[str, Any]:
    """Return what every form of the bench carries: the packed sheet, and how it is sent."""
    packed = pack(sheet)
    short = len(packed) <= LONGEST_LINK
    return {
        "sheet": packed,
        "method": "get" if short else "post",
        "token": "" if short else asked.token,
        "link": place("/bench", sheet),
    }


def bench(desk: Desk, asked: Asked) -> Answer:
    """Return the bench, or the page to start it from."""
    work = work_of(asked.fields)
    if work is None:
        if asked.as_json:
            raise UsageError(
                "No formula is named.", "", "Send `s`, `formula` or `demo`; see the bench page."
            )
        return Answer(None, "start.html", {"demos": demos(), "token": asked.token})
    if asked.as_json:
        return Answer(check(desk, work.sheet).tree)
    if work.changed and not work.mistakes:
        try:
            check(desk, work.sheet)
        except KbError as error:
            if not work.edits:
                raise
            mistake = Mistake(0, "", error.message, error.fix)
            before = _start(asked.fields)
            assert before is not None
            return _bench_page(desk, asked, Work(before, False, work.edits, [mistake]))
        target = place("/bench", work.sheet)
        if target:
            return Answer(place=target)
    return _bench_page(desk, asked, work)


def _bench_page(desk: Desk, asked: Asked, work: Work) -> Answer:
    found = check(desk, work.sheet)
    tree = found.tree
    findings = tree["findings"]
    context = {
        **form_context(work.sheet, asked),
        "tree": tree,
        "formula": found.opened.formula,
        "rows": _rows(found, work),
        "whole": [f for f in findings if not f["lines"]],
        "counts": [
            (level, sum(f["level"] == level for f in findings))
            for level in ("problem", "caution", "note")
        ],
        "past": list(enumerate(work.sheet.past, 1))[::-1],
        "mistakes": work.mistakes,
        "blank": range(_BLANK_ROWS),
        **pictures(found),
        "anchor": tree["profile"]["consistency_25c"].get("anchor"),
        "left_out": _FEEL,
        "kinds": KINDS,
    }
    return Answer(tree, "bench.html", context, 400 if work.mistakes else 200)


def _rows(found: Checked, work: Work) -> list[Tree]:
    """Return the lines as the form shows them, each with the findings it concerns."""
    formula = found.opened.formula
    typed = {e.line: e for e in work.edits} if work.mistakes else {}
    wrong = {work.edits[m.row].line: m for m in work.mistakes if m.cell}
    rows = []
    for n, (line, tree) in enumerate(zip(formula.lines, found.tree["lines"], strict=True), 1):
        edit = typed.get(n)
        rows.append(
            {
                **tree,
                "name": edit.given if edit else line.given,
                "amount": edit.percent if edit else shown_percent(line),
                "stage": edit.stage if edit else line.stage,
                "qs": line.qs,
                "locked": line.locked,
                "wrong": wrong.get(n),
                "findings": [f for f in found.tree["findings"] if f["lines"][:1] == [n]],
            }
        )
    return rows


def pictures(found: Checked) -> dict[str, Any]:
    """Return the plots beside a formula."""
    phases, profile = found.profile.phases, found.profile
    parts = [
        ("oil phase", phases.oil_mass),
        ("water phase", phases.water_mass),
        ("powder", phases.powder_mass),
        ("not known", found.opened.batch.unknown),
    ]
    solids = []
    for t in (10, 25, 40):
        value = profile.value(f"solids_{t}c")
        if value is not None:
            solids.append((f"{t} °C", value, f"{figure(value)} %"))
    top = max((v for _, v, _ in solids), default=0.0)
    return {
        "climate": climate_plot(found.climate),
        "composition": bars(
            [(label, v, f"{figure(v)} %") for label, v in parts if v > 0.005],
            "Composition by phase",
        ),
        "solids": bars(solids, "Solids, % of the oil phase", _scale_end(top)) if top > 0 else None,
    }


def _scale_end(top: float) -> float:
    """Return where the scale of a bar ends."""
    return next(end for end in (10.0, 20.0, 50.0, 100.0, top) if end >= top)
