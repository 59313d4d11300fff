"""Result trees as text for a terminal: the answer first, then why."""

from __future__ import annotations

from kb.report.paper import bullet, figure, span, table, wrap
from kb.report.tree import Tree

_NAMES = {
    "hlb": "HLB of the emulsifiers",
    "required_hlb": "required HLB of the oils",
    "oil_viscosity_25c": "liquid oil, 25 degC",
    "consistency_25c": "consistency, 25 degC, 10 1/s",
    "climate_drift_10_over_40": "consistency 10 over 40 degC",
    "solids_10c": "solids in the oil phase, 10 degC",
    "solids_25c": "solids in the oil phase, 25 degC",
    "solids_40c": "solids in the oil phase, 40 degC",
    "oil_binding": "oil binding",
    "powder_volume": "powder, by volume",
    "dispersed_fraction": "inner phase, by volume",
    "density": "density",
    "water_phase_ph": "pH of the water phase",
    "water_activity": "water activity",
    "free_preservative": "free preservative in the water",
    "natural_origin": "natural origin, water included",
    "oxidation": "oxidation index",
    "settling": "settling of powder",
    "cost": "cost",
    "feel": "feel",
}
_SHORT = ("hlb", "consistency_25c", "climate_drift_10_over_40", "oil_viscosity_25c")
_LEVEL_WORDS = {"problem": "PROBLEM", "caution": "caution", "note": "note"}


def quantity_name(name: str) -> str:
    """Return how a quantity is called in a sentence."""
    return _NAMES.get(name, name.replace("_", " "))


def _unit(unit: str) -> str:
    return {"1": "", "pH": "", "index": "", "%": "%"}.get(unit, unit)


def find_text(tree: Tree) -> list[str]:
    """Return the text of ``kb find``."""
    if not tree["matches"]:
        return [
            f"Nothing is called {tree['text']!r}.",
            "Try a part of the name, the INCI name or the registry number.",
        ]
    rows = [
        (
            f"{m['score']:.0f}",
            m["inci"],
            m["matched"] if m["matched"] != m["inci"] else "",
            m["ingredient"],
        )
        for m in tree["matches"]
    ]
    return table(
        [
            ("score", "INCI", "matched", "ingredient"),
            *((a, b[:30], c[:22], d) for a, b, c, d in rows),
        ],
        "><<<",
    )


def show_text(tree: Tree) -> list[str]:
    """Return the text of ``kb show``."""
    grade = f" ({tree['grade']})" if tree["grade"] else ""
    out = [
        f"{tree['inci']}{grade}   {tree['cas'] or ''}".rstrip(),
        f"{tree['origin']} origin, {tree['form']}, {tree['charge']}, {tree['phase']} phase",
    ]
    if tree["names"]:
        out += wrap("Also called: " + ", ".join(tree["names"][:12]))
    if tree["grades"]:
        out += wrap("Grades: " + ", ".join(tree["grades"]))
    if tree["composition"]:
        parts = [
            f"{p['part']} {figure(p['low'])}-{figure(p['high'])} %" for p in tree["composition"]
        ]
        out += wrap("Holds: " + "; ".join(parts[:10]))
    out += ["", "Does"]
    out += table(
        [
            (r["label"], f"{figure(r['low'])} to {figure(r['high'])} %", r["source"][:34])
            for r in tree["roles"]
        ],
        "<><",
        "  ",
    )
    out += ["", "Values"]
    rows = []
    for f in tree["facts"][:40]:
        at = f" at {f['temperature_c']:g} degC" if f["temperature_c"] is not None else ""
        middle = figure(f["value"])
        reach = span(f["low"], f["high"])
        shown = f"{middle} ({reach})" if reach and f["value"] is not None else (reach or middle)
        rows.append(
            (
                f["property"].replace("_", " ") + at,
                f"{shown} {_unit(f['unit'])}"[:32],
                f["evidence"],
            )
        )
    out += table(rows, "<<<", "  ")
    if len(tree["facts"]) > 40:
        out.append(f"  ... {len(tree['facts']) - 40} more with --json")
    bad = [e for e in tree["edges"] if e["verdict"] != "works"]
    if bad:
        out += ["", "Fights"]
        for e in bad[:8]:
            where = f" in {e['system']}" if e["system"] else ""
            out += bullet([f"{e['with']}{where} ({e['verdict']}): {e['mechanism']}"])
        if len(bad) > 8:
            out.append(f"  ... {len(bad) - 8} more with --json")
    if tree["limits"]:
        out += ["", "Limits"]
        for x in tree["limits"][:8]:
            reach = span(x["low"], x["high"], 3) if x["low"] is not None else figure(x["high"])
            what = f"{x['kind']} {reach} {x['unit']}" if x["high"] is not None else x["kind"]
            out += bullet(
                [f"{x['jurisdiction'].upper()} {x['section']}: {what}, {x['applies']}; {x['note']}"]
            )
    return out


