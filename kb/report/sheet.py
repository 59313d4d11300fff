"""The batch sheet: tree, text, Markdown, printable HTML."""

from __future__ import annotations

from html import escape

from kb.engine.findings import Finding
from kb.engine.opening import Opened
from kb.engine.sheet import BatchSheet
from kb.report.money import money_lines
from kb.report.paper import Heading, bullet, figure, plain, printable, table, wrap
from kb.report.tree import Tree
from kb.store.snapshot import Snapshot

_STYLE = (
    "body{font:12pt/1.4 serif;margin:2cm auto;max-width:18cm;color:#000;background:#fff}"
    "table{border-collapse:collapse;width:100%}th,td{border-bottom:1px solid #999;"
    "padding:.15em .4em;text-align:left;vertical-align:top}td.n,th.n{text-align:right}"
    "td.box{width:2.5cm}h2{font-size:13pt;margin:1.2em 0 .3em}li{margin:.2em 0}"
    "@media print{body{margin:0;max-width:none}}"
)


def sheet_tree(
    opened: Opened, sheet: BatchSheet, system: str | None, findings: list[Finding], base: Snapshot
) -> Tree:
    """Return the tree of ``kb sheet``."""
    return {
        "name": opened.formula.name,
        "system": system,
        "batch_g": sheet.batch_g,
        "balance_g": sheet.readable_g,
        "lines": [
            {
                "line": w.line,
                "ingredient": w.material,
                "given": w.name,
                "inci": base.materials[w.material].inci if w.material else None,
                "percent": w.percent,
                "grams": w.grams,
                "part": w.part,
            }
            for w in sheet.weighings
        ],
        "steps": [
            {"text": s.text, "lines": list(s.lines), "temperature_c": s.temperature_c}
            for s in sheet.steps
        ],
        "checks": list(sheet.checks),
        "cautions": [
            *({"rule": "sheet", "text": text} for text in sheet.warnings),
            *(
                {"rule": f.rule, "text": plain(f.message)}
                for f in findings
                if f.level in {"problem", "caution"} or f.rule == "before-use"
            ),
        ],
        "trial": [
            {"when": t.when, "what": t.what, "limit": t.limit, "stop": t.stop} for t in sheet.trial
        ],
        "label": [{"inci": n.inci, "percent": n.percent, "free": n.free} for n in sheet.label],
    }


def _grams(tree: Tree) -> list[str]:
    places = next((n for n in range(4) if round(tree["balance_g"], n) == tree["balance_g"]), 3)
    return [f"{line['grams']:,.{places}f}" for line in tree["lines"]]


def title_text(tree: Tree) -> str:
    """Return the heading of the sheet."""
    return printable(tree["name"]) or "Formula"


def step_text(step: Tree) -> str:
    """Return one step with its temperature."""
    at = step["temperature_c"]
    return printable(step["text"]) + (f" [{at:.0f} degC]" if at is not None else "")


def test_text(test: Tree) -> str:
    """Return one line of the trial card."""
    return f"{test['when']}: {test['what']}; {test['limit']}, {test['stop']}."


def label_text(tree: Tree) -> str:
    """Return the ingredient list in its order."""
    return ", ".join(n["inci"] for n in tree["label"])


def label_rule(tree: Tree) -> str:
    """Return from where on the order is free."""
    free = [n["inci"] for n in tree["label"] if n["free"]]
    if not free:
        return "All stand above 1 %, so the order is fixed."
    return f"From {free[0]} on (1 % or less) any order will do, behind the others."


def sheet_text(tree: Tree) -> list[str]:
    """Return the sheet as text for a terminal or a printer."""
    kind = tree["system"] or "kind unclear"
    out: list[str] = [*map(Heading, wrap(f"{title_text(tree)}: {kind}, {tree['batch_g']:,g} g"))]
    out += ["", Heading("Weigh in")]
    rows = [
        (
            str(line["line"]),
            line["given"],
            line["part"],
            f"{figure(line['percent'], 4)} %",
            f"{g} g",
        )
        for line, g in zip(tree["lines"], _grams(tree), strict=True)
    ]
    rows.append(("", "total", "", "", f"{tree['batch_g']:,g} g"))
    out += table(rows, "><<>>", "  ", give=(1, 2))
    out += ["", Heading("Make")]
    for number, step in enumerate(tree["steps"], 1):
        out += wrap(f"{number}. {step_text(step)}", "  ", "   ")
    out += ["", Heading("Check"), *bullet(tree["checks"])]
    if tree["cautions"]:
        out += ["", Heading("Mind"), *bullet(c["text"] for c in tree["cautions"])]
    if tree.get("money"):
        out += ["", Heading("Cost and stock"), *bullet(money_lines(tree["money"]))]
    out += ["", Heading("Trial card"), *bullet(map(test_text, tree["trial"]))]
    out += ["", Heading("Ingredient list"), *wrap(label_text(tree), "  ", "")]
    out += wrap(label_rule(tree), "  ")
    return out


