"""Text about what is the user's own."""

from __future__ import annotations

from kb.report.paper import Heading, bullet, entry, figure, span, table, wrap
from kb.report.tree import Tree
from kb.report.words import plural

_WORDS = {
    "material": "material",
    "name": "name",
    "composition": "part of a composition",
    "play": "role",
    "fact": "value",
    "edge": "rule of what goes together",
    "limit_rule": "limit",
    "shelf": "stock line",
    "measurement": "measurement",
}
_PLURALS = {
    "composition": "parts of compositions",
    "edge": "rules of what goes together",
}


def _count(name: str, number: int) -> str:
    if number != 1 and name in _PLURALS:
        return f"{number} {_PLURALS[name]}"
    return plural(number, _WORDS[name])


def change_text(tree: Tree) -> list[str]:
    """Return the text of a command that changed the user's file."""
    out = wrap(tree["done"])
    counts = [_count(n, c) for n, c in tree["counts"].items() if n in _WORDS]
    if counts:
        out += wrap(", ".join(counts) + ".", "  ")
    out += bullet(tree["materials"])
    for remark in tree["remarks"]:
        out += wrap(remark, "  ")
    return out


def list_text(tree: Tree) -> list[str]:
    """Return the text of ``kb own list``."""
    counts = [_count(n, c) for n, c in tree["counts"].items() if c and n in _WORDS]
    if not counts:
        return [
            "Nothing of your own yet.",
            "  `kb own template` shows how to write a list, `kb own add FILE` takes it.",
        ]
    out: list[str] = [*wrap("Yours: " + ", ".join(counts) + "."), *wrap(tree["path"], "  ")]
    if tree["materials"]:
        out += ["", Heading("Materials")]
        rows = [
            (", ".join(m["names"]) or m["inci"], m["ingredient"], plural(m["values"], "value"))
            for m in tree["materials"]
        ]
        out += table(rows, "<<>", "  ", give=(0, 1))
    if tree["values"]:
        out += ["", Heading("Your values for our materials; they win for you")]
        out += _value_rows(tree["values"], named=True)
    if tree["shelf"]:
        out += ["", Heading("Shelf"), *_shelf_rows(tree["shelf"])]
    if tree["changes"]:
        out += ["", Heading("Last changes; `kb own undo` takes back the first")]
        out += table([(c["made_at"][:16], c["what"]) for c in tree["changes"]], "<<", "  ", (1,))
    if tree["unread"]:
        out += ["", Heading("Kept, but not used with this base"), *bullet(tree["unread"])]
    return out


def _value_rows(values: list[Tree], *, named: bool) -> list[str]:
    rows = []
    for v in values:
        unit = "" if v["unit"] == "1" else f" {v['unit']}"
        reach = span(v["low"], v["high"])
        ours = f"(ours {figure(v['ours'], 4)})" if v["ours"] is not None else ""
        row = (
            v["property"].replace("_", " "),
            f"{figure(v['value'], 4)}{unit}",
            reach,
            ours,
            v["source"],
        )
        rows.append((v["ingredient"], *row) if named else row)
    return table(rows, "<" * len(rows[0]), "  ", give=(0, len(rows[0]) - 1))


def _shelf_rows(rows: list[Tree]) -> list[str]:
    cells = [("name", "lot", "stock", "per kg", "until", "")]
    for row in rows:
        stock = "" if row["stock_g"] is None else f"{figure(row['stock_g'], 4)} g"
        price = "" if row["price_per_kg"] is None else figure(row["price_per_kg"], 4)
        cells.append(
            (
                row["name"],
                row["lot"],
                stock,
                f"{price} {row['currency']}".strip(),
                row["expiry"],
                "" if row["ingredient"] else "not known by this name",
            )
        )
    return table(cells, "<<>><<", "  ", give=(0, 1))


def shelf_text(tree: Tree) -> list[str]:
    """Return the text of ``kb own shelf`` without a file."""
    if not tree["shelf"]:
        return ["The shelf is empty.", "  `kb own shelf FILE` takes a stock list."]
    return [Heading("Shelf"), *_shelf_rows(tree["shelf"])]


def own_text(tree: Tree) -> list[str]:
    """Return the text of ``kb own show``."""
    name = ", ".join(tree["names"]) or tree["inci"]
    out: list[str] = [Heading(f"{name} (yours)"), *entry("id", tree["ingredient"])]
    out += entry("INCI", tree["inci"])
    if tree["follows"]:
        out += entry("follows", f"{tree['follows']}, where you give nothing")
    kind = f"{tree['form']}, {tree['origin']}, {tree['charge']}, goes into {tree['phase']}"
    out += entry("kind", kind)
    if tree["note"]:
        out += entry("note", tree["note"])
    for role in tree["roles"]:
        levels = span(role["low"], role["high"])
        out += entry("role", role["label"] + (f", {levels} %" if levels else ""))
    for part in tree["composition"]:
        share = span(part["low"], part["high"]) or figure(part["low"])
        out += entry("holds", f"{part['part']} {share} %")
    if tree["values"]:
        out += ["", Heading("Your values"), *_value_rows(tree["values"], named=False)]
    for edge in tree["edges"]:
        out += wrap(
            f"- {edge['subject']} and {edge['object']}: {edge['verdict']}; {edge['mechanism']}",
            "  ",
        )
    for limit in tree["limits"]:
        ends = " to ".join(e for e in (limit["low"], limit["high"]) if e)
        out += wrap(
            f"- limit ({limit['jurisdiction']}): {limit['kind']} {ends} {limit['unit']}", "  "
        )
    return out
