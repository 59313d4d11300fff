"""Trees of what the engine says about a formula: check, swap, why."""

from __future__ import annotations

from kb.engine.answers import Change, Rejected, Swap, SwapResult
from kb.engine.batch import Batch
from kb.engine.context import Caution
from kb.engine.findings import Finding
from kb.engine.lots import differences, incoming_tests
from kb.engine.opening import Opened
from kb.engine.profile import Profile
from kb.engine.quantity import Quantity
from kb.engine.roles import Here, roles_here
from kb.engine.why import Reason
from kb.report.paper import plain
from kb.report.tree import Tree, naming
from kb.store.snapshot import Snapshot

_SCORE_PARTS = (
    "role",
    "worst_trait",
    "traits",
    "evidence",
    "company",
    "figures",
    "level",
    "sold",
    "shelf",
    "several",
)


def check_tree(opened: Opened, profile: Profile, findings: list[Finding], base: Snapshot) -> Tree:
    """Return the tree of ``kb check``."""
    kind = profile.inferred
    return {
        "name": opened.formula.name,
        "system": profile.system,
        "inferred": {
            "system": kind.system,
            "because": [plain(text) for text in kind.because],
            "sure": kind.sure,
            "blend_hlb": kind.hlb,
            "water_share": kind.water_share,
        },
        "total": opened.formula.total,
        "lines": _line_trees(opened, profile, base),
        "profile": {n: quantity_tree(q) for n, q in profile.quantities.items()},
        "findings": [
            {
                "level": f.level,
                "rule": f.rule,
                "lines": list(f.lines),
                "message": plain(f.message),
                "source": f.source,
            }
            for f in findings
        ],
    }


def _line_trees(opened: Opened, profile: Profile, base: Snapshot) -> list[Tree]:
    items = {item.line: item for item in opened.batch.items}
    trees = []
    pairs = zip(opened.formula.lines, opened.answers, strict=True)
    for number, (line, answer) in enumerate(pairs, 1):
        match = answer.match
        item = items.get(number)
        trees.append(
            {
                "line": number,
                "ingredient": match.material if match else None,
                "inci": base.materials[match.material].inci if match else None,
                "grade": (base.materials[match.material].grade or None) if match else None,
                "given": line.given,
                "resolved": {"by": match.by, "score": match.score} if match else None,
                "nearest": [m.matched for m in answer.nearest] if match is None else [],
                "percent": line.percent,
                "stage": line.stage,
                "roles": role_trees(roles_here(item, profile, base), base) if item else [],
            }
        )
    return trees


def role_trees(here: tuple[Here, ...], base: Snapshot) -> list[Tree]:
    """Return roles with their shares."""
    return [{"role": h.role, "label": base.roles[h.role].label, "share": h.share} for h in here]


def quantity_tree(q: Quantity) -> Tree:
    """Return one quantity; feel, settling and preservatives carry their own extras."""
    tree: Tree = {
        "value": q.value,
        "low": q.low,
        "high": q.high,
        "unit": q.unit,
        "method": q.method,
        "limited_by": [plain(text) for text in q.limited_by],
    }
    detail = q.detail or {}
    if q.name == "feel":
        tree["value"] = {k: v["value"] for k, v in detail.items() if isinstance(v, dict)} or None
        tree["drivers"] = {k: plain(v["driver"]) for k, v in detail.items() if isinstance(v, dict)}
    elif q.name == "free_preservative":
        agents = {k: v for k, v in detail.items() if isinstance(v, dict)}
        tree["total"] = q.value
        for end in ("value", "low", "high"):
            tree[end] = {k: v[end] for k, v in agents.items()} or None
        tree["agents"] = agents
    elif q.name == "settling":
        tree["state"] = detail.get("state", "unclear")
    elif "modelled" in detail:
        tree["anchor"] = detail
    return tree


def swap_tree(opened: Opened, result: SwapResult, base: Snapshot) -> Tree:
    """Return the tree of ``kb swap``."""
    item = opened.batch.items[result.index]
    tree: Tree = {
        "name": opened.formula.name,
        "system": result.before.system,
        "line": {
            "line": item.line,
            **naming(item.material, base),
            "percent": item.percent,
            "roles": role_trees(result.here, base),
        },
        "swaps": [_one_swap(s, result, base) for s in result.swaps],
        "rejected": [_rejected(r, base) for r in result.rejected],
        "asks": list(result.asks),
        "anchor": anchor_tree(result.before),
    }
    if result.nearest_miss is not None:
        tree["nearest_miss"] = _rejected(result.nearest_miss, base)
    return tree


