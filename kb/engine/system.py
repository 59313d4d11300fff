"""Tell the kind of product from what is in it, with reasons, and abstain near the edge."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.batch import Batch, Phases, is_water
from kb.engine.species import Species
from kb.science.emulsion_type import HLB_THRESHOLD, WATER_THRESHOLD, classify
from kb.store.snapshot import Snapshot

_MIN_PHASE = 3.0
#: Strength from which a material counts as player of a role.
STRONG = 0.4
#: Emulsifiers whose HLB says nothing about them.
NO_HLB_ROLES = (
    "wo-emulsifier-polymeric",
    "wo-emulsifier-silicone",
    "wo-emulsifier-sterol",
    "wo-emulsifier-metal-soap",
    "ow-emulsifier-polymeric",
    "ow-emulsifier-soap",
)


@dataclass(frozen=True, slots=True)
class Emulsifier:
    """One emulsifier at work: percent of the formula and the HLB that stands for it."""

    material: str
    percent: float
    hlb: float
    water_loving: bool
    meaningful: bool


@dataclass(frozen=True, slots=True)
class Kind:
    """The kind of product, or none, with the reasons and how sure."""

    system: str | None
    because: tuple[str, ...]
    sure: str
    hlb: float | None = None
    water_share: float | None = None


def emulsifiers(phases: Phases, species: Species, base: Snapshot) -> list[Emulsifier]:
    """Return the emulsifiers of a batch; waxes, butters and fatty alcohols do not count."""
    found = []
    for share in (*phases.oil, *phases.water):
        lipophilic = base.does(share.material, "wo-emulsifier")
        hydrophilic = base.does(share.material, "ow-emulsifier")
        if max(lipophilic, hydrophilic) < STRONG:
            continue
        water_loving = hydrophilic > lipophilic
        hlb = base.value(share.material, "hlb", 14.0 if water_loving else 4.0)
        if hydrophilic and "lamellar" not in base.materials[share.material].tags:
            charged = base.materials[share.material].charge in {"anionic", "cationic"}
            if charged and water_loving:
                hlb = max(hlb, 12.0)
        meaningful = not any(base.does(share.material, role) >= STRONG for role in NO_HLB_ROLES)
        found.append(Emulsifier(share.material, share.percent, hlb, water_loving, meaningful))
    if species.soap is not None:
        soap = species.soap
        found.append(
            Emulsifier("soap formed in place", soap.percent, soap.hlb, not soap.polyvalent, False)
        )
    return found


def infer(batch: Batch, phases: Phases, species: Species, base: Snapshot) -> Kind:
    """Tell the system from composition alone; ``batch.system`` is not looked at."""
    water, oil, powder = phases.water_mass, phases.oil_mass, phases.powder_mass
    free_water = sum(s.percent for s in phases.water if is_water(s.material, base))
    if free_water < _MIN_PHASE:
        return _without_water(phases, oil + water, powder, base)
    if oil < _MIN_PHASE:
        if powder > 4.0:
            return Kind(
                "suspension", (f"{powder:.3g} % powder in water, hardly any oil",), "likely"
            )
        thick = [s for s in phases.water if base.does(s.material, "water-thickener") >= STRONG]
        if thick:
            return Kind("water gel", ("thickened water, hardly any oil",), "likely")
        return Kind(None, ("water without oil, powder or thickener: a solution",), "likely")
    return _emulsion(phases, species, base)


def _without_water(phases: Phases, liquid: float, powder: float, base: Snapshot) -> Kind:
    if powder > 60.0:
        return Kind("powder", (f"{powder:.3g} % powder",), "likely")
    body = any(
        base.does(s.material, "oil-phase-structurant") >= STRONG
        and base.materials[s.material].form != "liquid"
        for s in phases.oil
    )
    if powder > 10.0 and not body:
        return Kind(
            "suspension",
            (f"{powder:.3g} % powder in a liquid oil with nothing to hold it",),
            "likely",
        )
    return Kind("anhydrous", ("no water phase to speak of",), "likely")


def _emulsion(phases: Phases, species: Species, base: Snapshot) -> Kind:
    water, oil = phases.water_mass, phases.oil_mass
    share = water / (water + oil)
    found = emulsifiers(phases, species, base)
    total = sum(e.percent for e in found)
    if total <= 0.0:
        crystals = any(base.does(s.material, "wax") >= STRONG for s in phases.oil)
        why = "no emulsifier; wax crystals favour oil outside" if crystals else "no emulsifier"
        if share > 0.8 and not crystals:
            return Kind(None, (f"{why}, {share:.0%} water: it will part",), "unsure", None, share)
        return Kind("w/o", (why,), "likely" if crystals else "unsure", None, share)
    hlb = sum(e.percent * e.hlb for e in found) / total
    soap_led = species.soap is not None and species.soap.percent > 0.4 * total
    reasons = [
        f"emulsifier blend HLB {hlb:.1f} (edge {HLB_THRESHOLD:g})",
        f"water phase {share:.0%} of water and oil (edge {WATER_THRESHOLD:.0%})",
    ]
    if species.soap is not None:
        kind = "polyvalent" if species.soap.polyvalent else "alkali"
        reasons.append(f"{species.soap.percent:.2g} % {kind} soap forms in place")
    call = classify(hlb, share)
    system = str(call.kind)
    lipophilic = system == "w/o" and not any(e.water_loving for e in found)
    if bool(call.likely) or lipophilic:
        sure = "likely"
    else:
        sure = "can invert"
        reasons.append("near the edge: check by dilution and conductivity")
    polymeric = any(
        base.does(e.material, "ow-emulsifier-polymeric") >= STRONG
        for e in found
        if e.material in base.materials
    )
    if system == "w/o" and hlb >= 11.0 and share >= 0.25 and not soap_led:
        reasons.append("hydrophilic emulsifier with much oil: the order of addition decides")
        return Kind(None, tuple(reasons), "abstains", hlb, share)
    if polymeric and share < WATER_THRESHOLD:
        reasons.append("a polymeric emulsifier has no HLB to go by")
        return Kind(None, tuple(reasons), "abstains", hlb, share)
    return Kind(system, tuple(reasons), sure, hlb, share)
