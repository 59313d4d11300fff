"""What was asked of a whole folder, as text a reader takes in at a glance."""

from __future__ import annotations

from kb.report.paper import Alarm, Heading, bullet, figure, table, wrap
from kb.report.tree import Tree
from kb.report.words import plural, titled

#: Materials and formulas listed; ``--json`` and ``-o`` hold all.
_ROWS = 15
_BAR = 24
_AT_HAND = 8
_SHOWN_FILES = 3


def bars(tree: Tree, most: int = _ROWS) -> list[str]:
    """Return a picture in letters: ``#`` formulas stopped, ``-`` formulas that go on."""
    rows = tree["materials"][:most]
    longest = max((row["formulas"] for row in rows), default=1)
    cells = []
    for row in rows:
        whole = max(1, round(_BAR * row["formulas"] / longest))
        stopped = round(whole * row["stops"] / row["formulas"])
        stopped = min(max(stopped, int(row["stops"] > 0)), whole)
        bar = "#" * stopped + "-" * (whole - stopped)
        cells.append((titled(row), bar, f"{row['stops']} of {row['formulas']}"))
    return table(cells, "<<>", "  ", give=(0,))


def outlook_text(tree: Tree) -> list[str]:
    """Return the text of ``kb outlook``."""
    stops = [m for m in tree["materials"] if m["stops"]]
    said = (
        f"{plural(tree['formulas'], 'formula')}: {plural(len(stops), 'raw material')} without a "
        f"good stand-in would stop {tree['stopped']} of them"
        if stops
        else f"{plural(tree['formulas'], 'formula')}: every raw material has a good stand-in"
    )
    out: list[str] = [*map(Heading, wrap(said))]
    if tree["materials"]:
        out += ["", Heading("If one fails: # formulas stopped, - formulas that go on")]
        out += bars(tree)
        out += _more(len(tree["materials"]), "material")
    if stops:
        out += ["", Heading("Why nothing stands in")]
        for row in stops[:_ROWS]:
            why = row["because"][0]
            text = f"{titled(row)}: {why['text']} ({why['rule']})"
            if row["nearest"]:
                text += f"; nearest {titled(row['nearest'][0])}"
            out += bullet([text])
    out += ["", Heading("What to stock"), *_stock(tree)]
    return out + _faults(tree)


def _stock(tree: Tree) -> list[str]:
    stock = tree["stock"]
    out: list[str] = []
    if stock["reserve"]:
        first = stock["reserve"][:_AT_HAND]
        names = ", ".join(f"{titled(r)} ({r['stops']})" for r in first)
        left = len(stock["reserve"]) - len(first)
        more = f", and {plural(left, 'other')}" if left else ""
        out += bullet([f"A reserve, by formulas stopped: {names}{more}."])
    from_folder = stock["lines_served_from_folder"]
    out += bullet(
        [f"{plural(from_folder, 'line')} could go over to a material the folder uses elsewhere."]
    )
    if stock["at_hand"]:
        first = stock["at_hand"][:_AT_HAND]
        names = ", ".join(f"{titled(r)} ({r['lines']})" for r in first)
        left = len(stock["at_hand"]) - len(first)
        more = f", and {plural(left, 'other')}" if left else ""
        out += bullet(
            [
                f"{_fewest(stock['proof'], 'more material')} would serve the other "
                f"{plural(stock['lines_served'], 'line')}, by lines served: {names}{more}."
            ]
        )
    return out


def _fewest(proof: Tree, noun: str) -> str:
    if proof["proven"]:
        return f"At the least {plural(proof['count'], noun)} (proven)"
    return f"{plural(proof['count'], noun)} (at least {proof['bound']} are needed)"


def event_text(tree: Tree) -> list[str]:
    """Return the text of ``kb event``: the order of urgency first, then what mends it."""
    event, hits = tree["event"], tree["hits"]
    out: list[str] = [
        *map(Heading, wrap(f"{_what(event)}: {len(hits)} of {plural(tree['formulas'], 'formula')}"))
    ]
    if not hits:
        return [*out, "No formula is touched.", *_faults(tree)]
    if event["kind"] == "ends" and event["left_kg"]:
        until = f"lasts until {tree['run_out']}" if tree["run_out"] else "outlasts twenty years"
        out.append(f"The last of {figure(event['left_kg'])} kg {until}.")
    out += ["", *_hits(hits, event)]
    out += ["", Heading("What mends them"), *_mend(tree)]
    return out + _faults(tree)