def anchor_tree(profile: Profile) -> Tree | None:
    """Return what the consistency is anchored to, or nothing when the model stands alone."""
    detail = profile.quantities["consistency_25c"].detail or {}
    return dict(detail) if "modelled" in detail else None


def _rejected(r: Rejected, base: Snapshot) -> Tree:
    return {
        **naming(r.material, base),
        "rule": r.rule,
        "reason": plain(r.reason),
    }


def _one_swap(s: Swap, result: SwapResult, base: Snapshot) -> Tree:
    return {
        "replace": [
            {**naming(material, base), "percent": percent} for material, percent in s.replacing
        ],
        "level": s.trial.how,
        "score": {"total": s.total, "parts": {p: s.parts[p] for p in _SCORE_PARTS if p in s.parts}},
        "effects": effect_trees(s.effects, result.before, s.after),
        "why": [plain(text) for text in s.why],
        "cautions": [caution_tree(c) for c in s.cautions],
        "method": [plain(text) for text in s.method],
        "lot": lot_tree(s, result, base),
        "label": list(s.label),
        "trial": [plain(text) for text in s.card],
        "formula": batch_lines(s.trial.batch, base),
    }


def lot_tree(s: Swap, result: SwapResult, base: Snapshot) -> Tree | None:
    """Return what differs between two lots or grades of one name, or nothing for other names."""
    old, new = result.before.batch.items[result.index].material, s.candidate.material
    if old.split("--")[0] != new.split("--")[0] or s.others:
        return None
    found = differences(old, new, result.here, base)
    return {
        "differences": [
            {
                "property": d.property,
                "old": d.old,
                "new": d.new,
                "unit": d.unit,
                "matters": d.matters,
            }
            for d in found
        ],
        "incoming_tests": incoming_tests(found, result.here, base),
    }


def caution_tree(c: Caution) -> Tree:
    """Return a caution with its rule and where it comes from."""
    return {"rule": c.rule, "text": plain(c.text), "source": c.source}


def effect_trees(effects: dict[str, Change], before: Profile, after: Profile) -> Tree:
    """Return how each quantity changes from one profile to another."""
    return {name: _effect(name, e, before, after) for name, e in effects.items()}


def _effect(name: str, e: Change, old: Profile, new: Profile) -> Tree:
    before: object = e.before
    after: object = e.after
    if name == "free_preservative":
        before = _per_agent(old)
        after = _per_agent(new)
    tree: Tree = {
        "before": before,
        "after": after,
        "unit": e.unit,
        "change": {"kind": e.kind, "value": e.value, "low": e.low, "high": e.high},
        "limited_by": [plain(text) for text in new.quantities[name].limited_by],
    }
    if not isinstance(after, dict) and e.after is not None:
        tree["after_low"] = new.quantities[name].low
        tree["after_high"] = new.quantities[name].high
    if name == "settling":
        tree["state"] = {
            "before": (old.quantities[name].detail or {}).get("state"),
            "after": (new.quantities[name].detail or {}).get("state"),
        }
    return tree


def _per_agent(profile: Profile) -> dict[str, float] | None:
    return {a.material: float(a.free[0]) for a in profile.agents} or None


def batch_lines(batch: Batch, base: Snapshot) -> list[Tree]:
    """Return the lines of a batch."""
    return [
        {
            **naming(item.material, base),
            "percent": item.percent,
            "stage": item.stage,
        }
        for item in batch.items
    ]


def reason_tree(reason: Reason, method: Tree) -> Tree:
    """Return the tree of ``kb why --formula``."""
    return {
        "quantity": reason.quantity,
        **quantity_tree(reason.profile.quantities[reason.quantity]),
        "equation": method.get("equation", ""),
        "citation": method.get("citation", ""),
        "validity": method.get("validity", ""),
        "error": method.get("error", ""),
        "inputs": [
            {
                "ingredient": i.ingredient,
                "percent": i.percent,
                "property": i.property,
                "value": i.value,
                "low": i.low,
                "high": i.high,
                "unit": i.unit,
                "source": i.source,
                "evidence": i.evidence,
            }
            for i in reason.inputs
        ],
        "dominates": [{"what": what, "share": share} for what, share in reason.dominates],
        "best": reason.profile.quantities[reason.quantity].value,
        "others": [],
        "source": method.get("citation", ""),
        "used_by": [],
    }
