"""What the engine says about a formula, as text for a terminal: the answer first, then why."""

from __future__ import annotations

from collections.abc import Iterable

from kb.report.money import worth_lines
from kb.report.paper import (
    Alarm,
    Heading,
    bullet,
    entry,
    figure,
    shares,
    signed,
    span,
    table,
    wrap,
)
from kb.report.tree import Tree
from kb.report.words import plural, quantity_name, titled, unit_word, with_unit

_LEVEL_WORDS = {"problem": "PROBLEM", "caution": "caution", "note": "note"}
#: Digits of the ranges that two would hide.
_DIGITS = {"water_activity": 3, "density": 3, "dispersed_fraction": 3, "water_phase_ph": 2}
#: A change counts when it shows in this many digits, two unless told otherwise.
_CHANGE_DIGITS = {"water_activity": 3}
#: A ratio this near to one is told only when it is uncertain.
_SEEN = 0.03
_DRIFT = "climate_drift_10_over_40"
_REASONS_SHOWN = 5
_NAMES_SHOWN = 6
_INPUTS_SHOWN = 30
_LABEL = 10


# -- check ---------------------------------------------------------------------------------------


def check_text(tree: Tree) -> list[str]:
    """Return the text of ``kb check``."""
    inferred = tree["inferred"]
    system = tree["system"] or "kind unclear"
    head = f"{tree['name'] or 'Formula'}: {system}, total {figure(tree['total'], 5)} %"
    out: list[str] = [*map(Heading, wrap(head))]
    out += wrap(f"{inferred['sure']}: {'; '.join(inferred['because'])}")
    levels: dict[str, list[Tree]] = {level: [] for level in _LEVEL_WORDS}
    for f in tree["findings"]:
        levels[f["level"]].append(f)
    counted = ", ".join(plural(len(found), level) for level, found in levels.items())
    out += ["", Heading(f"Findings: {counted}")]
    for level, found in levels.items():
        for f in found:
            out += _finding(_LEVEL_WORDS[level], f)
    out += ["", Heading("Lines"), *_line_rows(tree["lines"])]
    out += ["", Heading("Predictions (range holds 90 %)"), *_profile_rows(tree["profile"])]
    return out


def _finding(word: str, f: Tree) -> list[str]:
    lines = ", ".join(map(str, f["lines"]))
    where = f" ({'line' if len(f['lines']) == 1 else 'lines'} {lines})" if lines else ""
    source = f" [{f['source']}]" if f["source"] else ""
    text = f"{f['rule']}{where}: {f['message']}{source}"
    lines_out = entry(word, text, _LABEL, "  ")
    return [*map(Alarm, lines_out)] if f["level"] == "problem" else lines_out


def _line_rows(lines: list[Tree]) -> list[str]:
    percents = shares([line["percent"] for line in lines])
    rows = []
    for line, percent in zip(lines, percents, strict=True):
        roles = ", ".join(f"{r['label']} {100 * r['share']:.0f} %" for r in line["roles"][:2])
        if line["ingredient"] is None:
            near = line["nearest"][:2]
            roles = "not known" + (f"; near: {', '.join(near)}" if near else "")
        name = titled(line) if line["inci"] else line["given"]
        rows.append((str(line["line"]), percent, name, roles))
    return table(rows, ">><<", "  ", give=(3, 2))


def _profile_rows(profile: Tree) -> list[str]:
    rows = []
    for name, q in profile.items():
        if name in {"feel", "cost"}:
            continue
        title, unit = quantity_name(name), unit_word(q["unit"])
        value = q.get("total") if name == "free_preservative" else q["value"]
        if name == "settling":
            rows.append((title, q["state"], "", ""))
        elif value is None:
            rows.append((title, "-", "", "; ".join(q["limited_by"][:1])))
        else:
            ends = q["low"], q["high"]
            known = name != "free_preservative" and ends != (None, None)
            reach = span(*ends, _DIGITS.get(name, 2)) if known else ""
            rows.append((title, figure(value), unit, reach))
        agents = q.get("agents") or {}
        for agent, a in agents.items() if name == "free_preservative" else ():
            reach = span(a["low"], a["high"])
            need = f"  needs {figure(a['needed'], 2)}" if a.get("needed") else ""
            rows.append((f"  {agent}", figure(a["value"]), "%", f"{reach}{need}"))
    lines = table(rows, "<><<", "  ", give=(3, 0))
    lines += anchor_lines(profile.get("consistency_25c", {}).get("anchor"))
    feel = profile.get("feel", {}).get("value")
    if feel:
        words = ", ".join(f"{k.replace('_', ' ')} {figure(v, 2)}" for k, v in feel.items())
        lines += wrap(f"feel, 1 to 5: {words}", "  ")
    return lines