def _what(event: Tree) -> str:
    name = titled(event)
    if event["kind"] == "limit":
        return f"{name}: at most {figure(event['limit_percent'])} % from {event['from']}"
    if event["kind"] == "price":
        was = f" instead of {figure(event['price_before'])}" if event["price_before"] else ""
        return f"{name}: {figure(event['price'])} a kg{was} from {event['from']}"
    return f"{name} ends on {event['from']}"


def _hits(hits: list[Tree], event: Tree) -> list[str]:
    price = event["kind"] == "price"
    head = (
        ("formula", "%", "kg a month", "costs more a month", "")
        if price
        else ("formula", "%", "last batch", "tests", "begin by", "")
    )
    rows = [head]
    for hit in hits[:_ROWS]:
        if price:
            rows.append(
                (
                    hit["file"],
                    figure(hit["percent"]),
                    figure(hit["kg_a_month"]),
                    figure(hit["extra_a_month"]),
                    _answer(hit),
                )
            )
            continue
        begin = f"{hit['late_days']} days ago" if hit["late_days"] else hit["begin_by"] or "-"
        rows.append(
            (
                hit["file"],
                figure(hit["percent"]),
                hit["last_make"] or "far off",
                f"{hit['test_days']} d",
                begin,
                _answer(hit),
            )
        )
    lines = table(rows, "<>>><" if price else "<><><<", "  ", give=(0, len(head) - 1))
    return [lines[0], *map(_urgent, lines[1:]), *_more(len(hits), "formula")]


def _urgent(line: str) -> str:
    return Alarm(line) if "days ago" in line else line


def _answer(hit: Tree) -> str:
    if hit["answer"] == "lower":
        return f"lower to {figure(hit['lines'][0]['lowered']['percent'])} %"
    if hit["answer"] == "open":
        return "no good stand-in"
    use = hit["lines"][0]["use"]
    return f"{titled(use)} {figure(use['percent'])} %" if use else "lower or replace"


def _mend(tree: Tree) -> list[str]:
    mend = tree["mend"]
    out: list[str] = []
    lowered = [h for h in tree["hits"] if h["answer"] == "lower"]
    if lowered:
        out += bullet([f"{plural(len(lowered), 'formula')} can keep it at the new limit."])
    if mend["lines_served_from_folder"]:
        out += bullet(
            [
                f"{plural(mend['lines_served_from_folder'], 'line')} can go over to a material the "
                "folder or shelf has already."
            ]
        )
    if mend["new"]:
        out += bullet([f"{_fewest(mend['proof'], 'new material')}:"])
        for new in mend["new"]:
            out += wrap(f"{titled(new)} serves {_files(new['serves'])}", "    ")
    elif not mend["open"]:
        out += bullet(["No new material is needed."])
    for hit in tree["hits"]:
        if hit["answer"] == "open":
            why = next((ln["because"] for ln in hit["lines"] if ln["because"]), None)
            text = f": {why['text']} ({why['rule']})" if why else ""
            out += bullet([f"{hit['file']} stays open{text}."])
    return out


def _files(names: list[str]) -> str:
    shown = ", ".join(names[:_SHOWN_FILES])
    left = len(names) - _SHOWN_FILES
    return f"{shown} and {left} more" if left > 0 else shown


def _faults(tree: Tree) -> list[str]:
    out: list[str] = []
    if tree["broken"]:
        out += ["", Heading(f"{plural(len(tree['broken']), 'file')} could not be read")]
        out += bullet(
            f"{b['where'] or b['file']}: {b['message']} {b['fix']}" for b in tree["broken"][:_ROWS]
        )
        out += _more(len(tree["broken"]), "file")
    if tree["unknown"]:
        out += ["", Heading(f"{plural(len(tree['unknown']), 'formula')} with unknown names")]
        out += bullet(f"{u['file']}: {', '.join(u['given'][:5])}" for u in tree["unknown"][:_ROWS])
        out += _more(len(tree["unknown"]), "formula")
    return out


def _more(number: int, noun: str) -> list[str]:
    left = number - _ROWS
    return [f"  ... and {plural(left, f'more {noun}')}; --json shows all."] if left > 0 else []
