"""What closes the door on a candidate: refusals before and after its level is solved."""

from __future__ import annotations

from collections.abc import Iterator

from kb.engine import policy as policies
from kb.engine.candidates import Candidate
from kb.engine.context import Context, Refusal, new_meetings
from kb.engine.exchange import Exchange
from kb.engine.profile import Profile
from kb.engine.suits import gate_reason
from kb.engine.system import emulsifiers

#: Fractions of the figure before below which the work is lost.
_LOST_CONSISTENCY = 0.25
_LOST_HOT_YIELD = 0.1
_LOST_COVER = 0.5
_WARM_DAY_C = 36.0
#: Half of the long UVA (340 to 380 nm): a filter that ends so much earlier is another filter.
_UV_SHORT_NM = 20.0
#: Percent more of the formula from which a stand-in makes another product.
_ANOTHER_PRODUCT = 25.0
_MUCH_IODINE = 200.0


def refuse_early(candidate: Candidate, c: Context) -> Refusal | None:
    """Check what needs no numbers: policy, role, phase, system, law, stated failures."""
    return next(_early(candidate, c), None)


def early_refusals(candidate: Candidate, c: Context) -> list[Refusal]:
    """Return every refusal that needs no numbers, one a gate, the weightiest first."""
    return list(_early(candidate, c))


def _early(candidate: Candidate, c: Context) -> Iterator[Refusal]:
    for gate in (_policy, _role, _soap, _phase, _system, _law, _melts, _shields, _edges):
        found = gate(candidate, c)
        if found is not None:
            yield found


def _policy(candidate: Candidate, c: Context) -> Refusal | None:
    judged = policies.judge(candidate.material, c.policies, c.base)
    if judged.answer == "no":
        return Refusal("policy", judged.reason)
    return None


def _role(candidate: Candidate, c: Context) -> Refusal | None:
    if c.leading in candidate.played:
        return None
    role = c.base.roles[c.leading]
    mechanism = gate_reason(candidate.material, c.leading, c.before, c.base)
    if mechanism is not None and mechanism.rule and not candidate.played:
        return Refusal(mechanism.rule, mechanism.text, mechanism.source)
    rule = _lost(candidate.material, c) or role.loss_rule
    return Refusal(rule, f"it does not work as {role.label} here")


def _lost(material: str, c: Context) -> str:
    """Name the mechanism when a candidate of another kind of work would take the line."""
    base = c.base
    above = c.above()
    about = base.materials[material]
    if "rheology-modifier" in above:
        if "water-thickener" in above and base.does(material, "oil-phase-structurant"):
            return "wrong-phase-polymer"
        if "oil-phase-part" in above and base.does(material, "water-thickener"):
            return "wrong-phase-polymer"
    dry = "oil-phase-part" in above and c.before.system in {"anhydrous", "powder"}
    if dry and "brings-water" in about.tags:
        return "brings-water"
    return "immiscible" if dry and about.phase == "water" else ""


def _soap(candidate: Candidate, c: Context) -> Refusal | None:
    """An acid or alkali of a soap formed in place must be replaced by its like."""
    base, material = c.base, candidate.material
    if c.before.species.soap is None:
        return None
    if c.matters("soap-alkali"):
        if base.does(material, "soap-alkali") < 0.4:
            return Refusal("no-soap", "it is no alkali: the soap that emulsifies would not form")
        mine = "polyvalent-cation" in base.materials[c.original].tags
        theirs = "polyvalent-cation" in base.materials[material].tags
        if mine != theirs:
            kind = "polyvalent" if theirs else "alkali"
            return Refusal(
                "wrong-counter-ion", f"its {kind} soap favours the other type of emulsion"
            )
    if c.matters("soap-acid") and base.does(material, "soap-acid") < 0.3:
        return Refusal("no-soap", "it brings no fatty acid: the soap would not form")
    fresh = "polyvalent-cation" in (base.materials[material].tags - base.materials[c.original].tags)
    if fresh and base.does(material, "alkali") and not c.before.species.soap.polyvalent:
        return Refusal(
            "wrong-counter-ion",
            "a base of a polyvalent metal beside the alkali soap that emulsifies: insoluble soap, "
            "lumps and grain",
        )
    return None