# -- swap ----------------------------------------------------------------------------------------


def swap_text(tree: Tree, detail: int = 3) -> list[str]:
    """Return the text of ``kb swap``: a ranked table, then the first ones in full."""
    line = tree["line"]
    roles = ", ".join(f"{r['label']} {100 * r['share']:.0f} %" for r in line["roles"])
    head = (
        f"{titled(line)} {figure(line['percent'])} % in {tree['name'] or 'the formula'} "
        f"({tree['system'] or 'kind unclear'})"
    )
    out: list[str] = [*map(Heading, wrap(head))]
    out += wrap(f"What it does here: {roles or 'nothing the base knows of'}")
    out += anchor_lines(tree["anchor"], "")
    out.append("")
    if tree["swaps"]:
        out += _ranking(tree["swaps"])
    else:
        out.append(Alarm("Nothing acceptable stands in for it."))
        miss = tree.get("nearest_miss")
        if miss:
            out += wrap(f"Nearest miss: {titled(miss)} - {miss['rule']}: {miss['reason']}")
    if tree["asks"]:
        out += ["", Heading("Tell more for a better answer")]
        out += bullet(tree["asks"])
    told: set[str] = set()
    for n, s in enumerate(tree["swaps"][:detail], 1):
        out += ["", *_one_swap(n, s, told, _moved(tree["anchor"]))]
    out += _not_taken(tree["rejected"])
    return out


def _ranking(swaps: list[Tree]) -> list[str]:
    """Return the table; a column that says nothing new is left out."""
    percents = shares([float(f"{_whole(s):.3g}") for s in swaps])
    heads = ["", "stand-in", "%", "score", "visc. x"]
    with_drift = any(_drifts(s["effects"][_DRIFT]) for s in swaps)
    if with_drift:
        heads.append("drift x")
    with_hlb = any(_moves(s["effects"]["hlb"]) for s in swaps)
    if with_hlb:
        before = swaps[0]["effects"]["hlb"]["before"]
        heads.append("HLB" if before is None else f"HLB {before:.1f}")
    rows = [[*heads, "cautions"]]
    for n, (s, percent) in enumerate(zip(swaps, percents, strict=True), 1):
        effects = s["effects"]
        row = [
            str(n),
            _named(s["replace"]),
            percent,
            f"{100 * s['score']['total']:.0f}",
            _times(effects["consistency_25c"]),
        ]
        if with_drift:
            row.append(_times(effects[_DRIFT]))
        if with_hlb:
            after = effects["hlb"]["after"]
            row.append("-" if after is None else f"{after:.1f}")
        rules = list(dict.fromkeys(c["rule"] for c in s["cautions"]))
        row.append(f"{len(rules)} {rules[0]}" if rules else "")
        rows.append(row)
    align = "><" + ">" * (len(heads) - 2) + "<"
    head, *lines = table(rows, align, give=(len(heads), 1))
    legend = "visc. x: consistency at 25 degC, times the old one"
    if with_drift:
        legend += "; drift x: the same for consistency at 10 over 40 degC"
    legend += "; score of 100. Best first, like ones spread out."
    return [Heading(head), *lines, *wrap(legend, "", "")]


def _moved(anchor: Tree | None) -> bool:
    """Tell whether a consistency is another than the model's."""
    return bool(anchor and ("measured" in anchor or "process_factor" in anchor))


