"""What closes the door on a candidate, and what is allowed only with a caution."""

from __future__ import annotations

from dataclasses import dataclass, field

from kb.engine import policy as policies
from kb.engine.batch import phase_of
from kb.engine.candidates import Candidate
from kb.engine.edges import meetings_of
from kb.engine.exchange import Exchange
from kb.engine.profile import Profile
from kb.engine.roles import Here, is_hot
from kb.engine.suits import gate_reason
from kb.engine.system import emulsifiers
from kb.store.snapshot import Snapshot

#: Fractions of the figure before below which the work is lost.
_LOST_CONSISTENCY = 0.25
_LOST_HOT_YIELD = 0.1
_LOST_COVER = 0.5
_WARM_DAY_C = 36.0
_MUCH_IODINE = 200.0
#: Share of a line's work from which a role is worth defending.
_MATTERS = 0.3


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a candidate is out: rule id, reason, and where the reason comes from."""

    rule: str
    reason: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """What to watch with a candidate that is let through."""

    rule: str
    text: str
    source: str = "common practice"


@dataclass(slots=True)
class Context:
    """What every gate looks at."""

    base: Snapshot
    before: Profile
    index: int
    here: tuple[Here, ...]
    policies: list[str] = field(default_factory=list)

    @property
    def original(self) -> str:
        """Material that is to be replaced."""
        return self.before.batch.items[self.index].material

    @property
    def leading(self) -> str:
        """Role with the largest share."""
        return self.here[0].role if self.here else ""

    def above(self) -> frozenset[str]:
        """The leading role with all above it."""
        return self.base.roles[self.leading].ancestors if self.leading else frozenset()

    def matters(self, role: str) -> bool:
        """Tell whether a role (or one below) carries enough of the line's work."""
        share = sum(h.share for h in self.here if role in self.base.roles[h.role].ancestors)
        return share >= _MATTERS

    def label(self, material: str) -> str:
        """Name of a material for a sentence."""
        return self.base.materials[material].inci


# -- before the level is solved ----------------------------------------------------------------


def refuse_early(candidate: Candidate, c: Context) -> Refusal | None:
    """Check what needs no numbers: policy, role, phase, system, law, stated failures."""
    for gate in (_policy, _role, _soap, _phase, _system, _law, _melts, _edges):
        found = gate(candidate, c)
        if found is not None:
            return found
    return None


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
    if dry and ("brings-water" in about.tags or about.phase == "water"):
        return "brings-water"
    return ""


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
    return None


def _phase(candidate: Candidate, c: Context) -> Refusal | None:
    about = c.base.materials[candidate.material]
    system = c.before.system
    own = c.base.materials[c.original]
    if system in {"anhydrous", "powder"} and own.phase != "water":
        if "brings-water" in about.tags:
            return Refusal("brings-water", "it brings water into a product that has none")
        if about.phase == "water" and own.phase != "either":
            return Refusal("brings-water", "it belongs in water; there is none here")
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
    for met in _new_meetings(candidate, c):
        if met[0] == "fails":
            return Refusal(met[1], met[2], met[3])
    return None


def _new_meetings(candidate: Candidate, c: Context) -> list[tuple[str, str, str, str]]:
    """Return verdict, rule, text and source of edges the candidate brings with it."""
    old = {
        (m.edge.rule, m.object if m.subject == c.original else m.subject)
        for m in meetings_of(c.original, c.before.batch, c.before.system, c.before.ph, c.base)
        if m.edge.verdict != "works"
    }
    items = list(c.before.batch.items)
    items[c.index] = items[c.index].of(candidate.material, items[c.index].percent)
    batch = c.before.batch.with_items(items)
    found = []
    for met in meetings_of(candidate.material, batch, c.before.system, c.before.ph, c.base):
        other = met.object if met.subject == candidate.material else met.subject
        if met.edge.verdict == "works":
            continue
        # What only asks for care and did so before is no news; what fails is, always.
        if met.edge.verdict == "careful" and (met.edge.rule, other) in old:
            continue
        if met.edge.rule == "legal-limit":
            continue
        # What depends on pH or free level is worked out for this formula, not looked up.
        worked_out = met.edge.rule in {"ph-window", "preservative-inactive"}
        if worked_out and c.base.does(candidate.material, "antimicrobial"):
            continue
        source = c.base.citation(met.edge.source) if met.edge.source else met.edge.evidence
        text = f"with {c.label(other)}: {met.edge.mechanism}"
        found.append((met.edge.verdict, met.edge.rule, text, source))
    return found


