"""What to change in the making, and what to test again because of this change."""

from __future__ import annotations

from kb.engine.candidates import Candidate
from kb.engine.context import Caution, Context
from kb.engine.exchange import Exchange
from kb.engine.profile import Profile
from kb.store.snapshot import Snapshot

_MELT_MARGIN_K = 10.0


def method_changes(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> list[str]:
    """Return the changes to the method, in the order of work."""
    base, material = c.base, candidate.material
    item = c.before.batch.items[c.index]
    about, own = base.materials[material], base.materials[c.original]
    found = [f"Level {trial.percent:.3g} % instead of {item.percent:.3g} % ({trial.how})."]
    if trial.balance is not None and abs(trial.changed) >= 0.005:
        line = c.before.batch.items[trial.balance]
        verb = "takes" if trial.changed < 0 else "gives"
        found.append(
            f"{base.materials[line.material].inci} {verb} the difference of "
            f"{abs(trial.changed):.3g} %."
        )
    elif trial.balance is None and abs(trial.changed) >= 0.005:
        found.append("All other lines are scaled to keep 100 %.")
    found += _heat(material, c.original, base)
    if about.phase == "powder" and own.phase == "powder":
        old = base.value(c.original, "oil_absorption"), base.value(material, "oil_absorption")
        if old[0] > 0 and old[1] > 1.2 * old[0]:
            found.append(
                f"It takes up more oil ({old[1]:.0f} against {old[0]:.0f} g/100 g): wet and mill "
                "it in more of the liquid oils."
            )
        found.append("Wet the powder in the oils before the waxes go in; mind the dust.")
    if base.does(material, "water-thickener") >= 0.4:
        found.append("Disperse it in glycerin or cold water and let it hydrate before heating.")
    if base.does(material, "polymeric-oil-gellant") >= 0.5:
        found.append("Dissolve it hot in the liquid oils before anything else goes in.")
    if about.phase == "water" and own.phase == "oil" and c.before.system == "w/o":
        found.append("It goes into the water phase before emulsifying.")
    if c.matters("wo-emulsifier"):
        found.append(
            "Water slowly into the oil, phases within 5 K; homogenise again below 40 degC; rest a "
            "night before judging."
        )
    if c.matters("antimicrobial") and after.system == "w/o":
        found.append("Put it where the water is: into the water phase before emulsifying.")
    return found


def label_changes(trial: Exchange, c: Context) -> list[str]:
    """Return what changes on the label: name, place in the order, allergens, claims."""
    base = c.base
    item = trial.batch.items[c.index]
    about, own = base.materials[item.material], base.materials[c.original]

    def place(percents: list[float], mine: float) -> int:
        return 1 + sum(p > mine for p in percents)

    old = place([i.percent for i in c.before.batch.items], c.before.batch.items[c.index].percent)
    new = place([i.percent for i in trial.batch.items], item.percent)
    found = [f"{about.inci} instead of {own.inci}, place {new} (before {old})."]
    if item.percent < 1.0:
        found.append("Below 1 % the order is free.")
    if "allergen" in about.tags or "nut-allergen" in about.tags:
        found.append("Labelled allergens or a known sensitiser come in.")
    if base.does(c.original, "uv-filter") >= 0.5 and base.does(item.material, "uv-filter") < 0.3:
        found.append("No word on UV may stay.")
    if c.before.batch.items[c.index].active:
        found.append("The declared active and its claim fall.")
    return found


def _heat(material: str, original: str, base: Snapshot) -> list[str]:
    mine, theirs = base.known(original, "melting_point"), base.known(material, "melting_point")
    solid = base.materials[material].form in {"waxy", "crystalline", "semisolid"}
    if theirs is None or not solid or base.materials[material].phase == "powder":
        return []
    needed = theirs.high + _MELT_MARGIN_K
    old = (mine.high if mine is not None else 20.0) + _MELT_MARGIN_K
    if needed > old + 3.0 and needed > 40.0:
        return [f"Melt to {needed:.0f} degC (before: {max(old, 40.0):.0f} degC)."]
    if needed < old - 8.0 and old > 60.0:
        return [f"Melting to {max(needed, 50.0):.0f} degC is enough (before: {old:.0f} degC)."]
    return []


def trial_card(
    candidate: Candidate,
    trial: Exchange,
    after: Profile,
    found: list[Caution],
    c: Context,
) -> list[str]:
    """Return jars and tests, cheapest first: only what this change calls for."""
    rules = {caution.rule for caution in found}
    level = trial.percent
    card = [
        f"Jars: {0.75 * level:.3g}, {level:.3g} and {1.25 * level:.3g} % beside the old formula, "
        "same day, same hands."
    ]
    system = c.before.system
    emulsion = system in {"w/o", "o/w"}
    if emulsion and c.matters("surface-active"):
        card.append(
            "Day 0: dilution or conductivity - must still be "
            f"{(system or '').upper()}; stop if not (emulsifier changed)."
        )
        card.append(
            "Day 1: centrifuge 3,000 rpm, 30 min - no free oil or water; stop if more than a trace "
            "(emulsifier changed)."
        )
    elif emulsion:
        card.append("Day 1: centrifuge 3,000 rpm, 30 min - no free oil or water; stop if it parts.")
    if c.matters("rheology-modifier") or "consistency" in rules:
        card.append(
            "Day 1, 7, 28: consistency at one speed, 25 degC - within 30 % of the old one; adjust "
            "the level if not (structurant or thickness changed)."
        )
    if c.matters("oil-phase-structurant") or "melts-in-climate" in rules:
        card.append(
            "Week 1: five cycles -5/40 degC - no oil on top, no grains; stop at free oil (melting "
            "behaviour changed)."
        )
    if c.matters("powder-part"):
        card.append(
            "Day 1: spread on black card beside the old one - cover, colour, grit; week 4 at 40 "
            "degC: no sediment (powder changed)."
        )
    if c.matters("uv-filter"):
        card.append("Before any claim: UV protection tested again by a laboratory.")
    if c.matters("antimicrobial") or rules & {
        "binds-preservative",
        "preservative-inactive",
        "ph-window",
    }:
        card.append(
            "Preservative challenge test, 28 days, at a laboratory - passes or stop (free "
            "preservative changed)."
        )
        card.append("Day 0: pH of the water phase, recorded before emulsifying.")
    if "oxidation" in rules:
        card.append("Week 4 and 12 at 40 degC: smell and peroxide value (more unsaturated oil).")
    if c.matters("emollient") or c.matters("humectant"):
        card.append("Day 2: slip, drag, tack, residue by three people, blind, beside the old one.")
    if c.matters("ph-adjuster") or c.matters("soap-part"):
        card.append("Day 0: pH, by equivalents within 0.3 of the old one; stop outside.")
    card.append("Weeks 4, 8, 12: keep at 4, 25, 40 degC; look, smell, weigh.")
    card.append(_class_of_change(c, rules))
    return card


def _class_of_change(c: Context, rules: set[str]) -> str:
    if c.matters("antimicrobial") or c.matters("uv-filter") or c.before.batch.items[c.index].active:
        return (
            "Class: major - safety assessment anew, challenge or efficacy test, notification and "
            "label changed."
        )
    if (
        c.matters("surface-active")
        or c.matters("rheology-modifier")
        or rules
        & {
            "binds-preservative",
            "wrong-emulsion-type",
        }
    ):
        return "Class: moderate - safety file updated, stability repeated, label and notification."
    return "Class: minor - safety file and ingredient list updated; ask the safety assessor."
