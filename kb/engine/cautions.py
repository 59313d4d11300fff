"""What is allowed only with a caution, each with its rule and where it comes from."""

from __future__ import annotations

from kb.engine import policy as policies
from kb.engine.candidates import Candidate
from kb.engine.ceilings import ceilings
from kb.engine.context import Caution, Context, new_meetings
from kb.engine.exchange import Exchange
from kb.engine.profile import Profile
from kb.engine.roles import SINKS, is_hot
from kb.science.powders import reflected

#: Difference in refractive index from which a powder whitens visibly more or less.
_WHITENS_OTHERWISE = 0.2


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
    found = own_cautions(candidate, c)
    for verdict, rule, text, source in new_meetings(candidate, c):
        if verdict == "careful":
            found.append(Caution(rule, text, source, True))
    judged = policies.judge(candidate.material, c.policies, c.base)
    if judged.answer == "unknown":
        found.append(Caution("policy-unknown", f"Ask the supplier: {judged.reason}", ""))
    return list(dict.fromkeys(found))


def own_cautions(candidate: Candidate, c: Context) -> list[Caution]:
    """Return the cautions that lie in the material itself: roles lost, traits apart."""
    return lost_roles(candidate, c) + _trait_cautions(candidate, c)


def lost_roles(candidate: Candidate, c: Context) -> list[Caution]:
    """Return which part of the line's work a candidate does not do."""
    found: list[Caution] = []
    base = c.base
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
    return found


def _trait_cautions(candidate: Candidate, c: Context) -> list[Caution]:
    base, material = c.base, candidate.material
    found: list[Caution] = []
    if c.matters("volatile-carrier") and base.does(material, "volatile-carrier") < 0.4:
        found.append(Caution("not-volatile", "it stays on the skin: no dry-off"))
    hue, theirs = base.value(c.original, "hue"), base.value(material, "hue")
    if hue == hue and theirs == theirs and abs(hue - theirs) >= 0.5:
        found.append(Caution("colour-or-opacity", "its colour differs"))
    found += _cover(material, c)
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
    found += _other_mechanism(material, c)
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
    tags = base.materials[material].tags
    if "allergen" in tags and "nut-allergen" not in tags:
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


def _cover(material: str, c: Context) -> list[Caution]:
    """Say how a powder whitens against the old one; for a white pigment by how much."""
    base = c.base
    mine, theirs = (base.value(m, "refractive_index") for m in (c.original, material))
    if not c.matters("powder-part") or not abs(mine - theirs) >= _WHITENS_OTHERWISE:
        return []
    if c.matters("white-pigment"):
        share = float(reflected(theirs) / max(float(reflected(mine)), 1e-9))
        text = f"grain for grain it covers about {100 * share:.0f} % of what the old pigment does"
        return [Caution("colour-or-opacity", text, "reflection by refractive index, in oil")]
    return [Caution("colour-or-opacity", "it whitens more or less than the old powder")]


def _other_mechanism(material: str, c: Context) -> list[Caution]:
    """Say where a stand-in works in another way, so that part of the work is not done."""
    base = c.base
    about, old = base.materials[material], base.materials[c.original]
    found: list[Caution] = []
    if c.matters("ow-emulsifier-cationic") and about.charge != old.charge:
        found.append(
            Caution("function-lost", "without a positive charge it does not cling to skin and hair")
        )
    network = c.matters("gel-network-alcohol") or c.matters("low-hlb-partner")
    swells = base.does(material, "co-emulsifier") or "lamellar" in about.tags
    if network and not swells and not base.does(material, "solid-fatty-acid"):
        found.append(
            Caution("no-structure", "it stays in the oil drops: no layers form in the water")
        )
    powder = c.before.phases.powder_mass >= SINKS
    yields = [base.value(m, "yield_gel") for m in (c.original, material)]
    if c.matters("water-thickener") and powder and yields[0] >= 0.5 > yields[1]:
        found.append(
            Caution(
                "no-structure", "it thickens but has no yield: the powder settles slowly and cakes"
            )
        )
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
    return [
        Caution(
            "legal-limit",
            f"at most {limit.high:g} % {limit.basis} ({limit.applies})",
            f"{limit.jurisdiction.upper()} {limit.section}",
        )
        for limit in ceilings(candidate.material, c.here, c.before.batch.product, c.base)
        if limit.high is not None and trial.percent > limit.high
    ]
