"""Text about the base itself: what it holds, where its values disagree."""

from __future__ import annotations

from kb.report.paper import figure, table
from kb.report.tree import Tree


def coverage_text(tree: Tree) -> list[str]:
    """Return the text of ``kb data coverage``."""
    out = table([(str(v), k.replace("_", " ")) for k, v in tree["counts"].items()], "><", "  ")
    total = sum(tree["evidence"].values())
    out += ["", "Values by evidence"]
    out += table(
        [(f"{100 * n / total:.0f} %", k) for k, n in sorted(tree["evidence"].items())], "><", "  "
    )
    out += ["", "Deciding traits known, by role (share of weight)"]
    rows = [
        (role, str(r["players"]), f"{100 * r['traits_known']:.0f} %")
        for role, r in tree["roles"].items()
        if r["traits_known"] is not None
    ]
    out += table([("role", "players", "known"), *rows], "<>>", "  ")
    out += ["", "Materials with a value, by property"]
    out += table([(p, str(n)) for p, n in tree["properties"].items()], "<>", "  ")
    return out


def conflicts_text(tree: Tree) -> list[str]:
    """Return the text of ``kb data conflicts``."""
    rows = [
        (
            c["material"][:34],
            c["property"],
            _value(c["first"]),
            _value(c["second"]),
        )
        for c in tree["conflicts"]
    ]
    return [f"{len(rows)} pairs of values disagree.", *table(rows, "<<>>", "  ")]


def _value(fact: Tree) -> str:
    if fact["value"] is not None:
        return figure(fact["value"], 4)
    return f"{figure(fact['low'])} to {figure(fact['high'])}"
