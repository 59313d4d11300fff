"""The tree of an adaptation: what changed and why, what follows, proof, or what closed the door."""

from __future__ import annotations

import math

from kb.adapt.answers import Adaptation, ClosedBy, Exchanged, Solution
from kb.adapt.proof import Proof
from kb.engine.opening import Opened
from kb.report.formula import caution_tree, effect_trees
from kb.report.paper import plain
from kb.report.tree import Tree, naming
from kb.store.snapshot import Snapshot


def adapt_tree(opened: Opened, result: Adaptation, base: Snapshot) -> Tree:
    """Return the tree of ``kb adapt``."""
    wish = result.wish
    return {
        "name": opened.formula.name,
        "system": result.before.system,
        "status": result.status,
        "asked": {
            "policies": list(wish.policies),
            "forbid": sorted(wish.forbid),
            "keep": [result.before.batch.items[n].line for n in sorted(wish.keep)],
            "max_changes": wish.max_changes,
            "cost_cap": wish.cost_cap,
            "blend": wish.blend,
            "without": sorted(wish.without),
        },
        "proof": _proof(result),
        "solutions": [_solution(s, result, base) for s in result.solutions],
        "closed_by": [_closed(c) for c in result.closed_by],
        "irreducible": result.irreducible if result.closed_by else None,
        "asks": [plain(text) for text in dict.fromkeys(result.asks)],
    }


def _proof(result: Adaptation) -> Tree:
    if result.status == "unchanged":
        return {**dict.fromkeys(("bound", "gap", "full_value", "eps"), 0.0), "said": _NOTHING}
    if result.proof is None:
        return {**dict.fromkeys(("bound", "gap", "full_value", "eps")), "said": ""}
    return proof_tree(result.proof)


_NOTHING = "nothing has to change, and no formula is nearer than the formula itself"


def proof_tree(proof: Proof) -> Tree:
    """Return what was shown of an answer, in figures and in a sentence."""
    return {
        "bound": proof.bound,
        "gap": proof.gap if math.isfinite(proof.gap) else None,
        "full_value": proof.full_value,
        "eps": proof.eps,
        "widened": proof.widened,
        "rounds": proof.rounds,
        "full_models": proof.full_models,
        "said": proof_said(proof),
    }


def proof_said(proof: Proof) -> str:
    """Say in a sentence what the proof is worth."""
    if proof.gap > 0.0:
        return (
            f"not proven: a nearer answer may exist, by {proof.gap:.2g} at most of "
            f"{proof.full_value:.3g}"
        )
    text = "proven: no other choice of materials in the base comes nearer"
    if proof.widened >= 0.005:
        text += (
            f"; this rests on linear sums missing the full model by a factor of "
            f"{1.0 + proof.widened:.2g} at most, the largest error sampled and not a proven one"
        )
    return text


def _solution(s: Solution, result: Adaptation, base: Snapshot) -> Tree:
    return {
        "distance": s.distance,
        "proof": proof_tree(s.proof),
        "changes": [_exchanged(c, base) for c in s.changes],
        "moved": [
            {
                "line": m.line,
                **naming(m.material, base),
                "before": m.before,
                "after": m.after,
            }
            for m in s.moved
        ],
        "effects": effect_trees(s.effects, result.before, s.after),
        "trial": [plain(text) for text in s.trial],
        "formula": [
            {
                "line": item.line,
                **naming(item.material, base),
                "percent": item.percent,
                "stage": item.stage,
            }
            for item in sorted(s.batch.items, key=lambda i: i.line)
        ],
    }


def _exchanged(c: Exchanged, base: Snapshot) -> Tree:
    return {
        "line": c.line,
        "from": {**naming(c.old, base), "percent": c.percent},
        "to": [{**naming(material, base), "percent": percent} for material, percent in c.to],
        "because": c.because,
        "why": [plain(text) for text in c.why],
        "cautions": [caution_tree(one) for one in c.cautions],
        "method": [plain(text) for text in c.method],
        "asks": list(c.asks),
    }


def _closed(c: ClosedBy) -> Tree:
    return {
        "rule": c.rule,
        "line": c.line,
        "text": plain(c.text),
        "opens": c.opens,
        "instead": plain(c.instead),
        "distance": c.distance,
    }
