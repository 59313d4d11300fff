"""Replace one line: candidates side by side, and the formula with one of them accepted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kb.engine.accepting import accepted
from kb.engine.anchoring import anchor_swaps
from kb.engine.answers import SwapResult
from kb.engine.cost import add_cost
from kb.engine.opening import Opened, open_formula
from kb.engine.policy import check_known
from kb.engine.swap import DRAWS, swap
from kb.errors import FormulaError, UsageError
from kb.report.formula import swap_tree
from kb.report.tree import Tree
from kb.web.answer import Answer, Asked
from kb.web.bench import Work, check, form_context, measured_before, place, work_of
from kb.web.desk import Desk
from kb.web.fields import Fields
from kb.web.knowledge import policies
from kb.web.own import Shelf, shelf_of
from kb.web.sheet import Sheet

_TOP = 10
#: Stand-ins shown in full.
_IN_FULL = 3
#: Figures of the table that compares before and after.
_COMPARED = (
    *("consistency_25c", "climate_drift_10_over_40", "solids_25c", "solids_40c"),
    *("oil_viscosity_25c", "hlb", "required_hlb", "water_activity", "free_preservative"),
    *("natural_origin", "oxidation", "oil_binding", "powder_volume", "cost"),
)


@dataclass(frozen=True, slots=True)
class Found:
    """The stand-ins of one line, with the tree of ``kb swap``."""

    opened: Opened
    result: SwapResult
    tree: Tree


def replace_line(desk: Desk, asked: Asked) -> Answer:
    """Return what can stand in for one line."""
    work, line, chosen = _question(asked.fields)
    stock = stock_of(asked.fields)
    if work.changed and not asked.as_json:
        target = place("/bench/replace", work.sheet, at=line, policy=chosen, shelf=stock)
        if target:
            return Answer(place=target)
    found = _stand_ins(desk, work.sheet, line, chosen, stock)
    if asked.as_json:
        return Answer(found.tree)
    count = min(max(asked.fields.number("full") or _IN_FULL, 1), _TOP)
    groups: dict[tuple[str, str], list[str]] = {}
    for r in found.tree["rejected"]:
        if r["rule"] != "ranked-lower":
            groups.setdefault((r["rule"], r["reason"]), []).append(r["inci"])
    swaps = found.tree["swaps"]
    context = {
        **form_context(work.sheet, asked),
        "tree": found.tree,
        "line": line,
        "chosen": chosen,
        "stock": stock,
        "has_shelf": bool(desk.content.get("shelf")),
        "policies": policies(desk.base),
        "full": swaps[:count],
        "count": count,
        "more": len(swaps) > count,
        "top": _TOP,
        "figures": _figures(swaps[:count]),
        "refused": list(groups.items())[:8],
    }
    return Answer(found.tree, "replace.html", context)


def _question(fields: Fields) -> tuple[Work, int, list[str]]:
    work = work_of(fields)
    if work is None:
        raise UsageError("No formula is named.", "s", "Open one on the bench first.")
    if work.mistakes:
        first = work.mistakes[0]
        raise FormulaError(first.message, "", first.fix)
    line = fields.number("at")
    if line is None:
        raise UsageError("No line is named.", "at", "Press Replace beside the line on the bench.")
    if work.edits:
        kept = [e.line for e in work.edits if e.given.strip()]
        if line not in kept:
            raise UsageError("That line was taken out.", "at", "Choose another line.")
        line = kept.index(line) + 1
    chosen = [p.strip().lower() for p in fields.all("policy")]
    return work, line, list(dict.fromkeys(chosen))


def stock_of(fields: Fields) -> str:
    """Return what the user's shelf is for: nothing, ``first`` or ``only``."""
    stock = fields.get("shelf").strip()
    if stock not in {"", "first", "only"}:
        raise UsageError(f"{stock[:40]!r} is no way to use a shelf.", "shelf", "first or only.")
    return stock


def _stand_ins(desk: Desk, sheet: Sheet, line: int, chosen: list[str], stock: str) -> Found:
    check_known(chosen, desk.base)
    shelf = shelf_of(desk) if stock else Shelf()
    in_stock = set(shelf.materials)

    def work() -> Found:
        opened = open_formula(sheet.formula, desk.base)
        index = _item_on(opened, line)
        result = swap(
            *(opened.batch, index, desk.base, chosen, _TOP),
            only=in_stock if stock == "only" else None,
            preferred=in_stock if stock == "first" else None,
        )
        known = measured_before(desk, opened)
        if known is not None:
            anchor_swaps(result, known, desk.base, DRAWS)
        add_cost(result, shelf.held.prices, shelf.held.currency)
        tree = swap_tree(opened, result, desk.base)
        for shown in tree["swaps"]:
            shown["money"] = None  # as the command says where no batch is named
        return Found(opened, result, tree)

    return desk.kept(("swap", sheet.text, sheet.origin, line, tuple(chosen), stock), work)


def _item_on(opened: Opened, line: int) -> int:
    """Return the place in the batch of the line with a number."""
    if not 1 <= line <= len(opened.formula.lines):
        raise UsageError(
            f"There is no line {line}; the formula has {len(opened.formula.lines)}.",
            "at",
            "Count the ingredient lines from 1.",
        )
    given = opened.formula.lines[line - 1].given
    for n, item in enumerate(opened.batch.items):
        if item.line == line:
            if item.locked:
                raise FormulaError(f"{given} is locked.", f"line {line}", "Unlock it in the file.")
            return n
    raise FormulaError(
        f"{given!r} is not a material the base knows.",
        f"line {line}",
        "Write the name another way on the bench; it shows the nearest names.",
    )


def _figures(swaps: list[Tree]) -> list[Tree]:
    """Return the figures worth a row: those that any of the stand-ins moves."""
    rows = []
    for name in _COMPARED:
        effects = [s["effects"].get(name) for s in swaps]
        if not effects or any(e is None for e in effects):
            continue
        cells = [_cell(e) for e in effects if e is not None]
        if all(c["after"] is None for c in cells) or not any(c["moves"] for c in cells):
            continue
        rows.append({"name": name, "unit": cells[0]["unit"], "cells": cells})
    return rows


def _cell(effect: Tree) -> Tree:
    before, after = effect["before"], effect["after"]
    if isinstance(before, dict) or isinstance(after, dict):
        before = sum(before.values()) if before else None
        after = sum(after.values()) if after else None
    moves = (before is None) != (after is None)
    if before is not None and after is not None:
        moves = abs(after - before) > 0.01 * max(abs(before), 1e-9)
    return {**effect, "before": before, "after": after, "moves": moves}


def accept(desk: Desk, asked: Asked) -> Answer:
    """Put an accepted stand-in into the formula and go back to the bench."""
    work, line, chosen = _question(asked.fields)
    wanted = asked.fields.get("take")
    found = _stand_ins(desk, work.sheet, line, chosen, stock_of(asked.fields))
    one = next((s for s in found.result.swaps if s.candidate.material == wanted), None)
    if one is None:
        raise UsageError(
            f"{wanted[:80]!r} is not among the stand-ins for this line.",
            "take",
            "Choose one of those the page lists.",
        )
    old = desk.base.materials[found.opened.batch.items[found.result.index].material].inci
    new = desk.base.materials[wanted].inci
    what = f"{new} {one.trial.percent:.3g} % instead of {old}"
    after = work.sheet.changed(accepted(found.opened, found.result, one, desk.base), what)
    target = place("/bench", after)
    if target:
        return Answer(place=target)
    context: dict[str, Any] = {**form_context(after, asked), "what": what}
    check(desk, after)
    return Answer(None, "accepted.html", context)