def _phase(candidate: Candidate, c: Context) -> Refusal | None:
    about = c.base.materials[candidate.material]
    system = c.before.system
    own = c.base.materials[c.original]
    if system in {"anhydrous", "powder"} and own.phase != "water":
        if "brings-water" in about.tags:
            return Refusal("brings-water", "it brings water into a product that has none")
        if about.phase == "water" and own.phase != "either":
            return Refusal("immiscible", "it dissolves in water, not in oil; there is none here")
    if system == "water gel" and own.phase == "water" and about.phase == "oil":
        return Refusal("immiscible", "it does not dissolve in water and there is no oil phase")
    if own.phase == "powder" and about.phase not in {"powder", "either"} and system == "powder":
        return Refusal("function-lost", "it is no powder")
    return None


def _melts(candidate: Candidate, c: Context) -> Refusal | None:
    """A structurant that melts on a warm day is no stand-in for one that does not."""
    if not c.matters("oil-phase-structurant"):
        return None
    mine = c.base.known(c.original, "melting_point")
    theirs = c.base.known(candidate.material, "melting_point")
    if mine and theirs and theirs.high < _WARM_DAY_C and theirs.value < mine.value - 5.0:
        return Refusal(
            "melts-in-climate",
            f"it melts at {theirs.low:.0f} to {theirs.high:.0f} degC, the old one at "
            f"{mine.value:.0f}: no body on a warm day",
        )
    return None


def _shields(candidate: Candidate, c: Context) -> Refusal | None:
    """A UV filter is no stand-in for one that reaches further into the UVA."""
    if not c.matters("uv-filter"):
        return None
    mine, theirs = (c.base.known(m, "uv_reach") for m in (c.original, candidate.material))
    if mine and theirs and theirs.value < mine.value - _UV_SHORT_NM:
        source = c.base.citation(theirs.source) if theirs.source else theirs.evidence
        return Refusal(
            "function-lost",
            f"its UV cover weakens from about {theirs.value:.0f} nm, that of the old one from "
            f"{mine.value:.0f} nm: long UVA is lost",
            source,
        )
    return None


def _system(candidate: Candidate, c: Context) -> Refusal | None:
    role = candidate.played.get(c.leading, c.leading)
    found = gate_reason(candidate.material, role, c.before, c.base)
    if found is None:
        return None
    if found.rule == "wrong-emulsion-type" and not c.matters("surface-active"):
        return None
    if found.rule == "wrong-phase-polymer" and not c.matters("rheology-modifier"):
        return None
    partner = c.base.does(candidate.material, "low-hlb-partner") >= 0.4
    if found.rule == "wrong-emulsion-type" and partner and c.before.system == "o/w":
        return Refusal("needs-partner", f"alone it holds no O/W: {found.text}", found.source)
    return Refusal(found.rule or "wrong-phase-polymer", found.text, found.source or found.evidence)


def _law(candidate: Candidate, c: Context) -> Refusal | None:
    market = str(c.before.batch.product.get("market", "")).casefold()
    for limit in c.base.limits(candidate.material):
        if limit.kind != "prohibited" or limit.applies not in {"all", "leave-on"}:
            continue
        if market and market != limit.jurisdiction:
            continue
        return Refusal(
            "legal-limit",
            f"prohibited in the {limit.jurisdiction.upper()}",
            f"{limit.section} ({limit.date_read or limit.evidence})",
        )
    return None


def _edges(candidate: Candidate, c: Context) -> Refusal | None:
    for met in new_meetings(candidate, c):
        if met[0] == "fails":
            return Refusal(met[1], met[2], met[3])
    return None


# -- after the level is solved -----------------------------------------------------------------


def refuse_late(
    candidate: Candidate, trial: Exchange, after: Profile, c: Context
) -> Refusal | None:
    """Check what the numbers say: type, structure, climate, preservation."""
    return next(_late(candidate, trial, after, c), None)


def late_refusals(
    candidate: Candidate, trial: Exchange, after: Profile, c: Context
) -> list[Refusal]:
    """Return every refusal that the numbers bring, one a gate."""
    return list(_late(candidate, trial, after, c))