def roles_text(tree: Tree) -> list[str]:
    """Return the text of ``kb roles``: a tree with counts."""
    children: dict[str, list[str]] = {}
    about = {r["role"]: r for r in tree["roles"]}
    for r in tree["roles"]:
        for parent in r["parents"]:
            children.setdefault(parent, []).append(r["role"])
    out: list[str] = []

    def grow(role: str, depth: int) -> None:
        r = about[role]
        out.append(f"{'  ' * depth}{r['label']} ({r['players']})  [{role}]")
        for child in sorted(children.get(role, [])):
            grow(child, depth + 1)

    for r in tree["roles"]:
        if not r["parents"]:
            grow(r["role"], 0)
    return out


def role_text(tree: Tree) -> list[str]:
    """Return the text of ``kb roles ROLE``."""
    out = [f"{tree['label']}  [{tree['role']}]", *wrap(tree["definition"])]
    out.append(f"Above: {', '.join(tree['parents']) or '-'}")
    out += wrap(f"Below: {', '.join(tree['children']) or '-'}")
    out += ["", "What makes two players alike"]
    out += table(
        [
            (
                t["property"].replace("_", " "),
                f"within {t['tolerance']:g}"
                if t["kind"] != "ratio"
                else f"x/÷ {1 + t['tolerance']:g}",
                "decides" if t["decisive"] else "",
                t["why"],
            )
            for t in tree["traits"]
        ],
        "<<<<",
        "  ",
    )
    out += ["", f"Players ({len(tree['players'])})"]
    out += table(
        [
            (p["inci"][:44], f"{figure(p['low'])} to {figure(p['high'])} %", p["role"])
            for p in tree["players"][:60]
        ],
        "<><",
        "  ",
    )
    return out


def suits_text(tree: Tree) -> list[str]:
    """Return the text of ``kb suits``."""
    where = f" in {tree['system']}" if tree["system"] else " here"
    head = f"{tree['inci']}{where}: {tree['verdict']} as {tree['as_role']}"
    if tree.get("merely_present"):
        head += f", {tree['merely_present']} when merely present"
    out = [*wrap(head + "."), ""]
    for r in tree["because"]:
        source = r["source"] or r["evidence"]
        mark = {"works": "+", "careful": "!", "fails": "x"}[r["verdict"]]
        out += bullet(
            [f"{r['text']} [{source}{', ' + r['evidence'] if r['source'] else ''}]"], mark
        )
    if tree["instead"]:
        out += ["", *wrap("Use instead: " + ", ".join(m["inci"] for m in tree["instead"]))]
    return out


