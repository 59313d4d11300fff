"""Adapt a whole formula to what a brand allows: ask, read the answer, accept it or see why not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kb.adapt.adapting import adapt as adapt_batch
from kb.adapt.answers import Adaptation
from kb.adapt.wish import RULE_TEXT, Wish
from kb.engine.accepting import adopted
from kb.engine.opening import Opened, open_formula, resolve_material
from kb.engine.policy import check_known
from kb.errors import FormulaError, UsageError
from kb.report.adapting import adapt_tree
from kb.report.tree import Tree
from kb.web.answer import Answer, Asked
from kb.web.bench import form_context, place
from kb.web.desk import Desk
from kb.web.fields import Fields
from kb.web.knowledge import policies
from kb.web.own import Shelf, shelf_of
from kb.web.replacing import stock_of
from kb.web.sheet import Sheet
from kb.web.taking import opened_work

#: The time an answer may take, s; where there is none, as much again to say why.
SECONDS = 20.0
#: After that the process is ended, s.
DEADLINE_S = 3.0 * SECONDS
_MOST_ANSWERS = 3
#: Figures worth a row where they move.
_LEFT_OUT = frozenset({"feel", "settling"})
#: A change smaller than this share is not seen.
_SEEN = 0.005


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a formula."""

    policies: tuple[str, ...]
    keep: tuple[int, ...]
    forbid: str
    without: tuple[str, ...]
    top: int
    stock: str

    def fields(self) -> dict[str, object]:
        """Return the question as fields of an address."""
        return {
            "policy": list(self.policies),
            "keep": list(self.keep),
            "forbid": self.forbid,
            "without": list(self.without),
            "top": self.top if self.top > 1 else "",
            "shelf": self.stock,
        }


@dataclass(frozen=True, slots=True)
class Found:
    """An adaptation, with the tree of ``kb adapt``."""

    opened: Opened
    result: Adaptation
    tree: Tree


def adapt(desk: Desk, asked: Asked) -> Answer:
    """Return a formula adapted to what is asked, or the page to ask from."""
    work = opened_work(asked.fields)
    question = _question(asked.fields, desk)
    if work.changed and not asked.as_json:
        target = place("/bench/adapt", work.sheet, **question.fields())
        if target:
            return Answer(place=target)
    if not (question.policies or question.forbid):
        if asked.as_json:
            raise UsageError("Nothing is asked for.", "policy", "Choose what the brand allows.")
        opened = open_formula(work.sheet.formula, desk.base)
        return _page(desk, asked, work.sheet, question, opened, None)
    found = _adaptation(desk, work.sheet, question)
    if asked.as_json:
        return Answer(found.tree)
    return _page(desk, asked, work.sheet, question, found.opened, found.tree)


def _question(fields: Fields, desk: Desk) -> Question:
    chosen = tuple(dict.fromkeys(p.strip().lower() for p in fields.all("policy")))
    check_known(list(chosen), desk.base)
    keep = []
    for text in fields.all("keep"):
        if not (text.isascii() and text.isdigit() and len(text) < 5):
            raise UsageError(f"{text[:40]!r} is no line.", "keep", "Choose lines from the list.")
        keep.append(int(text))
    without = tuple(dict.fromkeys(w.strip() for w in fields.all("without")))
    for rule in without:
        if rule.split("/")[0] not in RULE_TEXT:
            raise UsageError(
                f"There is no rule {rule[:40]!r}.", "without", "Take one that the page names."
            )
    top = min(max(fields.number("top") or 1, 1), _MOST_ANSWERS)
    forbid = fields.get("forbid").strip()[:300]
    return Question(chosen, tuple(sorted(set(keep))), forbid, without, top, stock_of(fields))


def _adaptation(desk: Desk, sheet: Sheet, question: Question) -> Found:
    def work() -> Found:
        opened = open_formula(sheet.formula, desk.base)
        wish = _wish(opened, question, desk)
        result = adapt_batch(opened.batch, desk.base, wish)
        return Found(opened, result, adapt_tree(opened, result, desk.base))

    return desk.kept(("adapt", sheet.text, sheet.origin, question), work)