def _late(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Iterator[Refusal]:
    for gate in (_too_much, _type, _structure, _settles, _climate, _preservation, _rancid):
        found = gate(candidate, trial, after, c)
        if found is not None:
            yield found


def _too_much(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Refusal | None:
    """What must fill another quarter of the formula makes another product."""
    percent = c.before.batch.items[c.index].percent
    if trial.percent > percent + _ANOTHER_PRODUCT and trial.percent > 3.0 * percent:
        return Refusal(
            "level-too-high",
            f"it would take {trial.percent:.3g} % instead of {percent:.3g} %: another product",
        )
    return None


def _type(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Refusal | None:
    before = c.before
    system = before.system
    if system not in {"w/o", "o/w"}:
        return None
    if c.matters("surface-active"):
        right = [
            e
            for e in emulsifiers(after.phases, after.species, c.base)
            if e.water_loving == (system == "o/w")
        ]
        had = [e for e in before.emulsifiers if e.water_loving == (system == "o/w")]
        if had and not right:
            partner = c.base.does(candidate.material, "low-hlb-partner") and system == "o/w"
            rule = "needs-partner" if partner else "wrong-emulsion-type"
            return Refusal(rule, f"no emulsifier would be left that favours {system}")
    if after.inferred.system in {"w/o", "o/w"} and after.inferred.system != system:
        if before.inferred.system == system:
            return Refusal(
                "wrong-emulsion-type",
                f"the cream would turn {after.inferred.system}: "
                + "; ".join(after.inferred.because),
            )
        if after.inferred.sure == "likely" and before.inferred.sure != "likely":
            return Refusal(
                "wrong-emulsion-type",
                f"it would clearly be {after.inferred.system}: "
                + "; ".join(after.inferred.because),
            )
    return None


def _structure(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Refusal | None:
    if not (c.matters("rheology-modifier")):
        return None
    notes = after.quantities["consistency_25c"].limited_by
    if c.matters("water-thickener") and f"salt thins {c.label(candidate.material)}" in notes:
        return Refusal("electrolyte-break", "the salt of this water phase takes its viscosity")
    if c.matters("butter"):
        return None  # a butter's body swings with a few kelvin: said as a caution, not refused
    had, got = c.before.value("consistency_25c"), after.value("consistency_25c")
    if had and got and got < _LOST_CONSISTENCY * had:
        rule = "no-structure"
        if c.base.value(candidate.material, "melting_point", 99.0) < 30.0:
            rule = "melts-in-climate"
        return Refusal(
            rule,
            f"at {trial.percent:.3g} % the consistency falls to {100 * got / had:.0f} % of what "
            "it was",
        )
    return None


def _settles(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Refusal | None:
    """What kept the powder up must be followed by what does."""
    if not c.matters("rheology-modifier"):
        return None
    had, got = ((p.quantities["settling"].detail or {}).get("state") for p in (c.before, after))
    if had == "held" and got == "settles":
        return Refusal("no-structure", "the powder would settle: it gives no yield that holds it")
    return None


def _climate(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Refusal | None:
    if not c.matters("oil-phase-structurant"):
        return None
    had, got = c.before.structure_yield_40, after.structure_yield_40
    if had > 5.0 and got < _LOST_HOT_YIELD * had:
        return Refusal(
            "melts-in-climate",
            f"at 40 degC the network falls from {had:.2g} to {got:.2g} Pa",
        )
    return None


def _preservation(
    candidate: Candidate, trial: Exchange, after: Profile, c: Context
) -> Refusal | None:
    if not c.matters("antimicrobial"):
        return None
    had, got = c.before.cover, after.cover or 0.0
    agent = next((a for a in after.agents if a.material == candidate.material), None)
    weak = agent is not None and float(agent.undissociated[0]) < 0.1
    if had and got < _LOST_COVER * min(had, 1.0):
        if weak:
            return Refusal(
                "ph-window",
                f"at pH {after.ph or 5.0:.2g} only "
                f"{100 * float(agent.undissociated[0]):.2g} % of it is undissociated"
                if agent
                else "wrong pH",
            )
        return Refusal(
            "preservative-inactive",
            f"at {trial.percent:.3g} % the free preservative covers {100 * got / had:.0f} % of "
            "what it did",
        )
    if weak:
        return Refusal("ph-window", f"it does next to nothing at pH {after.ph or 5.0:.2g}")
    real = c.base.does(candidate.material, "preservative")
    if not real and c.base.does(c.original, "preservative"):
        return Refusal("preservative-inactive", "a booster is no preservative by itself")
    return None


def _rancid(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> Refusal | None:
    mine = c.base.value(c.original, "iodine_value", 0.0)
    theirs = c.base.value(candidate.material, "iodine_value", 0.0)
    stable = c.leading and c.base.roles[c.leading].loss_rule == "oxidation"
    if stable and theirs > _MUCH_IODINE and mine < 0.25 * theirs:
        return Refusal(
            "oxidation", f"iodine value {theirs:.0f} against {mine:.0f}: it turns rancid"
        )
    return None
