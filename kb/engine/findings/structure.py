"""Type of emulsion, emulsifiers, polymers and butters."""

from __future__ import annotations

from kb.engine.findings.finding import Finding, label, lines_of
from kb.engine.profile import Profile, make_profile
from kb.science.emulsion_type import WATER_THRESHOLD
from kb.store.snapshot import Snapshot

#: Emulsifier per water phase in W/O and per oil phase in O/W, seldom less (common practice).
_LEAST_WO, _LEAST_OW, _USUAL_MAX = 0.02, 0.05, 8.0
#: Share of water phase from which a W/O is rich in water, and the least salt then, % without water
#: of crystals: a sound pharmacopoeial cream has 0.24, one published as failing 0.07.
_WATER_RICH, _LEAST_SALT = 0.6, 0.2
#: Share of the emulsifiers from which those that salt harms forbid the advice.
_TOO_MANY_SHY = 0.2
#: Climate drift beyond which butters are said to carry too much of the body.
_DRIFT = 10.0


def of_type(profile: Profile, base: Snapshot) -> list[Finding]:
    """Compare the stated kind of product with what the composition says."""
    stated, inferred = profile.batch.system, profile.inferred
    found: list[Finding] = []
    reasons = "; ".join(inferred.because)
    if stated and inferred.system and stated != inferred.system:
        both = {stated, inferred.system} == {"w/o", "o/w"}
        level = "problem" if both and inferred.sure == "likely" else "caution"
        found.append(
            Finding(
                level,
                "wrong-emulsion-type" if both else "other-system",
                f"Stated as {stated}, but it looks like {inferred.system}: {reasons}.",
            )
        )
    elif stated and stated in {"w/o", "o/w"} and inferred.system is None:
        found.append(Finding("note", "type-unsure", f"The type cannot be told: {reasons}."))
    elif inferred.system is None:
        found.append(Finding("caution", "no-system", f"The kind of product is unclear: {reasons}."))
    if inferred.sure == "can invert" and inferred.system in {"w/o", "o/w"}:
        found.append(
            Finding(
                "note",
                "can-invert",
                f"Near the edge between W/O and O/W ({reasons}).",
                (),
                "two-threshold rule on published formulas",
            )
        )
    return found