# -- after the level is solved -----------------------------------------------------------------


def refuse_late(
    candidate: Candidate, trial: Exchange, after: Profile, c: Context
) -> Refusal | None:
    """Check what the numbers say: type, structure, climate, preservation."""
    for gate in (_type, _structure, _climate, _preservation, _rancid):
        found = gate(candidate, trial, after, c)
        if found is not None:
            return found
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


# -- cautions ----------------------------------------------------------------------------------


def cautions(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> list[Caution]:
    """Return what to watch with a candidate that passed the gates."""
    base, material = c.base, candidate.material
    found = static_cautions(candidate, c)
    found += _figure_cautions(candidate, trial, after, c)
    found += _limit_cautions(candidate, trial, c)
    limit = base.known(material, "max_process_temperature")
    item = c.before.batch.items[c.index]
    if limit is not None and limit.value < 65.0 and is_hot(item):
        found.append(
            Caution(
                "heat-or-light",
                f"it stands {limit.value:.0f} degC at most: not in the hot stage",
                base.citation(limit.source) if limit.source else limit.evidence,
            )
        )
    return list(dict.fromkeys(found))


def static_cautions(candidate: Candidate, c: Context) -> list[Caution]:
    """Return the cautions that need no level: roles lost, traits apart, stated company."""
    found: list[Caution] = []
    base, material = c.base, candidate.material
    lost = [h for h in c.here if h.role not in candidate.played and h.share >= 0.2]
    for here in lost:
        role = base.roles[here.role]
        found.append(
            Caution(
                role.loss_rule,
                f"it does not work as {role.label}; {100 * here.share:.0f} % of the line's work is "
                "lost",
            )
        )
    found += _trait_cautions(candidate, c)
    for verdict, rule, text, source in _new_meetings(candidate, c):
        if verdict == "careful":
            found.append(Caution(rule, text, source))
    judged = policies.judge(material, c.policies, base)
    if judged.answer == "unknown":
        found.append(Caution("policy-unknown", f"Ask the supplier: {judged.reason}", ""))
    return list(dict.fromkeys(found))


def _trait_cautions(candidate: Candidate, c: Context) -> list[Caution]:
    base, material = c.base, candidate.material
    found: list[Caution] = []
    if c.matters("volatile-carrier") and base.does(material, "volatile-carrier") < 0.4:
        found.append(Caution("not-volatile", "it stays on the skin: no dry-off"))
    hue, theirs = base.value(c.original, "hue"), base.value(material, "hue")
    if hue == hue and theirs == theirs and abs(hue - theirs) >= 0.5:
        found.append(Caution("colour-or-opacity", "its colour differs"))
    whole = base.value(c.original, "refractive_index"), base.value(material, "refractive_index")
    if c.matters("powder-part") and abs(whole[0] - whole[1]) >= 0.2:
        found.append(Caution("colour-or-opacity", "it whitens more or less than the old powder"))
    habit = base.value(c.original, "crystal_habit"), base.value(material, "crystal_habit")
    if c.matters("wax") and habit[0] - habit[1] >= 1.0:
        found.append(
            Caution(
                "no-structure",
                "its crystals are coarser: less oil is bound, sweating and cracks are likelier",
            )
        )
    if c.matters("wax-hardener") and base.does(material, "wax") < 0.3:
        found.append(
            Caution("no-structure", "it does not enter the wax crystal: no gain in hardness")
        )
    if c.matters("uv-filter"):
        found.append(
            Caution(
                "function-lost",
                "its UV cover differs in range and strength: the tested protection no longer holds",
            )
        )
    elif base.does(c.original, "uv-filter") >= 0.5 and base.does(material, "uv-filter") < 0.3:
        found.append(
            Caution("function-lost", "the old material is a UV filter too; any such role is lost")
        )
    item = c.before.batch.items[c.index]
    if item.active:
        found.append(
            Caution("function-lost", "the line is a declared active: the claim falls with it")
        )
    if "palm-possible" in base.materials[material].tags:
        found.append(Caution("origin-unknown", "palm is a usual source: ask the supplier"))
    if "allergen" in base.materials[material].tags:
        found.append(Caution("allergen", "it brings labelled allergens or a known sensitiser"))
    if "nut-allergen" in base.materials[material].tags:
        found.append(Caution("allergen", "nut origin: say so on the label"))
    poly = (
        base.value(c.original, "polyunsaturates", 0.0),
        base.value(material, "polyunsaturates", 0.0),
    )
    iodine = base.value(c.original, "iodine_value", 0.0), base.value(material, "iodine_value", 0.0)
    if poly[1] > poly[0] + 10.0 or (iodine[1] > iodine[0] + 50.0 and iodine[1] > 80.0):
        found.append(Caution("oxidation", "it oxidises sooner: more antioxidant, shorter life"))
    return found


def _figure_cautions(
    candidate: Candidate, trial: Exchange, after: Profile, c: Context
) -> list[Caution]:
    found: list[Caution] = []
    had, got = c.before.cover, after.cover
    if had and got is not None and got < 0.7 * had and not c.matters("antimicrobial"):
        binds = "ethoxylated" in c.base.materials[candidate.material].tags
        rule = "binds-preservative" if binds else "preservative-inactive"
        why = "its micelles take it up" if binds else "more of it goes into the oil"
        found.append(
            Caution(
                rule,
                f"free preservative falls to {100 * got / had:.0f} % of before: {why}",
                "partition, dissociation and binding",
            )
        )
    percent = c.before.batch.items[c.index].percent
    if c.matters("antimicrobial") and trial.percent > 1.5 * percent:
        found.append(
            Caution(
                "preservative-inactive",
                f"it preserves only at {trial.percent:.3g} %; at the old {percent:.3g} % it would "
                "not",
                "least effective level in water",
            )
        )
    old, new = c.before.value("consistency_25c"), after.value("consistency_25c")
    if old and new and not 0.7 <= new / old <= 1.4:
        word = "thicker" if new > old else "thinner"
        found.append(
            Caution(
                "consistency",
                f"{word}: about {new / old:.2g} times the consistency at 25 degC; near, adjust",
                "consistency model",
            )
        )
    before, later = (p.value("climate_drift_10_over_40") for p in (c.before, after))
    if before and later and later > 2.0 * before and later > 6.0:
        found.append(
            Caution(
                "melts-in-climate",
                f"10 to 40 degC now swings {later:.2g}-fold instead of {before:.2g}-fold",
                "consistency model at 10 and 40 degC",
            )
        )
    return found


def _limit_cautions(candidate: Candidate, trial: Exchange, c: Context) -> list[Caution]:
    found = []
    market = str(c.before.batch.product.get("market", "")).casefold()
    for limit in c.base.limits(candidate.material):
        if market and limit.jurisdiction != market:
            continue
        binds = limit.kind == "max" and limit.applies in {"all", "leave-on", "rinse-off"}
        if not binds or not limit.unit_is_percent or limit.high is None:
            continue
        if trial.percent > limit.high:
            found.append(
                Caution(
                    "legal-limit",
                    f"at most {limit.high:g} % {limit.basis} ({limit.applies})",
                    f"{limit.jurisdiction.upper()} {limit.section}",
                )
            )
    return found


def phase_name(material: str, stage: str, base: Snapshot) -> str:
    """Return the phase a material goes into."""
    return phase_of(base.materials[material], stage, base)
