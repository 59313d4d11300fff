"""What forms in the pot, what goes in at which stage, powders and their wetting."""

from __future__ import annotations

from kb.engine.batch import Item, stage_kind
from kb.engine.findings.finding import Finding, label, lines_of
from kb.engine.profile import Profile
from kb.store.snapshot import Snapshot

_HOT_C = 70.0


def of_soap(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say what soap forms, and what is left over."""
    species = profile.species
    found = []
    if species.soap is not None:
        kind = "polyvalent" if species.soap.polyvalent else "alkali"
        names = ", ".join(label(a, base) for a in species.soap.acids)
        text = (
            f"{species.soap.percent:.2g} % {kind} soap forms from {names}; "
            f"{100 * species.soap.neutralised:.0f} % of the acid is used."
        )
        materials = {*species.soap.acids, *species.soap.alkalis}
        found.append(
            Finding("note", "soap-formed", text, lines_of(profile.batch, materials), "equivalents")
        )
        if species.spare_alkali_mol > 0.2 * species.acid_mol and species.acid_mol > 0:
            found.append(
                Finding(
                    "caution",
                    "spare-alkali",
                    f"{1000 * species.spare_alkali_mol:.2g} mmol alkali per 100 g finds no acid: "
                    "the pH will be high.",
                    lines_of(profile.batch, set(species.soap.alkalis)),
                    "equivalents",
                )
            )
    if species.zinc_soap_likely:
        found.append(
            Finding(
                "note",
                "thickens-on-ageing",
                "A basic powder beside free fatty acid makes metal soap slowly: it may thicken.",
                lines_of(profile.batch, set(species.basic_powder)),
                "common practice",
            )
        )
    return found


def of_stages(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say what suffers in a hot stage, or comes too late."""
    found = []
    for item in profile.batch.items:
        kind = stage_kind(item.stage)
        about = base.materials[item.material]
        limit = base.known(item.material, "max_process_temperature")
        volatile = "volatile" in about.tags or base.does(item.material, "scent") >= 0.5
        fragile = (limit is not None and limit.value < _HOT_C) or "heat-sensitive" in about.tags
        emulsion = profile.system in {"w/o", "o/w"}
        hot = kind in {"oil", "water"} and (_needs_heat(profile, base) or emulsion)
        if "gelatinises" in about.tags:
            if hot and (kind == "water" or profile.system == "o/w"):
                found.append(_gelatinises(item, profile, base))
            continue
        if hot and (volatile or fragile):
            why = "evaporates" if volatile else "suffers"
            top = f" (at most {limit.value:.0f} degC)" if limit is not None else ""
            found.append(
                Finding(
                    "caution",
                    "heat-or-light",
                    f"{about.inci} {why} in the hot {kind} stage{top}: add it on cooling"
                    + (
                        ", oil-soluble ones below 40 degC."
                        if about.phase != "water" or profile.system != "w/o"
                        else "; water-soluble ones cannot follow in W/O."
                    ),
                    (item.line,),
                    base.citation(limit.source) if limit and limit.source else "common practice",
                )
            )
        if (
            kind == "cool-down"
            and profile.system == "w/o"
            and about.phase == "water"
            and not base.does(item.material, "antimicrobial")
            and item.percent >= 0.1
        ):
            found.append(
                Finding(
                    "caution",
                    "late-water",
                    f"{about.inci} dissolves in water: after emulsifying W/O it no longer gets "
                    "into the drops. Put it into the water phase, or homogenise again.",
                    (item.line,),
                    "common practice",
                )
            )
    return found


def _gelatinises(item: Item, profile: Profile, base: Snapshot) -> Finding:
    """Say that starch in hot water is no powder any more."""
    limit = base.known(item.material, "max_process_temperature")
    top = f" from about {limit.value:.0f} degC" if limit is not None else ""
    low = f" below {limit.low:.0f} degC" if limit is not None else " on cooling"
    way = "into the oils or " if profile.system == "w/o" else ""
    return Finding(
        "caution",
        "gelatinises",
        f"{label(item.material, base)} swells in hot water{top}: it thickens like a paste and is "
        f"no dry powder any more. Add it {way}{low.strip()} if it is to stay one.",
        (item.line,),
        base.citation(limit.source) if limit and limit.source else "common practice",
    )


def _needs_heat(profile: Profile, base: Snapshot) -> bool:
    return any(
        base.materials[s.material].form in {"waxy", "crystalline"} for s in profile.phases.oil
    )


def of_powders(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say when powder is not wetted, settles, or makes dust."""
    phases = profile.phases
    insoluble = [s for s in phases.powder if base.materials[s.material].phase == "powder"]
    total = sum(s.percent for s in insoluble)
    found = []
    if total > 3.0 and profile.system in {"w/o", "anhydrous"}:
        liquid = sum(s.percent for s in phases.oil if base.materials[s.material].form in {"liquid"})
        if liquid < 0.3 * total and phases.oil_mass < 0.9 * total:
            found.append(
                Finding(
                    "caution",
                    "powder-not-wetted",
                    f"{total:.3g} % powder finds only {liquid:.3g} % liquid oil to be wetted in.",
                    lines_of(profile.batch, {s.material for s in insoluble}),
                    "common practice",
                )
            )
    settling = profile.quantities["settling"]
    state = (settling.detail or {}).get("state")
    if insoluble and state == "settles" and profile.system != "suspension":
        found.append(
            Finding(
                "caution",
                "settles",
                f"The powder settles ({settling.value or 0:.2g} mm a day in the liquid): nothing "
                "with a yield holds it when warm.",
                lines_of(profile.batch, {s.material for s in insoluble}),
                "Stokes; yield of the network",
            )
        )
    if insoluble:
        found.append(
            Finding(
                "note",
                "dust",
                "Powders make dust: weigh them with extraction and a mask.",
                lines_of(profile.batch, {s.material for s in insoluble}),
                "common practice",
            )
        )
    return found


def of_finished_ph(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say that the pH of a finished W/O is not chased."""
    if profile.system != "w/o":
        return []
    late = [
        i
        for i in profile.batch.items
        if base.does(i.material, "ph-adjuster") >= 0.5 and stage_kind(i.stage) == "cool-down"
    ]
    if late:
        return [
            Finding(
                "note",
                "finished-ph",
                "The pH of a finished W/O is hard to read and to change: set and record the water "
                "phase before emulsifying.",
                tuple(i.line for i in late),
                "common practice",
            )
        ]
    return []
