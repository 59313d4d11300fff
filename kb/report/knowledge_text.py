"""What the base knows, as text for a terminal: the answer first, then why."""

from __future__ import annotations

from kb.report.paper import Alarm, Heading, bullet, figure, span, table, wrap
from kb.report.tree import Tree
from kb.report.words import titled, unit_word, with_unit

_VALUES_SHOWN = 40
_EDGES_SHOWN = 8
_LIMITS_SHOWN = 8
_PLAYERS_SHOWN = 60
_WORST_FIRST = ("fails", "careful", "works")


def show_text(tree: Tree) -> list[str]:
    """Return the text of ``kb show``."""
    head = wrap(f"{titled(tree)}   {tree['cas'] or ''}".rstrip())
    charge = "" if tree["charge"] == "none" else f", {tree['charge']}"
    out: list[str] = [*map(Heading, head)]
    out += wrap(f"{tree['origin']} origin, {tree['form']}{charge}, goes to: {tree['phase']}")
    if tree["names"]:
        out += wrap("Also called: " + ", ".join(tree["names"][:12]))
    if tree["grades"]:
        out += wrap("Grades: " + ", ".join(tree["grades"]))
    if tree["composition"]:
        parts = [
            f"{p['part']} {span(p['low'], p['high']) or figure(p['high'])} %"
            for p in tree["composition"]
        ]
        out += wrap("Holds: " + "; ".join(parts[:10]))
    if tree["note"]:
        out += wrap("Note: " + tree["note"])
    rows = [(r["label"], _level(r), r["source"]) for r in tree["roles"]]
    out += ["", Heading("Does"), *table(rows, "<><", "  ", give=(2,))]
    if not rows:
        out.append("  nothing that is recorded")
    out += ["", Heading("Values"), *_values(tree["facts"])]
    out += _fights(tree["edges"])
    out += _limits(tree["limits"])
    return out


def _level(role: Tree) -> str:
    """Return the usual level of a role."""
    reach = span(role["low"], role["high"])
    if reach:
        return f"{reach} %"
    known = role["high"] if role["high"] is not None else role["low"]
    return "" if known is None else f"{figure(known)} %"


def _values(facts: list[Tree]) -> list[str]:
    if not facts:
        return ["  none"]
    rows = []
    for f in facts[:_VALUES_SHOWN]:
        at = f" at {f['temperature_c']:g} degC" if f["temperature_c"] is not None else ""
        name = f["property"].replace("_", " ") + at
        rows.append((name, _shown(f), unit_word(f["unit"]), _standing(f)))
    lines = table(rows, "<<<<", "  ", give=(1, 0))
    if len(facts) > _VALUES_SHOWN:
        lines.append(f"  ... {len(facts) - _VALUES_SHOWN} more with --json")
    return lines


def _standing(f: Tree) -> str:
    """Return what a value rests on: the source when it is the user's own."""
    source: str = f["source"] or ""
    return source if source.startswith("yours") else str(f["evidence"])


def _shown(fact: Tree, digits: int = 3) -> str:
    """Return a value with its range behind it, or whichever of the two is known."""
    reach = span(fact["low"], fact["high"], digits - 1)
    if fact["value"] is None:
        return reach or figure(fact["low"] if fact["low"] is not None else fact["high"], digits)
    middle = figure(fact["value"], digits)
    return f"{middle} ({reach})" if reach else middle


def _fights(edges: list[Tree]) -> list[str]:
    bad = sorted(
        (e for e in edges if e["verdict"] != "works"),
        key=lambda e: _WORST_FIRST.index(e["verdict"]),
    )
    if not bad:
        return []
    out: list[str] = ["", Heading("Does not go with")]
    for e in bad[:_EDGES_SHOWN]:
        where = f" in {e['system']}" if e["system"] else ""
        out += bullet([f"{e['label']}{where} ({e['verdict']}): {e['mechanism']}"])
    if len(bad) > _EDGES_SHOWN:
        out.append(f"  ... {len(bad) - _EDGES_SHOWN} more with --json")
    return out


def _limits(limits: list[Tree]) -> list[str]:
    if not limits:
        return []
    out: list[str] = ["", Heading("Limits")]
    for x in limits[:_LIMITS_SHOWN]:
        reach = span(x["low"], x["high"], 3) or figure(x["high"])
        what = f"{x['kind']} {with_unit(reach, x['unit'])}" if x["high"] is not None else x["kind"]
        note = f"; {x['note']}" if x["note"] else ""
        out += bullet([f"{x['jurisdiction'].upper()} {x['section']}: {what}, {x['applies']}{note}"])
    if len(limits) > _LIMITS_SHOWN:
        out.append(f"  ... {len(limits) - _LIMITS_SHOWN} more with --json")
    return out