def check_text(tree: Tree) -> list[str]:
    """Return the text of ``kb check``."""
    inferred = tree["inferred"]
    system = tree["system"] or "unclear"
    out = [f"{tree['name'] or 'Formula'}: {system}, total {figure(tree['total'], 5)} %"]
    out += wrap(f"({inferred['sure']}: {'; '.join(inferred['because'])})", "", " ")
    levels = {"problem": [], "caution": [], "note": []}  # type: dict[str, list[Tree]]
    for f in tree["findings"]:
        levels[f["level"]].append(f)
    counted = ", ".join(f"{len(levels[k])} {k}{'s' if len(levels[k]) != 1 else ''}" for k in levels)
    out += ["", f"Findings: {counted}"]
    for level, found in levels.items():
        for f in found:
            lines = f" (line {', '.join(map(str, f['lines']))})" if f["lines"] else ""
            source = f" [{f['source']}]" if f["source"] else ""
            out += wrap(f"{_LEVEL_WORDS[level]:8}{f['rule']}{lines}: {f['message']}{source}", "  ")
    out += ["", "Lines"]
    rows = []
    for line in tree["lines"]:
        roles = ", ".join(f"{r['role']} {100 * r['share']:.0f}" for r in line["roles"][:2])
        name = line["inci"] or f"? {line['given']}"
        rows.append((str(line["line"]), figure(line["percent"], 4), name[:32], roles[:36]))
    out += table(rows, ">><<", "  ")
    out += ["", "Predictions (range holds 90 %)"]
    out += _profile_rows(tree["profile"])
    return out


def _profile_rows(profile: Tree) -> list[str]:
    rows = []
    for name, q in profile.items():
        if name in {"feel", "cost"}:
            continue
        value = q.get("total") if name == "free_preservative" else q["value"]
        if name == "settling":
            rows.append((quantity_name(name), q["state"], "", ""))
            continue
        if value is None:
            reason = q["limited_by"][0] if q["limited_by"] else ""
            rows.append((quantity_name(name), "-", "", reason[:30]))
            continue
        reach = "" if name == "free_preservative" else span(q["low"], q["high"])
        rows.append((quantity_name(name), figure(value), reach, _unit(q["unit"])))
    lines = table(rows, "<><<", "  ")
    feel = profile.get("feel", {}).get("value")
    if feel:
        words = ", ".join(f"{k.replace('_', ' ')} {v:g}" for k, v in feel.items())
        lines += wrap(f"feel, 1 to 5: {words}", "  ")
    return lines


def swap_text(tree: Tree, detail: int = 3) -> list[str]:
    """Return the text of ``kb swap``: a ranked table, then the first ones in full."""
    line = tree["line"]
    roles = ", ".join(f"{r['role']} {100 * r['share']:.0f} %" for r in line["roles"])
    out = wrap(
        f"{line['inci']} {figure(line['percent'])} % in {tree['name'] or 'the formula'} "
        f"({tree['system'] or 'kind unclear'}). Here it is: {roles}."
    )
    if not tree["swaps"]:
        out += ["", "Nothing acceptable stands in for it."]
        miss = tree.get("nearest_miss")
        if miss:
            out += wrap(f"Nearest miss: {miss['inci']} - {miss['reason']} ({miss['rule']}).")
        out += ["", *_rejected_lines(tree)]
        return out
    out.append("")
    rows = [("", "stand-in", "level %", "score", "consistency", "drift", "HLB", "cautions")]
    for n, s in enumerate(tree["swaps"], 1):
        rows.append(
            (
                str(n),
                s["replace"][0]["inci"][:26],
                figure(s["replace"][0]["percent"]),
                f"{100 * s['score']['total']:.0f}",
                _times(s["effects"]["consistency_25c"]),
                _times(s["effects"]["climate_drift_10_over_40"]),
                _arrow(s["effects"]["hlb"]),
                str(len(s["cautions"])) if s["cautions"] else "",
            )
        )
    out += table(rows, "><>>>><>", "")
    if tree["asks"]:
        out.append("")
        for question in tree["asks"]:
            out += wrap(f"? {question}")
    for n, s in enumerate(tree["swaps"][:detail], 1):
        out += ["", *_swap_lines(n, s)]
    out += ["", *_rejected_lines(tree)]
    return out


def _times(effect: Tree) -> str:
    value = effect["change"]["value"]
    return "-" if value is None else f"x {figure(value, 2)}"


def _arrow(effect: Tree) -> str:
    if effect["before"] is None and effect["after"] is None:
        return "none"
    return f"{figure(effect['before'], 2)} > {figure(effect['after'], 2)}"


