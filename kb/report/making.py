"""Trees and text of what was measured, and of two formulas beside each other."""

from __future__ import annotations

import math
from typing import Any

from kb.engine.anchoring import Process
from kb.engine.comparing import Comparison, label_moves
from kb.engine.findings import Finding
from kb.engine.profile import Profile
from kb.own.measured import QUANTITIES
from kb.report.formula import quantity_tree
from kb.report.money import money_lines
from kb.report.paper import Heading, bullet, entry, figure, plain, signed, span, table, wrap
from kb.report.tree import Tree
from kb.report.words import plural, quantity_name, unit_word
from kb.science.anchoring import Z90

_ANCHOR = {"consistency": "consistency_25c", "ph": "water_phase_ph"}
#: A change counts when it is more than this share, or this many units.
_SEEN = 0.005


def measured_tree(
    rows: list[dict[str, Any]], profile: Profile | None, process: Process | None = None
) -> Tree:
    """Return the tree of ``kb measured``; with a formula also what the model alone says of it.

    ``process`` is the factor that the user's batches share.
    """
    trees = []
    for row in rows:
        about = profile.quantities.get(_ANCHOR.get(row["quantity"], "")) if profile else None
        predicted = None
        ratio = None
        if about is not None and about.value is not None:
            predicted = {"value": about.value, "low": about.low, "high": about.high}
            if row["quantity"] == "consistency" and about.value > 0:
                ratio = row["value"] / about.value
        trees.append(
            {
                **{k: row[k] for k in ("date", "name", "quantity", "value")},
                "unit": QUANTITIES.get(row["quantity"], ("",))[0],
                **{k: row[k] or None for k in ("instrument", "spindle", "speed", "note")},
                **{k: row[k] for k in ("age_h", "temperature_c")},
                "predicted": predicted,
                "measured_over_predicted": ratio,
            }
        )
    tree: Tree = {"measured": trees, "process": None}
    if process is not None:
        reach = Z90 * process.spread
        tree["process"] = {
            "factor": process.factor,
            "low": math.exp(process.mean - reach),
            "high": math.exp(process.mean + reach),
            "formulas": process.formulas,
        }
    return tree


def measured_text(tree: Tree) -> list[str]:
    """Return the text of ``kb measured``."""
    if not tree["measured"]:
        return ["Nothing was logged yet.", "  `kb measured FORMULA --consistency 42000` does."]
    out: list[str] = [Heading(plural(len(tree["measured"]), "measurement"))]
    for row in tree["measured"]:
        said = f"{figure(row['value'], 5)} {unit_word(row['unit'])}".strip()
        if row["unit"] == "pH":
            said = f"pH {said}"
        how = [row["instrument"], row["spindle"] and f"spindle {row['spindle']}", row["speed"]]
        how.append(f"after {figure(row['age_h'])} h" if row["age_h"] is not None else None)
        at = row["temperature_c"]
        how.append(f"at {figure(at)} degC" if at is not None else None)
        text = f"{row['name'] or 'formula'}: {row['quantity']} {said}"
        text += "".join(f", {word}" for word in how if word)
        out += entry(row["date"], text, 12, "  ")
        if row["predicted"]:
            p = row["predicted"]
            reach = span(p["low"], p["high"])
            more = f" ({reach})" if reach else ""
            ratio = row["measured_over_predicted"]
            times = f"; measured is {figure(ratio, 2)} times that" if ratio else ""
            out += wrap(f"predicted {figure(p['value'])}{more}{times}", " " * 14)
        if row["note"]:
            out += wrap(row["note"], " " * 14)
    process = tree["process"]
    if process:
        reach = span(process["low"], process["high"])
        out += wrap(
            f"Your batches come out {figure(process['factor'], 2)} times what the model says "
            f"({reach}), learnt from {plural(process['formulas'], 'formula')}; other formulas are "
            "predicted with it (--model-only leaves it out)."
        )
    return out