def anchor_lines(anchor: Tree | None, indent: str = "  ") -> list[str]:
    """Return what a consistency rests on beside the model."""
    if not anchor:
        return []
    model = anchor["modelled"]
    alone = f"the model alone says {figure(model['value'])}"
    reach = span(model["low"], model["high"])
    alone += f" ({reach})" if reach else ""
    out: list[str] = []
    if "measured" in anchor:
        of = "the version before" if anchor["of_version"] else "this formula"
        text = f"Consistency anchored to what you measured of {of}: {'; '.join(anchor['used'])}"
        out += wrap(f"{text}; {alone}.", indent)
    elif "process_factor" in anchor:
        count = plural(anchor["formulas"], "formula")
        factor = figure(anchor["process_factor"], 2)
        out += wrap(
            f"Consistency times {factor}, the factor your batches share, learnt from {count}; "
            f"{alone}.",
            indent,
        )
    for reason in anchor["unused"]:
        out += wrap(reason, indent)
    return out


def _drifts(effect: Tree) -> bool:
    value = effect["change"]["value"]
    return value is not None and abs(value - 1.0) >= _SEEN


def _moves(effect: Tree) -> bool:
    before, after = effect["before"], effect["after"]
    if before is None or after is None:
        return before is not after
    return f"{before:.1f}" != f"{after:.1f}"


def _times(effect: Tree) -> str:
    value = effect["change"]["value"]
    if value is None:
        return "-"
    return f"{value:.2f}" if value < 10 else figure(value, 2)


def _one_swap(number: int, s: Tree, told: set[str], anchored: bool) -> list[str]:
    """Return one stand-in in full; steps told for one before it are not told again."""
    each = (f"{titled(one)} {figure(one['percent'])} %" for one in s["replace"])
    head = f"{number}. {' + '.join(each)}"
    out: list[str] = [*map(Heading, wrap(f"{head}, score {100 * s['score']['total']:.0f}"))]
    out += _block("why", s["why"])
    changes = changes_seen(s["effects"], anchored)
    out += _columns("changes", changes) if changes else _block("changes", ["none to speak of"])
    out += map(Alarm, _block("caution", (f"{c['rule']}: {c['text']}" for c in s["cautions"])))
    if s["lot"]:
        out += _block("lots", _lot_lines(s["lot"]))
        out += _block("incoming", s["lot"]["incoming_tests"])
    out += _block("method", s["method"])
    out += _block("label", s["label"])
    if s.get("money"):
        out += _block("money", worth_lines(s["money"]))
    fresh = [step for step in s["trial"] if step not in told]
    if len(fresh) < len(s["trial"]):
        fresh.append("the rest as above" if fresh else "as above")
    told.update(s["trial"])
    out += _block("trial", fresh)
    return out


def _whole(s: Tree) -> float:
    return float(sum(one["percent"] for one in s["replace"]))


def _named(replace: list[Tree]) -> str:
    """Return what stands on the line now: a name, or the names of a blend."""
    return " + ".join(titled(one) for one in replace)


def _block(label: str, items: Iterable[str]) -> list[str]:
    out: list[str] = []
    for item in items:
        out += entry("" if out else label, item, _LABEL)
    return out


def _columns(label: str, rows: list[tuple[str, str, str]]) -> list[str]:
    first, *rest = table(rows, "<<<", " " * (3 + _LABEL), give=(0,))
    return [f"   {label:<{_LABEL}}{first.lstrip()}", *rest]


def changes_seen(effects: Tree, anchored: bool = False) -> list[tuple[str, str, str]]:
    """Return what changes enough to be seen, with its range."""
    rows = []
    for name, e in effects.items():
        c = e["change"]
        if name == "feel" or c["value"] is None:
            continue
        if c["kind"] == "ratio":
            spread = max(c["high"] or 1.0, 1.0 / (c["low"] or 1.0)) if c["low"] else 1.0
            measured = anchored and name == "consistency_25c"
            if abs(c["value"] - 1.0) < _SEEN and spread < 1.15 and not measured:
                continue
            reach = span(c["low"], c["high"])
            rows.append((quantity_name(name), f"x {figure(c['value'], 2)}", reach))
            if measured:
                expected = with_unit(figure(e["after"], 2), e["unit"])
                reach = span(e["after_low"], e["after_high"])
                rows.append(("  expected, anchored", expected, reach))
            continue
        if isinstance(e["before"], dict) or isinstance(e["after"], dict):
            before, after = _sum(e["before"]), _sum(e["after"])
        else:
            before, after = e["before"], e["after"]
        digits = _CHANGE_DIGITS.get(name, 2)
        if figure(before, digits) == figure(after, digits):
            continue
        ends = figure(before), figure(after)
        reach = f"{signed(c['low'])} to {signed(c['high'])}"
        unit = e["unit"].replace(" per kg of formula", "/kg")
        rows.append((quantity_name(name), f"{ends[0]} -> {ends[1]}", with_unit(reach, unit)))
    return rows


