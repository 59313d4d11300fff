"""Text about the base itself: what it holds, where its values disagree."""

from __future__ import annotations

from kb.report.paper import Heading, figure, span, table, wrap
from kb.report.tree import Tree
from kb.report.words import plural


def build_text(tree: Tree) -> list[str]:
    """Return the text of ``kb build``."""
    rows = tree["rows"]
    return [
        f"Built with {plural(rows['material'], 'material')}, {plural(rows['fact'], 'value')} and "
        f"{plural(rows['edge'], 'rule')} of what goes together:",
        f"  {tree['path']}",
    ]


def lint_text(tree: Tree) -> list[str]:
    """Return the text of ``kb data lint``: place, what was read, what was wanted."""
    if not tree["problems"]:
        return ["The seed text is clean."]
    out: list[str] = []
    for p in tree["problems"]:
        place = f"{p['file']}:{p['line']}" if p["line"] else p["file"]
        column = f" [{p['column']}]" if p["column"] else ""
        out += wrap(f"{place}{column} read {p['read']!r}; wanted {p['wanted']}")
    return [*out, plural(len(tree["problems"]), "problem")]


def coverage_text(tree: Tree) -> list[str]:
    """Return the text of ``kb data coverage``."""
    out: list[str] = [Heading("Rows")]
    out += table([(f"{n:,}", k.replace("_", " ")) for k, n in tree["counts"].items()], "><", "  ")
    total = sum(tree["evidence"].values()) or 1
    rows = [(f"{100 * n / total:.0f} %", k) for k, n in sorted(tree["evidence"].items())]
    out += ["", Heading("Values by evidence"), *table(rows, "><", "  ")]
    out += ["", Heading("Deciding traits known, by role (share of weight)")]
    known = [
        (role, str(r["players"]), f"{100 * r['traits_known']:.0f} %")
        for role, r in tree["roles"].items()
        if r["traits_known"] is not None
    ]
    out += table([("role", "players", "known"), *known], "<>>", "  ")
    out += ["", Heading("Materials with a value, by property")]
    out += table([(p, str(n)) for p, n in tree["properties"].items()], "<>", "  ")
    return out


def conflicts_text(tree: Tree) -> list[str]:
    """Return the text of ``kb data conflicts``: one line for a material and property."""
    groups: dict[tuple[str, str], list[Tree]] = {}
    for c in tree["conflicts"]:
        groups.setdefault((c["material"], c["property"]), []).extend([c["first"], c["second"]])
    rows = [
        (material, name, ", ".join(dict.fromkeys(map(_value, facts))))
        for (material, name), facts in groups.items()
    ]
    pairs = plural(len(tree["conflicts"]), "pair")
    head = f"{pairs} of values disagree, in {plural(len(rows), 'place')}."
    return [Heading(head), *table(rows, "<<<", "  ", give=(0, 2))]


def _value(fact: Tree) -> str:
    if fact["value"] is not None:
        return figure(fact["value"], 4)
    return span(fact["low"], fact["high"], 3) or figure(fact["low"], 3)