def of_emulsifier(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say when an emulsifier is missing, wrong, too little or more than usual."""
    system, phases = profile.system, profile.phases
    if system not in {"w/o", "o/w"}:
        return []
    right = [e for e in profile.emulsifiers if e.water_loving == (system == "o/w")]
    total = sum(e.percent for e in right)
    every = sum(e.percent for e in profile.emulsifiers)
    inner = phases.water_mass if system == "w/o" else phases.oil_mass
    lines = lines_of(profile.batch, {e.material for e in profile.emulsifiers})
    found = []
    if not profile.emulsifiers:
        crystals = profile.network.get(25.0, 0.0) >= 1.0
        level = "caution" if crystals and system == "w/o" else "problem"
        text = "wax crystals alone must hold it" if crystals else "nothing holds the drops"
        found.append(Finding(level, "emulsifier-missing", f"There is no emulsifier: {text}."))
    elif total <= 0 and _soap_with_wax(profile):
        found.append(
            Finding(
                "note",
                "soap-cream",
                "An alkali soap favours water outside; wax crystals and little water keep this one "
                "W/O. More water turns it over.",
                lines,
                "common practice",
            )
        )
    elif total <= 0:
        found.append(
            Finding(
                "problem",
                "wrong-emulsion-type",
                f"No emulsifier favours {system}: "
                + ", ".join(_name(e.material, base) for e in profile.emulsifiers)
                + ".",
                lines,
            )
        )
    else:
        least = _LEAST_WO if system == "w/o" else _LEAST_OW
        if inner > 0 and every / inner < least and profile.species.soap is None:
            found.append(
                Finding(
                    "caution",
                    "emulsifier-low",
                    f"{every:.3g} % emulsifier for {inner:.3g} % inner phase is little "
                    f"(usually {100 * least:g} % of it or more).",
                    lines,
                    "common practice",
                )
            )
        if every > _USUAL_MAX and system == "w/o":
            found.append(
                Finding(
                    "note",
                    "emulsifier-high",
                    f"{every:.3g} % emulsifier is more than W/O usually needs ({_USUAL_MAX:g} %).",
                    lines,
                    "common practice",
                )
            )
    if system == "w/o":
        found += _capacity(profile, base)
    return found


def of_salt(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say when a W/O rich in water has next to no salt in it."""
    phases = profile.phases
    whole = phases.water_mass + phases.oil_mass
    if profile.system != "w/o" or phases.water_mass < _WATER_RICH * whole:
        return []
    roles = ("wo-emulsifier-lecithin", "wo-emulsifier-metal-soap", "wo-emulsifier-sterol")
    lipophilic = [
        e for e in profile.emulsifiers if not e.water_loving and e.material in base.materials
    ]
    known = {e.material for e in lipophilic}
    shy = sum(e.percent for e in lipophilic if any(base.does(e.material, r) >= 0.4 for r in roles))
    if not known or shy >= _TOO_MANY_SHY * sum(e.percent for e in lipophilic):
        return []
    salt = sum(s.percent for s in phases.water if base.does(s.material, "electrolyte") >= 0.3)
    if salt >= _LEAST_SALT:
        return []
    return [
        Finding(
            "caution",
            "salt-low",
            f"{salt:.2g} % salt in a W/O with {100 * phases.water_mass / whole:.0f} % water phase: "
            "0.5 to 1 % of magnesium sulfate or the like steadies most of them.",
            lines_of(profile.batch, known),
            "common practice",
        )
    ]


def _soap_with_wax(profile: Profile) -> bool:
    share = profile.phases.water_mass / max(
        profile.phases.water_mass + profile.phases.oil_mass, 1e-9
    )
    return (
        profile.species.soap is not None
        and share < WATER_THRESHOLD
        and profile.network.get(25.0, 0.0) >= 1.0
    )


def _capacity(profile: Profile, base: Snapshot) -> list[Finding]:
    phases = profile.phases
    share = 100.0 * phases.water_mass / max(phases.water_mass + phases.oil_mass, 1e-9)
    limits = [
        (base.known(e.material, "water_capacity"), e.material)
        for e in profile.emulsifiers
        if e.material in base.materials and not e.water_loving and e.percent >= 0.5
    ]
    known = [(k, m) for k, m in limits if k is not None]
    if known and all(share > k.high for k, _ in known):
        best, material = max(known, key=lambda pair: pair[0].high)
        return [
            Finding(
                "caution",
                "water-capacity",
                f"{share:.0f} % water phase is more than {label(material, base)} usually holds "
                f"({best.low:.0f} to {best.high:.0f} %).",
                lines_of(profile.batch, {material}),
                base.citation(best.source) or best.evidence,
            )
        ]
    return []


def _name(material: str, base: Snapshot) -> str:
    return label(material, base) if material in base.materials else material


def of_polymers(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say when a thickener stands in the phase it cannot reach."""
    found = []
    for item in profile.batch.items:
        gum = base.does(item.material, "water-thickener") >= 0.4
        structurant = base.does(item.material, "oil-gellant") >= 0.5
        if gum and profile.system == "w/o":
            found.append(
                Finding(
                    "caution",
                    "wrong-phase-polymer",
                    f"{label(item.material, base)} thickens the water drops, not the oil outside: "
                    "it gives a W/O no body. Measured studies are split (`kb suits`).",
                    (item.line,),
                    "common practice",
                )
            )
        elif gum and profile.system in {"anhydrous"}:
            found.append(
                Finding(
                    "problem",
                    "wrong-phase-polymer",
                    f"{label(item.material, base)} has no water to swell in.",
                    (item.line,),
                    "common practice",
                )
            )
        elif (
            structurant
            and profile.system == "water gel"
            and base.materials[item.material].phase == "oil"
            and not base.does(item.material, "water-thickener")
        ):
            found.append(
                Finding(
                    "problem",
                    "wrong-phase-polymer",
                    f"{label(item.material, base)} gels oil; there is none here.",
                    (item.line,),
                    "common practice",
                )
            )
    return found


def of_butters(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say when low-melting butter carries too much of the body."""
    if profile.system not in {"w/o", "anhydrous"}:
        return []
    butters = {
        i.material
        for i in profile.batch.items
        if base.does(i.material, "butter") >= 0.5
        and base.value(i.material, "melting_point", 30.0) < 42.0
    }
    share = sum(s.percent for s in profile.phases.oil if s.material in butters)
    if not butters or share < 2.0 or profile.phases.oil_mass <= 0:
        return []
    drift = profile.value("climate_drift_10_over_40")
    without = profile.batch.with_items(i for i in profile.batch.items if i.material not in butters)
    calm = make_profile(without, base).value("climate_drift_10_over_40")
    if drift is None or drift <= _DRIFT or (calm is not None and drift < 1.5 * calm):
        return []
    s10, s25, s40 = (profile.value(f"solids_{t}c") or 0.0 for t in (10, 25, 40))
    calm_text = f" (without them {calm:.2g})" if calm else ""
    return [
        Finding(
            "caution",
            "melts-in-climate",
            f"Low-melting butter is {100 * share / profile.phases.oil_mass:.0f} % of the oil "
            f"phase: consistency at 10 degC is {drift:.2g} times that at 40 degC{calm_text}; "
            f"solids {s10:.2g} / {s25:.2g} / {s40:.2g} % at 10 / 25 / 40 degC. Graining takes "
            "weeks to show.",
            lines_of(profile.batch, butters),
            "ideal solubility and network model",
        )
    ]