def _sum(agents: Tree | None) -> float | None:
    return sum(agents.values()) if agents else None


def _not_taken(rejected: list[Tree]) -> list[str]:
    """Return why others are out, one reason once with those it meets."""
    groups: dict[tuple[str, str], list[str]] = {}
    for r in rejected:
        if r["rule"] != "ranked-lower":
            groups.setdefault((r["rule"], r["reason"]), []).append(titled(r))
    if not groups:
        return []
    out: list[str] = ["", Heading(f"Not taken ({len(rejected)} in all, with --json)")]
    for (rule, reason), names in list(groups.items())[:_REASONS_SHOWN]:
        named = list(dict.fromkeys(names))
        shown = ", ".join(named[:_NAMES_SHOWN])
        more = f" and {len(named) - _NAMES_SHOWN} more" if len(named) > _NAMES_SHOWN else ""
        out += bullet([f"{shown}{more} - {rule}: {reason}"])
    return out


# -- why -----------------------------------------------------------------------------------------


def why_quantity_text(tree: Tree) -> list[str]:
    """Return the text of ``kb why --formula F QUANTITY``."""
    value = tree.get("total") if tree["quantity"] == "free_preservative" else tree["value"]
    low, high = tree["low"], tree["high"]
    if tree["quantity"] == "settling":
        shown = tree["state"]
    elif isinstance(value, dict):
        shown = ", ".join(f"{k.replace('_', ' ')} {figure(v, 2)}" for k, v in value.items())
    else:
        shown = with_unit(figure(value), tree["unit"]) if value is not None else "not computable"
    reach = "" if isinstance(low, dict) else span(low, high, _DIGITS.get(tree["quantity"], 2))
    head = f"{quantity_name(tree['quantity'])}: {shown}{f' ({reach})' if reach else ''}"
    out: list[str] = [*map(Heading, wrap(head))]
    for label, text in (
        ("How", tree["equation"]),
        ("From", tree["citation"]),
        ("Holds for", tree["validity"]),
        ("Error", tree["error"]),
        ("Limited by", "; ".join(tree["limited_by"])),
    ):
        if text:
            out += wrap(f"{label}: {text}")
    if tree["dominates"]:
        rows = [(f"{100 * d['share']:.0f} %", d["what"]) for d in tree["dominates"]]
        out += ["", Heading("What its range comes from"), *table(rows, "><", "  ")]
    if tree["inputs"]:
        out += ["", Heading("Inputs")]
        out += table(
            [_input(i) for i in tree["inputs"][:_INPUTS_SHOWN]], "<<><<", "  ", give=(0, 1)
        )
        if len(tree["inputs"]) > _INPUTS_SHOWN:
            out.append(f"  ... {len(tree['inputs']) - _INPUTS_SHOWN} more with --json")
    return out


def _input(i: Tree) -> tuple[str, str, str, str, str]:
    name = i["property"].replace("_", " ")
    return i["ingredient"], name, figure(i["value"]), unit_word(i["unit"]), i["evidence"]


def _lot_lines(lot: Tree) -> list[str]:
    """Return what differs between two lots of one name, what matters first."""
    lines = []
    for d in lot["differences"][:10]:
        mark = " (matters here)" if d["matters"] else ""
        name = d["property"].replace("_", " ")
        change = f"{figure(d['old'])} -> {figure(d['new'])} {unit_word(d['unit'])}".rstrip()
        lines.append(f"{name} {change}{mark}")
    return lines or ["no value differs"]
