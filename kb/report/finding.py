"""What ``kb find`` answers, as tree and as text; needs the names alone."""

from __future__ import annotations

from collections.abc import Mapping

from kb.formula.names import Match
from kb.report.paper import Heading, table, wrap
from kb.report.tree import Tree

#: An id that is longer stands on a line of its own: it is what other commands take.
_LONGEST_BESIDE = 44


def find_tree(text: str, matches: tuple[Match, ...], inci: Mapping[str, str]) -> Tree:
    """Return the tree of ``kb find``; ``inci`` gives the INCI name of each material."""
    return {
        "text": text,
        "matches": [
            {
                "ingredient": m.material,
                "inci": inci[m.material],
                "matched": m.matched,
                "by": m.by,
                "score": m.score,
            }
            for m in matches
        ],
    }


def find_text(tree: Tree) -> list[str]:
    """Return the text of ``kb find``."""
    if not tree["matches"]:
        return [
            *wrap(f"Nothing is called {tree['text']!r}."),
            "Try a part of the name, the INCI name or the registry number.",
        ]
    rows = [("score", "name", "ingredient")]
    below: dict[int, str] = {}
    for number, m in enumerate(tree["matches"]):
        plain = m["matched"] in {m["inci"], m["ingredient"]}
        name = m["inci"] if plain else f"{m['matched']} = {m['inci']}"
        whole = len(m["ingredient"]) <= _LONGEST_BESIDE
        rows.append((f"{m['score']:.0f}", name, m["ingredient"] if whole else ""))
        if not whole:
            below[number] = f"       {m['ingredient']}"
    head, *lines = table(rows, "><<", give=(1,))
    out: list[str] = [Heading(head)]
    for number, line in enumerate(lines):
        out += [line, below[number]] if number in below else [line]
    return out