def _wish(opened: Opened, question: Question, desk: Desk) -> Wish:
    lines = {item.line: n for n, item in enumerate(opened.batch.items)}
    shelf = shelf_of(desk) if question.stock else Shelf()
    forbid = [resolve_material(question.forbid, desk.base)] if question.forbid else []
    for line in question.keep:
        if line not in lines:
            raise FormulaError(
                f"Line {line} holds no material the base knows.", "keep", "Choose another line."
            )
    return Wish(
        policies=question.policies,
        keep=frozenset(lines[line] for line in question.keep),
        forbid=frozenset(forbid),
        only=shelf.materials if question.stock == "only" else None,
        preferred=shelf.materials if question.stock == "first" else None,
        prices=shelf.held.prices,
        top=question.top,
        seconds=SECONDS,
        without=frozenset(question.without),
        currency=shelf.held.currency,
    )


def _page(
    desk: Desk, asked: Asked, sheet: Sheet, question: Question, opened: Opened, tree: Tree | None
) -> Answer:
    formula = opened.formula
    known = {item.line: item for item in opened.batch.items}
    context: dict[str, Any] = {
        **form_context(sheet, asked),
        "tree": tree,
        "name": formula.name,
        "question": question,
        "twin": place("/bench/adapt.json", sheet, **question.fields()),
        "policies": policies(desk.base),
        "titles": dict(policies(desk.base)),
        "has_shelf": bool(desk.content.get("shelf")),
        "lines": [
            {"line": n, "given": line.given, "known": n in known, "locked": line.locked}
            for n, line in enumerate(formula.lines, 1)
        ],
        "answers": [_shown(s, opened) for s in tree["solutions"]] if tree else [],
        "seconds": SECONDS,
        "most": _MOST_ANSWERS,
    }
    return Answer(tree, "adapt.html", context)


def _shown(solution: Tree, opened: Opened) -> Tree:
    """Return an answer as the page shows it: old lines beside the new, figures that move."""
    after: dict[int, list[Tree]] = {}
    for line in solution["formula"]:
        after.setdefault(line["line"], []).append(line)
    exchanged = {c["line"] for c in solution["changes"]}
    total = opened.formula.total
    rows = []
    for number, line in enumerate(opened.formula.lines, 1):
        percent = 100.0 * line.percent / total
        new = after.get(number, [])
        moved = bool(new) and number not in exchanged and abs(new[0]["percent"] - percent) > 5e-3
        rows.append(
            {
                "line": number,
                "given": line.given,
                "percent": percent,
                "after": new,
                "state": "new" if number in exchanged else "moved" if moved else "same",
            }
        )
    effects = {
        name: e
        for name, e in solution["effects"].items()
        if name not in _LEFT_OUT and not isinstance(e["after"], dict) and _moves(e)
    }
    cautions = [(c["line"], one) for c in solution["changes"] for one in c["cautions"]]
    method = list(dict.fromkeys(step for c in solution["changes"] for step in c["method"]))
    return {**solution, "rows": rows, "moving": effects, "cautions": cautions, "method": method}


def _moves(effect: Tree) -> bool:
    before, after = effect["before"], effect["after"]
    if not isinstance(before, float) or not isinstance(after, float):
        return before != after and not isinstance(before, dict)
    return abs(after - before) > _SEEN * max(abs(before), abs(after))


def adopt(desk: Desk, asked: Asked) -> Answer:
    """Put an accepted adaptation into the formula and go back to the bench."""
    sheet = opened_work(asked.fields).sheet
    question = _question(asked.fields, desk)
    if not (question.policies or question.forbid):
        raise UsageError("Nothing is asked for.", "policy", "Choose what the brand allows.")
    found = _adaptation(desk, sheet, question)
    number = asked.fields.number("take") or 0
    if not 1 <= number <= len(found.result.solutions):
        raise UsageError(
            f"There is no answer {number}.", "take", "Choose one of those the page shows."
        )
    solution = found.result.solutions[number - 1]
    exchanged = {change.index: change.to for change in solution.changes}
    aim = ", ".join([*question.policies, *([f"no {question.forbid}"] if question.forbid else [])])
    formula = adopted(found.opened, solution.batch, exchanged, desk.base, because=aim)
    inci = {m.id: m.inci for m in desk.base.materials.values()}
    said = "; ".join(
        f"{' and '.join(inci[m] for m, _ in c.to)} for {inci[c.old]}" for c in solution.changes
    )
    after = sheet.changed(formula, f"adapted to {aim}: {said}")
    target = place("/bench", after)
    if target:
        return Answer(place=target)
    context = {**form_context(after, asked), "what": f"Adapted to {aim}"}
    return Answer(None, "accepted.html", context)