def compare_tree(found: Comparison, names: tuple[str, str]) -> Tree:
    """Return the tree of ``kb compare``."""
    return {
        "first": _side(names[0], found.before),
        "second": _side(names[1], found.after),
        "lines": [
            {
                "ingredient": line.material,
                "name": line.name,
                "before": line.before,
                "after": line.after,
                "change": line.what,
            }
            for line in found.lines
        ],
        "effects": {
            name: {
                "before": quantity_tree(found.before.quantities[name])["value"],
                "after": quantity_tree(found.after.quantities[name])["value"],
                "unit": e.unit,
                "change": {"kind": e.kind, "value": e.value, "low": e.low, "high": e.high},
                "limited_by": [plain(t) for t in found.after.quantities[name].limited_by],
            }
            for name, e in found.effects.items()
        },
        "findings": {
            "appear": [_finding(f) for f in found.appear],
            "go": [_finding(f) for f in found.go],
            "stay": found.stay,
        },
        "label": {
            "before": [n.inci for n in found.label_before],
            "after": [n.inci for n in found.label_after],
            "changes": label_moves(found.label_before, found.label_after),
        },
    }


def _side(name: str, profile: Profile) -> Tree:
    return {"file": name, "name": profile.batch.name, "system": profile.system}


def _finding(found: Finding) -> Tree:
    return {
        "level": found.level,
        "rule": found.rule,
        "lines": list(found.lines),
        "message": plain(found.message),
        "source": found.source,
    }


def compare_text(tree: Tree) -> list[str]:
    """Return the text of ``kb compare``: what differs first, then what follows."""
    first, second = tree["first"], tree["second"]
    kinds = first["system"] or "kind unclear", second["system"] or "kind unclear"
    said = kinds[0] if kinds[0] == kinds[1] else f"{kinds[0]}, then {kinds[1]}"
    out: list[str] = [*map(Heading, wrap(f"{first['file']} and {second['file']}: {said}"))]
    for version in tree.get("versions", [])[-1:]:
        told = [version.get(key) for key in ("date", "change", "why")]
        said = "; ".join(str(text) for text in told if text)
        out += wrap(f"{second['file']} comes from {version.get('file', 'an earlier one')}: {said}.")
    moved = [line for line in tree["lines"] if line["change"] != "same"]
    same = len(tree["lines"]) - len(moved)
    out += ["", Heading(f"Lines: {len(moved)} differ, {same} are the same")]
    rows = [("", "before", "after", "")]
    for line in moved:
        ends = [
            f"{figure(v, 4)} %" if v is not None else "-" for v in (line["before"], line["after"])
        ]
        rows.append((line["name"], *ends, line["change"]))
    out += table(rows, "<>><", "  ", give=(0,)) if moved else []
    out += ["", Heading("Predictions that move"), *_effect_rows(tree["effects"])]
    cost = tree.get("cost_per_kg")
    if cost:
        out += ["", Heading("Cost of a kilogram, by the kept shelf")]
        out += bullet(
            f"{word}: {line}"
            for word in ("before", "after")
            for line in money_lines(cost[word])[:1]
        )
    findings = tree["findings"]
    stay = plural(findings["stay"], "finding")
    for key, title in (("appear", "Findings that appear"), ("go", "Findings that go")):
        if findings[key]:
            out += ["", Heading(title)]
            out += bullet(f"{f['level']}, {f['rule']}: {f['message']}" for f in findings[key])
    out += ["", f"{stay} in both."]
    out += ["", Heading("Label")]
    out += bullet(tree["label"]["changes"] or ["The names and their order stay."])
    return out


def _effect_rows(effects: Tree) -> list[str]:
    rows = []
    for name, e in effects.items():
        before, after, change = e["before"], e["after"], e["change"]
        if not isinstance(before, float) or not isinstance(after, float):
            if before != after and not isinstance(before, dict) and not isinstance(after, dict):
                ends = [figure(v) if isinstance(v, float) else "-" for v in (before, after)]
                rows.append((quantity_name(name), *ends, unit_word(e["unit"]), ""))
            continue
        if abs(after - before) <= _SEEN * max(abs(before), abs(after)):
            continue
        how = ""
        if change["value"] is not None:
            reach = span(change["low"], change["high"])
            ratio = change["kind"] == "ratio"
            moved = f"x {figure(change['value'], 2)}" if ratio else signed(change["value"])
            how = f"{moved} ({reach})" if reach else moved
        rows.append((quantity_name(name), figure(before), figure(after), unit_word(e["unit"]), how))
    return table(rows, "<>><<", "  ", give=(4, 0)) if rows else ["  None."]