def _swap_lines(number: int, s: Tree) -> list[str]:
    one = s["replace"][0]
    out = [
        f"{number}. {one['inci']} {figure(one['percent'])} %   "
        f"score {100 * s['score']['total']:.0f}"
    ]
    out += wrap("why: " + "; ".join(s["why"]), "   ")
    changes = []
    for name, e in s["effects"].items():
        c = e["change"]
        if name in {"cost", "feel"} or c["value"] is None:
            continue
        if c["kind"] == "ratio":
            if abs(c["value"] - 1.0) < 0.03 and (c["high"] or 1) < 1.15:
                continue
            changes.append(
                (
                    quantity_name(name),
                    f"x {figure(c['value'], 2)}",
                    f"({span(c['low'], c['high'])})",
                )
            )
        elif abs(c["value"]) > 0.005:
            before, after = figure(e["before"]), figure(e["after"])
            changes.append(
                (
                    quantity_name(name),
                    f"{before} > {after}",
                    f"({c['low']:+.2g} to {c['high']:+.2g}) {_unit(e['unit'])}".rstrip(),
                )
            )
    out += table(changes, "<<<", "   ")
    for c in s["cautions"]:
        out += wrap(f"! {c['rule']}: {c['text']}", "   ")
    for step in s["method"]:
        out += wrap(f"> {step}", "   ")
    for step in s["label"]:
        out += wrap(f"= label: {step}", "   ")
    for step in s["trial"]:
        out += wrap(f"o {step}", "   ")
    return out


def _rejected_lines(tree: Tree) -> list[str]:
    told = [r for r in tree["rejected"] if r["rule"] != "ranked-lower"][:6]
    if not told:
        return []
    out = [f"Not taken ({len(tree['rejected'])} in all, with --json):"]
    for r in told:
        out += bullet([f"{r['inci']}: {r['rule']} - {r['reason']}"])
    return out


def why_fact_text(tree: Tree) -> list[str]:
    """Return the text of ``kb why NAME PROPERTY``."""
    best = tree["best"]
    head = f"{tree['inci']}, {tree['property'].replace('_', ' ')} ({tree['meaning']})"
    if best is None:
        return [*wrap(head), "No value is known."]
    out = wrap(head)
    out.append(
        f"{figure(best['value'], 4)} {_unit(best['unit'])}, "
        f"range {span(best['low'], best['high'], 3)}"
    )
    out += wrap(f"{best['evidence']}: {best['source']}")
    out += ["", f"All {len(tree['others'])} values"]
    for f in tree["others"]:
        at = f", {f['temperature_c']:g} degC" if f["temperature_c"] is not None else ""
        reach = span(f["low"], f["high"], 3)
        out += bullet(
            [
                f"{figure(f['value'], 4)} {'(' + reach + ')' if reach else ''}{at}; "
                f"{f['conditions']} [{f['evidence']}: {f['source']}]"
            ]
        )
    out += ["", *wrap("Used by: " + (", ".join(tree["used_by"]) or "nothing yet"))]
    return out


def why_quantity_text(tree: Tree) -> list[str]:
    """Return the text of ``kb why --formula F QUANTITY``."""
    value = tree.get("total") if tree["quantity"] == "free_preservative" else tree["value"]
    shown = figure(value) if not isinstance(value, dict) else "-"
    reach = span(tree["low"], tree["high"]) if not isinstance(tree["low"], dict) else ""
    out = [
        f"{quantity_name(tree['quantity'])}: {shown} {_unit(tree['unit'])} "
        f"{'(' + reach + ')' if reach else ''}".rstrip()
    ]
    out += wrap("How: " + tree["equation"])
    out += wrap("From: " + tree["citation"])
    out += wrap("Holds for: " + tree["validity"] + "; error " + tree["error"])
    if tree["limited_by"]:
        out += wrap("Limited by: " + "; ".join(tree["limited_by"]))
    if tree["dominates"]:
        out += ["", "What its range comes from"]
        out += table(
            [(f"{100 * d['share']:.0f} %", d["what"]) for d in tree["dominates"]], "><", "  "
        )
    out += ["", "Inputs"]
    out += table(
        [
            (
                i["ingredient"][:34],
                i["property"].replace("_", " ")[:24],
                figure(i["value"]),
                i["evidence"],
            )
            for i in tree["inputs"][:30]
        ],
        "<<><",
        "  ",
    )
    return out