def roles_text(tree: Tree) -> list[str]:
    """Return the text of ``kb roles``: a tree with counts."""
    children: dict[str, list[str]] = {}
    about = {r["role"]: r for r in tree["roles"]}
    for r in tree["roles"]:
        for parent in r["parents"]:
            children.setdefault(parent, []).append(r["role"])
    rows: list[tuple[str, str, str]] = [("role", "players", "id")]

    def grow(role: str, depth: int) -> None:
        r = about[role]
        rows.append(("  " * depth + r["label"], str(r["players"]), role))
        for child in sorted(children.get(role, [])):
            grow(child, depth + 1)

    for r in tree["roles"]:
        if not r["parents"]:
            grow(r["role"], 0)
    head, *lines = table(rows, "<><", give=(0,))
    return [Heading(head), *lines]


def role_text(tree: Tree) -> list[str]:
    """Return the text of ``kb roles ROLE``."""
    out: list[str] = [Heading(f"{tree['label']}  [{tree['role']}]"), *wrap(tree["definition"])]
    if tree["parents"]:
        out += wrap(f"Kind of: {', '.join(tree['parents'])}")
    if tree["children"]:
        out += wrap(f"Kinds: {', '.join(tree['children'])}")
    if tree["traits"]:
        rows = [
            (
                t["property"].replace("_", " "),
                f"within x/: {1 + t['tolerance']:g}"
                if t["kind"] == "ratio"
                else f"within {t['tolerance']:g}",
                "decides" if t["decisive"] else "",
                t["why"],
            )
            for t in tree["traits"]
        ]
        out += ["", Heading("What makes two players alike")]
        out += table(rows, "<<<<", "  ", give=(3, 0))
    players = tree["players"]
    out += ["", Heading(f"Players ({len(players)})")]
    out += table(
        [(titled(p), _level(p), p["role"]) for p in players[:_PLAYERS_SHOWN]],
        "<><",
        "  ",
        give=(0, 2),
    )
    if len(players) > _PLAYERS_SHOWN:
        out.append(f"  ... {len(players) - _PLAYERS_SHOWN} more with --json")
    return out


def suits_text(tree: Tree) -> list[str]:
    """Return the text of ``kb suits``."""
    where = f" in {tree['system']}" if tree["system"] else " here"
    head = f"{titled(tree)}{where}: {tree['verdict']} as {tree['as_role']}"
    if tree.get("merely_present"):
        head += f", {tree['merely_present']} when merely present"
    kind = Heading if tree["verdict"] == "works" else Alarm
    out: list[str] = [*map(kind, wrap(head + ".")), ""]
    for r in tree["because"]:
        source = ", ".join(word for word in (r["source"], r["evidence"]) if word)
        out += bullet([f"{r['verdict']}: {r['text']}{f' [{source}]' if source else ''}"])
    if tree["instead"]:
        out += ["", *wrap("Use instead: " + ", ".join(titled(m) for m in tree["instead"]))]
    return out


def why_fact_text(tree: Tree) -> list[str]:
    """Return the text of ``kb why NAME PROPERTY``."""
    best = tree["best"]
    name = tree["property"].replace("_", " ")
    if best is None:
        return [*map(Heading, wrap(f"{titled(tree)}, {name}: no value is known"))]
    reach = span(best["low"], best["high"], 3)
    value = with_unit(figure(best["value"], 4), best["unit"])
    head = f"{titled(tree)}, {name}: {value}{f' ({reach})' if reach else ''}"
    out: list[str] = [*map(Heading, wrap(head))]
    out += wrap(f"Evidence: {best['evidence']}; source: {best['source']}")
    out += wrap(f"Meaning: {tree['meaning']}")
    if tree["others"]:
        out += ["", Heading("Every value on record")]
    for f in tree["others"]:
        at = f" at {f['temperature_c']:g} degC" if f["temperature_c"] is not None else ""
        conditions = f"; {f['conditions']}" if f["conditions"] else ""
        out += bullet([f"{_shown(f, 4)}{at}{conditions} [{f['evidence']}: {f['source']}]"])
    out += ["", *wrap("Used by: " + (", ".join(tree["used_by"]) or "nothing yet"))]
    return out
