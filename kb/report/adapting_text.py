"""An adaptation as text: old line to new line, why in one line, what follows, what to test."""

from __future__ import annotations

from kb.report.formula_text import changes_seen
from kb.report.paper import Alarm, Heading, bullet, figure, shares, table, wrap
from kb.report.tree import Tree
from kb.report.words import plural, titled

_REASONS, _WIDE = 2, 3


def adapt_text(tree: Tree) -> list[str]:
    """Return the text of ``kb adapt``."""
    asked = ", ".join(tree["asked"]["policies"]) or "what was forbidden"
    name = tree["name"] or "The formula"
    system = tree["system"] or "kind unclear"
    out: list[str] = []
    if tree["status"] == "unchanged":
        out += map(Heading, wrap(f"{name} ({system}): nothing to change for {asked}"))
        return out + _asks(tree)
    if not tree["solutions"]:
        return [*_closed(tree, name, system, asked), *_asks(tree)]
    first = tree["solutions"][0]
    count = plural(len(first["changes"]), "line")
    out += map(Heading, wrap(f"{name} ({system}) for {asked}: {count} exchanged"))
    for number, solution in enumerate(tree["solutions"], 1):
        out += _solution(number, solution, len(tree["solutions"]))
    return out + _asks(tree)


def _solution(number: int, s: Tree, count: int) -> list[str]:
    out: list[str] = []
    if count > 1:
        out += ["", Heading(f"Answer {number}, distance {figure(s['distance'])}")]
    out += wrap(f"{s['proof']['said'].capitalize()}.")
    for change in s["changes"]:
        out += ["", *_change(change)]
    out += ["", Heading("The whole formula"), *_lines(s)]
    seen = changes_seen(s["effects"])
    if seen:
        out += ["", Heading("What changes (range holds 90 %)")]
        out += table(seen, "<<<", "  ", give=(0,))
    cautions = [(c["line"], one) for c in s["changes"] for one in c["cautions"]]
    if cautions:
        out += ["", Heading("Cautions")]
        out += map(
            Alarm, bullet(f"line {line}, {one['rule']}: {one['text']}" for line, one in cautions)
        )
    method = [step for c in s["changes"] for step in c["method"]]
    if method:
        out += ["", Heading("Method"), *bullet(dict.fromkeys(method))]
    if s["trial"]:
        out += ["", Heading("Test again"), *bullet(s["trial"])]
    return out


def _change(c: Tree) -> list[str]:
    new = " + ".join(f"{titled(one)} {figure(one['percent'])} %" for one in c["to"])
    old = f"{titled(c['from'])} {figure(c['from']['percent'])} %"
    out: list[str] = [*map(Heading, wrap(f"{c['line']:>2}  {old} -> {new}", "", "    "))]
    out += wrap(f"out: {c['because'].partition(': ')[2] or c['because']}", "    ")
    reasons = c["why"][:_REASONS] + [w for w in c["why"][_REASONS:] if "carries what" in w]
    if reasons:
        out += wrap(f"in: {'; '.join(reasons)}", "    ")
    return out


def _lines(s: Tree) -> list[str]:
    old = {c["line"]: c["from"]["percent"] for c in s["changes"]}
    old |= {m["line"]: m["before"] for m in s["moved"]}
    changed = {c["line"] for c in s["changes"]}
    percents = shares([round(line["percent"], 2) for line in s["formula"]])
    rows, told = [], set()
    for line, percent in zip(s["formula"], percents, strict=True):
        number = line["line"]
        was = ""
        if number in changed and number not in told:
            names = {c["line"]: c["from"] for c in s["changes"]}
            was = f"was {figure(old[number])} {titled(names[number])}"
        elif number in old and number not in changed:
            was = f"was {figure(old[number])}"
        told.add(number)
        rows.append((str(number), percent, titled(line), was))
    return table(rows, ">><<", "  ", give=(3, 2))


def _closed(tree: Tree, name: str, system: str, asked: str) -> list[str]:
    if tree["status"] == "time_limit":
        return [Alarm(f"{name}: no answer in the time allowed; give more with --time-limit.")]
    out: list[str] = [*map(Alarm, wrap(f"{name} ({system}) cannot be adapted to {asked}."))]
    if not tree["closed_by"]:
        return out
    out += ["", Heading("These rules cannot hold together")]
    for rule in tree["closed_by"]:
        out += bullet([f"{rule['rule']}: {rule['text']}"])
    ways = [rule for rule in tree["closed_by"] if rule["opens"]]
    if ways:
        out += ["", Heading("Any one of these opens the door, the nearest answer first")]
        out += bullet(
            f"without {_where(rule)}: {rule['instead'] or 'an answer exists'}" for rule in ways
        )
    else:
        out += ["", *wrap("No one of them alone opens the door: other rules close it too.")]
    if not tree["irreducible"]:
        out += wrap("The time ran out before every rule was tried: fewer may be enough.")
    return out


def _where(rule: Tree) -> str:
    line = rule["line"]
    return str(rule["rule"]) if line is None else f"{rule['rule']} on line {line}"


def _asks(tree: Tree) -> list[str]:
    if not tree["asks"]:
        return []
    # One question to several suppliers is told once.
    grouped: dict[str, list[str]] = {}
    for one in tree["asks"]:
        name, _, question = one.partition(": ")
        grouped.setdefault(question, []).append(name)
    told = (f"{', '.join(names)}: {question}" for question, names in grouped.items())
    return ["", Heading("Ask before you rely on it"), *bullet(told)]
