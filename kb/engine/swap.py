"""One line of a formula replaced: the seven steps from formula to ranked, explained swaps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from kb.engine.answers import Change, Rejected, Swap, SwapResult
from kb.engine.batch import Batch
from kb.engine.candidates import Candidate, rank_pool, score_candidate
from kb.engine.cautions import cautions, own_cautions, static_cautions
from kb.engine.context import Context, Refusal
from kb.engine.exchange import Exchange, exchange
from kb.engine.gates import refuse_early, refuse_late
from kb.engine.profile import Profile, make_profile
from kb.engine.quantity import Quantity
from kb.engine.questions import questions
from kb.engine.roles import roles_here
from kb.engine.trial import label_changes, method_changes, trial_card
from kb.store.snapshot import Snapshot

#: Candidates looked at in full; the rest rank lower on role and traits already.
LOOKED_AT = 36
_OF_EACH_KIND = 3
_MORE_KINDS = 24
#: Draws behind the ranges of the answers that are shown.
DRAWS = 48
_ALIKE_FIRST = 8
#: Places kept for other ways, if they score this share of what else would stand there.
_OTHER_WAYS_AT, _GOOD_ENOUGH = (4, 5), 0.6
#: Families that count as one kind; anything else is told apart by its leading role.
_FAMILIES = (
    "soft-wax-ester",
    "wax-hardener",
    "wax",
    "butter",
    "nonpolar-oil",
    "water-thickener-nonionic",
)
#: Fit of a decisive trait below which its mechanism is the reason to rank lower.
_FAR_APART = 0.3
_MECHANISM = {
    "acid_value": "no-soap",
    "critical_gelling_concentration": "no-structure",
    "crystal_habit": "no-structure",
    "electrolyte_tolerance": "electrolyte-break",
    "evaporation_half_time": "not-volatile",
    "hlb": "wrong-emulsion-type",
    "hue": "colour-or-opacity",
    "iodine_value": "oxidation",
    "melting_point": "melts-in-climate",
    "minimum_effective_level": "preservative-inactive",
    "ph_high": "ph-window",
    "ph_low": "ph-window",
    "polyunsaturates": "oxidation",
    "solid_fat_content": "melts-in-climate",
    "solubility_parameter": "immiscible",
    "viscosity": "function-lost",
    "water_capacity": "wrong-emulsion-type",
    "yield_gel": "no-structure",
}
_REJECTED_KEPT = 1500
_CAREFUL_COST = {"no-structure": 0.6, "wrong-emulsion-type": 0.7, "not-volatile": 0.75}
_PLAIN_COST = 0.93
#: What must be bought first is worth a little less: it decides between near equals, no more.
_AWAY_COST = 0.9
_FREE = {"origin-unknown", "policy-unknown", "allergen", "consistency", "colour-or-opacity"}
#: Figures whose change is told as a ratio; all others as a difference.
RATIOS = {
    "oil_viscosity_25c",
    "consistency_25c",
    "climate_drift_10_over_40",
    "free_preservative",
    "settling",
    "oil_binding",
}


def swap(
    batch: Batch,
    index: int,
    base: Snapshot,
    policies: list[str] | None = None,
    top: int = 10,
    only: set[str] | None = None,
    to: list[str] | None = None,
    as_role: str = "",
    preferred: set[str] | None = None,
) -> SwapResult:
    """Find what can stand in for the item at ``index``.

    Parameters
    ----------
    batch : Batch
        The formula in materials.
    index : int
        Place of the item that is to go.
    base : Snapshot
    policies : list of str, optional
        Policies every stand-in must pass.
    top : int
        How many swaps to return.
    only : set of str, optional
        Materials that may be used (a shelf); ids or generic ids.
    to : list of str, optional
        Ask about these materials alone, grades of the same name included.
    as_role : str, optional
        The role the line plays here, when the user knows better.
    preferred : set of str, optional
        Materials in stock, ids or generic ids: of two of equal worth they come first.
    """
    if as_role:
        items = list(batch.items)
        items[index] = replace(items[index], role=as_role)
        batch = batch.with_items(items)
    before = make_profile(batch, base)
    here = roles_here(batch.items[index], before, base)
    context = Context(base, before, index, here, policies or [], preferred)
    original = batch.items[index].material
    if to is not None:
        pool = [score_candidate(m, original, here, base, before.ph) for m in to]
    else:
        pool = rank_pool(original, here, base, before.ph) if here else []
    passed: list[Swap] = []
    rejected: list[Rejected] = []
    suitable: list[Candidate] = []
    for candidate in pool:
        refusal = _off_shelf(candidate, only) or refuse_early(candidate, context)
        if refusal is None:
            suitable.append(candidate)
        else:
            rejected.append(_reject(candidate, refusal))
    suitable.sort(key=lambda s: (-s.score * _in_stock(s, context), s.material))
    chosen = set(to) if to is not None else _worth_a_look(suitable, context)
    for candidate in suitable:
        if candidate.material not in chosen:
            rejected.append(_lower(candidate, context))
            continue
        trial = exchange(before, index, candidate.material, here, base)
        after = make_profile(trial.batch, base)
        refusal = refuse_late(candidate, trial, after, context)
        if refusal is not None:
            rejected.append(_reject(candidate, refusal))
            continue
        passed.append(_weigh(candidate, trial, after, context))
    passed.sort(key=lambda s: (-s.total, s.candidate.material))
    passed = _varied(passed, top, context)
    shown = passed[:top]
    rejected += [_lower(s.candidate, context) for s in passed[top:]]
    wide = make_profile(batch, base, DRAWS) if shown else before
    for found in shown:
        _explain(found, wide, context)
    rejected.sort(key=lambda r: (-r.score, r.material))
    return SwapResult(
        index,
        here,
        before,
        shown,
        rejected[:_REJECTED_KEPT],
        None if shown else _nearest(rejected),
        questions(shown, context),
    )


def _varied(passed: list[Swap], top: int, c: Context) -> list[Swap]:
    """Order by score, but leave room for other ways.

    Ten near copies of the old material are worth less to a maker than some of them and other ways
    beside. Body can be built in several ways (another wax, an ester, a waxy emulsifier): there the
    fourth and fifth place go to the best of a kind not shown yet, if it is good enough. After the
    eighth place every second one does so for any line.
    """
    structural = c.matters("oil-phase-structurant")
    kinds = {s.candidate.material: kind_of_material(s.candidate, c) for s in passed}
    rest = list(passed)
    shown: list[Swap] = []
    seen: set[str] = set()
    while rest and len(shown) < top:
        place = len(shown) + 1
        found = rest[0]
        early = structural and place in _OTHER_WAYS_AT
        if early or (place > _ALIKE_FIRST and place % 2 == 0):
            floor = _GOOD_ENOUGH * found.total if early else 0.0
            fresh = [s for s in rest if kinds[s.candidate.material] not in seen]
            if fresh and fresh[0].total >= floor:
                found = fresh[0]
        rest.remove(found)
        shown.append(found)
        seen.add(kinds[found.candidate.material])
    return shown + rest


def kind_of_material(candidate: Candidate, c: Context) -> str:
    """Return the way a stand-in works: the family of what it is best at, here if that ties."""
    plays = c.base.plays(candidate.material)
    best = max((p.strength for p in plays), default=0.0)
    leaders = sorted(p.role for p in plays if p.strength == best)
    here = candidate.played.get(c.leading, "")
    role = here if here in leaders or not leaders else leaders[0]
    if not role:
        return ""
    above = c.base.roles[role].ancestors
    return next((family for family in _FAMILIES if family in above), role)


def _lower(candidate: Candidate, c: Context) -> Rejected:
    """Say of one that ranks below the others what speaks against it most."""
    for told in (own_cautions, static_cautions):
        for caution in told(candidate, c):
            if caution.rule not in _FREE:
                return Rejected(candidate.material, caution.rule, caution.text, candidate.score)
    worst = min(candidate.comparisons, key=lambda x: x.fit, default=None)
    rule, reason = "ranked-lower", "others fit better"
    if worst is not None and worst.fit < 0.5:
        name = worst.trait.property.replace("_", " ")
        if worst.candidate is None:
            reason += f"; {name} unknown"
        else:
            reason += f"; least alike in {name}, {worst.candidate:.3g} against {worst.original:.3g}"
            if worst.trait.decisive and worst.fit < _FAR_APART:
                rule = _MECHANISM.get(worst.trait.property, rule)
    return Rejected(candidate.material, rule, reason, candidate.score)


def _worth_a_look(suitable: list[Candidate], c: Context) -> set[str]:
    """Choose which candidates the full model looks at: the best, and the best of each kind."""
    chosen: set[str] = set()
    kinds: dict[str, int] = {}
    for candidate in suitable:
        kind = kind_of_material(candidate, c)
        if len(chosen) >= LOOKED_AT and kinds.get(kind, 0) >= _OF_EACH_KIND:
            continue
        chosen.add(candidate.material)
        kinds[kind] = kinds.get(kind, 0) + 1
        if len(chosen) >= LOOKED_AT + _MORE_KINDS:
            break
    return chosen


def _off_shelf(candidate: Candidate, only: set[str] | None) -> Refusal | None:
    if only is None or _listed(candidate, only):
        return None
    return Refusal("not-on-shelf", "it is not in stock")


def _listed(candidate: Candidate, stock: set[str]) -> bool:
    return bool({candidate.material, candidate.material.split("--")[0]} & stock)


def _in_stock(candidate: Candidate, c: Context) -> float:
    """Return what not being in stock costs where stock is preferred."""
    away = c.preferred is not None and not _listed(candidate, c.preferred)
    return _AWAY_COST if away else 1.0


def _reject(candidate: Candidate, refusal: Refusal) -> Rejected:
    return Rejected(candidate.material, refusal.rule, refusal.reason, candidate.score)


def _nearest(rejected: list[Rejected]) -> Rejected | None:
    """Return the best of those out for a reason that something could be done about."""
    soft = [r for r in rejected if r.rule in {"policy", "not-on-shelf", "legal-limit", "ph-window"}]
    return max(soft or rejected, key=lambda r: r.score, default=None)


def _weigh(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Swap:
    """Score a candidate that passed: the parts multiply, so none outvotes a bad one."""
    found = cautions(candidate, trial, after, c)
    careful = 1.0
    for rule in {caution.rule for caution in found} - _FREE:
        careful *= _CAREFUL_COST.get(rule, _PLAIN_COST)
    had, got = c.before.value("consistency_25c"), after.value("consistency_25c")
    figures = 1.0
    if had and got:
        apart = abs(np.log(got / had)) / np.log(3.0)
        figures = float(1.0 / (1.0 + 0.5 * apart**2))
    item = c.before.batch.items[c.index]
    shift = np.log(max(trial.percent, 1e-6) / max(item.percent, 1e-6)) / np.log(3.0)
    # Needing less is a merit of the stand-in, needing more displaces something else.
    level = float(1.0 / (1.0 + (0.3 if shift > 0 else 0.05) * shift**2))
    parts = {
        "role": candidate.role_fit,
        "worst_trait": candidate.worst,
        "traits": candidate.mean,
        "evidence": candidate.evidence,
        "company": max(careful, 0.3),
        "figures": figures,
        "level": level,
    }
    if c.preferred is not None:
        parts["shelf"] = _in_stock(candidate, c)
    total = candidate.score * parts["company"] * figures * level * parts.get("shelf", 1.0)
    return Swap(candidate, trial, total, parts, found, after)


def _explain(found: Swap, before: Profile, c: Context) -> None:
    after = make_profile(found.trial.batch, c.base, DRAWS)
    found.after = after
    found.effects = {
        name: change(quantity, after.quantities[name])
        for name, quantity in before.quantities.items()
        if name != "feel"
    }
    found.why = _why(found.candidate, c)
    found.method = method_changes(found.candidate, found.trial, after, c)
    found.label = label_changes(found.trial, c)
    found.card = trial_card(found.candidate, found.trial, after, found.cautions, c)


def change(before: Quantity, after: Quantity) -> Change:
    """Return the change of a quantity; shared errors cancel draw by draw."""
    kind = "ratio" if before.name in RATIOS else "difference"
    if before.draws is None or after.draws is None:
        return Change(before.value, after.value, before.unit, kind, None, None, None)
    with np.errstate(divide="ignore", invalid="ignore"):
        draws = after.draws / before.draws if kind == "ratio" else after.draws - before.draws
    if not np.all(np.isfinite(draws)):
        return Change(before.value, after.value, before.unit, kind, None, None, None)
    one = Quantity(before.name, draws, before.unit, before.method)
    return Change(before.value, after.value, before.unit, kind, one.value, one.low, one.high)


def _why(candidate: Candidate, c: Context) -> list[str]:
    base = c.base
    said = []
    for here in c.here[:3]:
        played = candidate.played.get(here.role)
        if played is None:
            continue
        label = base.roles[here.role].label
        if played == here.role:
            said.append(f"plays the same role: {label} ({100 * here.share:.0f} % of the work)")
        else:
            said.append(f"{base.roles[played].label}, near {label} ({100 * here.share:.0f} %)")
    seen: set[str] = set()
    for found in sorted(candidate.comparisons, key=lambda x: -x.trait.weight):
        name = found.trait.property
        if name in seen or len(seen) >= 5:
            continue
        seen.add(name)
        unit = base.records.units.get(name, "")
        unit = "" if unit == "1" else f" {unit}"
        if found.candidate is None:
            said.append(f"{name.replace('_', ' ')}: not known for it")
        elif found.original is not None:
            mark = "like" if found.fit >= 0.5 else "unlike"
            said.append(
                f"{name.replace('_', ' ')} {found.candidate:.3g} against {found.original:.3g}{unit}"
                f" ({mark}: {found.trait.why})"
            )
    return said
