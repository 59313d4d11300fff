"""The batch sheet as a workbook: what to weigh as numbers, room to write lots and weights."""

from __future__ import annotations

from kb.formula.workbook_out import Page, to_workbook
from kb.report.money import money_lines
from kb.report.paper import printable
from kb.report.sheet import label_rule, label_text, step_text, title_text
from kb.report.tree import Tree

Cells = list[str | float | None]


def sheet_workbook(tree: Tree) -> bytes:
    """Return the sheet of a batch as a workbook with one page."""
    head: list[int] = []
    rows: list[Cells] = []

    def section(*words: str) -> None:
        head.append(len(rows))
        rows.append(list(words))

    section(title_text(tree))
    rows.append([f"{tree['system'] or 'kind unclear'}, {tree['batch_g']:,g} g"])
    rows += [["Date:"], ["Made by:"], ["Batch:"], []]
    section("material", "part", "%", "g", "lot", "weighed, g")
    for line in tree["lines"]:
        rows.append([printable(line["given"]), line["part"], line["percent"], line["grams"]])
    rows.append(["total", None, None, tree["batch_g"]])
    for title, lines in (
        ("Make", [f"{n}. {step_text(s)}" for n, s in enumerate(tree["steps"], 1)]),
        ("Check", tree["checks"]),
        ("Mind", [c["text"] for c in tree["cautions"]]),
        ("Cost and stock", money_lines(tree["money"]) if tree.get("money") else []),
    ):
        if lines:
            rows.append([])
            section(title)
            rows += [[printable(text)] for text in lines]
    rows.append([])
    section("Trial card", "test", "limit", "if not", "result")
    rows += [[t["when"], t["what"], t["limit"], t["stop"]] for t in tree["trial"]]
    rows.append([])
    section("Ingredient list")
    rows += [[label_text(tree)], [label_rule(tree)]]
    return to_workbook([Page("Batch", rows, frozenset(head))])
