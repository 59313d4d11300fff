"""One line of a formula replaced: the seven steps from formula to ranked, explained swaps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice

import numpy as np

from kb.engine.answers import Change, Rejected, Swap, SwapResult
from kb.engine.batch import Batch
from kb.engine.candidates import Candidate, score_candidate
from kb.engine.cautions import cautions, lost_roles, static_cautions
from kb.engine.context import Caution, Context, Refusal
from kb.engine.exchange import exchange
from kb.engine.gates import refuse_late
from kb.engine.obtaining import at_hand, in_stock, sold
from kb.engine.profile import Profile, make_profile
from kb.engine.quantity import Quantity
from kb.engine.questions import questions
from kb.engine.roles import roles_here
from kb.engine.scoreboard import scoreboard
from kb.engine.search import Search
from kb.engine.trial import label_changes, method_changes, trial_card
from kb.engine.worth import FREE, company_worth, level_worth, weighs_much
from kb.store.snapshot import Snapshot

#: Draws behind the ranges of the answers that are shown.
DRAWS = 48
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
    "interfacial_tension_water": "function-lost",
    "solubility_parameter": "immiscible",
    "uv_reach": "function-lost",
    "viscosity": "function-lost",
    "water_capacity": "wrong-emulsion-type",
    "yield_gel": "no-structure",
}
OTHERS_FIT_BETTER = "others fit better"
_REJECTED_KEPT = 1500
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
    found = search_for(context, to, only)
    shown = found.best(top)
    wide = make_profile(batch, base, DRAWS) if shown else before
    for one in shown:
        explain(one, wide, context)
    names = {one.candidate.material for one in shown}
    return SwapResult(
        index,
        here,
        before,
        shown,
        lambda: list(islice(_others(found, names), _REJECTED_KEPT)),
        None if shown else _nearest(_others(found, names)),
        questions(shown, context),
    )


def search_for(
    context: Context, to: list[str] | None = None, only: set[str] | None = None
) -> Search:
    """Return the search for stand-ins of a line, nothing looked at in full yet."""
    base, here = context.base, context.here
    water = context.before.ph, context.salt
    if to is not None:
        asked = [score_candidate(m, context.original, here, base, *water) for m in to]
        return Search(context, _weigh, None, asked, only)
    ranking = scoreboard(base).rank(context.original, here, base, *water) if here else None
    return Search(context, _weigh, ranking, None, only)


def _others(found: Search, shown: set[str]) -> Iterator[Rejected]:
    """Yield all that is not shown in the order of its score, each with the reason."""
    chosen = {candidate.material for candidate in found.chosen()}
    for candidate in found.everything():
        if candidate.material in shown:
            continue
        refusal = found.early(candidate)
        if refusal is None and candidate.material in chosen:
            weighed = found.weighed(candidate)
            refusal = weighed if isinstance(weighed, Refusal) else None
        if refusal is not None:
            yield Rejected(candidate.material, refusal.rule, refusal.reason, candidate.score)
        else:
            yield why_lower(candidate, found.context)


def why_lower(candidate: Candidate, c: Context) -> Rejected:
    """Say of one that ranks below the others what speaks against it most."""

    def because(rule: str, reason: str) -> Rejected:
        return Rejected(candidate.material, rule, reason, candidate.score)

    mild: list[Caution] = []
    for caution in (*lost_roles(candidate, c), *static_cautions(candidate, c)):
        if weighs_much(caution):
            return because(caution.rule, caution.text)
        if caution.rule not in FREE:
            mild.append(caution)
    if mild and mild[0] in lost_roles(candidate, c):
        return because(mild[0].rule, mild[0].text)
    worst = min(candidate.comparisons, key=lambda x: x.fit, default=None)
    reason = OTHERS_FIT_BETTER
    if worst is not None and worst.fit < 0.5:
        name = worst.trait.property.replace("_", " ")
        if worst.candidate is None:
            reason += f"; {name} unknown"
        else:
            reason += f"; least alike in {name}, {worst.candidate:.3g} against {worst.original:.3g}"
            mechanism = _MECHANISM.get(worst.trait.property)
            if mechanism and worst.trait.decisive and worst.fit < _FAR_APART:
                return because(mechanism, reason)
    if mild:
        return because(mild[0].rule, mild[0].text)
    return because("ranked-lower", reason)


def _nearest(rejected: Iterable[Rejected]) -> Rejected | None:
    """Return the first of those out for a reason that something could be done about."""
    first: Rejected | None = None
    for one in rejected:
        if one.rule in {"policy", "not-on-shelf", "legal-limit", "ph-window"}:
            return one
        first = first or one
    return first


def _weigh(candidate: Candidate, c: Context) -> Swap | Refusal:
    """Look at a candidate in full: the parts multiply, so none outvotes a bad one.

    No part is above 1: a swap is worth at most the score of its candidate.
    """
    trial = exchange(c.before, c.index, candidate.material, c.here, c.base)
    after = make_profile(trial.batch, c.base, brief=True)
    refusal = refuse_late(candidate, trial, after, c)
    if refusal is not None:
        return refusal
    found = cautions(candidate, trial, after, c)
    careful = company_worth(found)
    had, got = c.before.value("consistency_25c"), after.value("consistency_25c")
    figures = 1.0
    if had and got:
        apart = abs(np.log(got / had)) / np.log(3.0)
        figures = float(1.0 / (1.0 + 0.5 * apart**2))
    item = c.before.batch.items[c.index]
    level = level_worth(item.percent, trial.percent)
    parts = {
        "role": candidate.role_fit,
        "worst_trait": candidate.worst,
        "traits": candidate.mean,
        "evidence": candidate.evidence,
        "company": careful,
        "figures": figures,
        "level": level,
        "sold": sold(candidate.material, c.base),
    }
    if c.preferred is not None:
        parts["shelf"] = in_stock(candidate.material, c)
    total = candidate.score * parts["company"] * figures * level * at_hand(candidate.material, c)
    return Swap(candidate, trial, total, parts, found, after)


def explain(found: Swap, before: Profile, c: Context) -> None:
    """Fill in what follows from an exchange; ``before`` carries draws for the ranges."""
    after = make_profile(found.trial.batch, c.base, DRAWS)
    found.after = after
    found.effects = {
        name: change(quantity, after.quantities[name])
        for name, quantity in before.quantities.items()
        if name != "feel"
    }
    found.why = why_it_fits(found.candidate, c)
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


def why_it_fits(candidate: Candidate, c: Context) -> list[str]:
    """Return what of a line's work a candidate does, and how its deciding traits compare."""
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