def sheet_markdown(tree: Tree) -> str:
    """Return the sheet as Markdown."""

    def cell(text: str) -> str:
        seen = printable(text)
        for mark in "\\|*_`<>[]#":
            seen = seen.replace(mark, f"\\{mark}")
        return seen

    out = [f"# {cell(title_text(tree))}", "", f"{tree['system'] or 'kind unclear'}, "]
    out[-1] += f"{tree['batch_g']:,g} g"
    out += ["", "| | material | part | % | g | lot | done |", "|-:|---|---|-:|-:|---|---|"]
    for line, grams in zip(tree["lines"], _grams(tree), strict=True):
        out.append(
            f"| {line['line']} | {cell(line['given'])} | {cell(line['part'])} | "
            f"{figure(line['percent'], 4)} | {grams} | | |"
        )
    out.append(f"| | total | | | {tree['batch_g']:,g} | | |")
    out += ["", "## Make", ""]
    out += [f"{n}. {cell(step_text(s))}" for n, s in enumerate(tree["steps"], 1)]
    out += ["", "## Check", "", *(f"- {cell(text)}" for text in tree["checks"])]
    if tree["cautions"]:
        out += ["", "## Mind", "", *(f"- {cell(c['text'])}" for c in tree["cautions"])]
    if tree.get("money"):
        out += ["", "## Cost and stock", ""]
        out += [f"- {cell(text)}" for text in money_lines(tree["money"])]
    out += ["", "## Trial card", "", "| when | test | limit | if not | result |"]
    out.append("|---|---|---|---|---|")
    out += [
        f"| {cell(t['when'])} | {cell(t['what'])} | {cell(t['limit'])} | {cell(t['stop'])} | |"
        for t in tree["trial"]
    ]
    out += ["", "## Ingredient list", "", cell(label_text(tree)), "", cell(label_rule(tree)), ""]
    return "\n".join(out)


def sheet_html(tree: Tree) -> str:
    """Return the sheet as one printable page that needs nothing else."""

    def seen(text: str) -> str:
        return escape(printable(text))

    rows = "".join(
        f"<tr><td class=n>{line['line']}</td><td>{seen(line['given'])}</td>"
        f"<td>{seen(line['part'])}</td><td class=n>{figure(line['percent'], 4)}</td>"
        f"<td class=n>{grams}</td><td class=box></td><td class=box></td></tr>\n"
        for line, grams in zip(tree["lines"], _grams(tree), strict=True)
    )
    mind = "".join(f"<li>{seen(c['text'])}</li>\n" for c in tree["cautions"])
    parts = [
        "<!doctype html>\n<html lang=en><head><meta charset=utf-8>",
        f"<title>{seen(title_text(tree))}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{seen(title_text(tree))}</h1>",
        f"<p>{seen(tree['system'] or 'kind unclear')}, {tree['batch_g']:,g} g. Date: ________ "
        "Made by: ________ Batch: ________</p>",
        "<table><thead><tr><th class=n></th><th>material</th><th>part</th><th class=n>%</th>"
        "<th class=n>g</th><th>lot</th><th>weighed</th></tr></thead><tbody>",
        rows,
        f"<tr><td></td><td>total</td><td></td><td></td><td class=n>{tree['batch_g']:,g}</td>"
        "<td></td><td></td></tr></tbody></table>",
        "<h2>Make</h2><ol>",
        "".join(f"<li>{seen(step_text(s))}</li>\n" for s in tree["steps"]),
        "</ol><h2>Check</h2><ul>",
        "".join(f"<li>{seen(text)}: ________</li>\n" for text in tree["checks"]),
        "</ul>",
        f"<h2>Mind</h2><ul>{mind}</ul>" if mind else "",
        "<h2>Cost and stock</h2><ul>" if tree.get("money") else "",
        "".join(f"<li>{seen(text)}</li>\n" for text in money_lines(tree["money"]))
        if tree.get("money")
        else "",
        "</ul>" if tree.get("money") else "",
        "<h2>Trial card</h2><table><thead><tr><th>when</th><th>test</th><th>limit</th>"
        "<th>if not</th><th>result</th></tr></thead><tbody>",
        "".join(
            f"<tr><td>{seen(t['when'])}</td><td>{seen(t['what'])}</td><td>{seen(t['limit'])}</td>"
            f"<td>{seen(t['stop'])}</td><td class=box></td></tr>\n"
            for t in tree["trial"]
        ),
        "</tbody></table>",
        f"<h2>Ingredient list</h2><p>{seen(label_text(tree))}</p><p>{seen(label_rule(tree))}</p>",
        "</body></html>\n",
    ]
    return "\n".join(part for part in parts if part)
