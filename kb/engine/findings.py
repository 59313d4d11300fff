"""What is wrong, risky or worth knowing about a formula, each with its rule and lines."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.batch import Batch, Item, stage_kind
from kb.engine.edges import meetings
from kb.engine.profile import Profile, make_profile
from kb.engine.roles import roles_here
from kb.engine.system import SHARE_EDGE
from kb.formula.model import Formula
from kb.formula.names import Resolution
from kb.store.records import Limit
from kb.store.snapshot import Snapshot

LEVELS = ("problem", "caution", "note")
TOTAL_TOLERANCE = 0.05
_HOT_C = 70.0
#: Emulsifier per water phase in W/O and per oil phase in O/W, seldom less (common practice).
_LEAST_WO, _LEAST_OW, _USUAL_MAX = 0.02, 0.05, 8.0
_WATER_NEEDS_PRESERVATIVE = 5.0
#: Climate drift beyond which butters are said to carry too much of the body.
_DRIFT = 10.0


@dataclass(frozen=True, slots=True)
class Finding:
    """One statement about a formula."""

    level: str
    rule: str
    message: str
    lines: tuple[int, ...] = ()
    source: str = ""


def find_all(
    formula: Formula, answers: list[Resolution], profile: Profile, base: Snapshot
) -> list[Finding]:
    """Return every finding, worst first."""
    found = _reading(formula, answers)
    found += judge(profile, base)
    order = {level: n for n, level in enumerate(LEVELS)}
    unique = list(dict.fromkeys(found))
    return sorted(unique, key=lambda f: (order[f.level], f.rule, f.lines, f.message))


def judge(profile: Profile, base: Snapshot) -> list[Finding]:
    """Return the findings that follow from the batch alone."""
    found: list[Finding] = []
    for rule in (
        _type,
        _emulsifier,
        _polymers,
        _butters,
        _preservation,
        _soap,
        _stages,
        _powders,
        _edges,
        _limits,
        _levels,
        _ph_note,
        _cautions,
    ):
        found += rule(profile, base)
    return found


# -- reading -----------------------------------------------------------------------------------


def _reading(formula: Formula, answers: list[Resolution]) -> list[Finding]:
    found = [Finding(r.level, r.rule, r.message, r.lines) for r in formula.remarks]
    off = formula.total - 100.0
    if abs(off) > TOTAL_TOLERANCE:
        found.append(
            Finding(
                "problem",
                "total",
                f"The lines add up to {formula.total:.4g} %, {abs(off):.3g} % "
                f"{'too much' if off > 0 else 'short'}; predictions are scaled to 100 %.",
            )
        )
    places: dict[str, list[int]] = {}
    for number, (line, answer) in enumerate(zip(formula.lines, answers, strict=True), 1):
        if answer.match is None:
            near = ", ".join(m.matched for m in answer.nearest[:3])
            hint = f" Nearest: {near}." if near else ""
            found.append(
                Finding(
                    "problem",
                    "unknown-material",
                    f"{line.given!r} ({line.percent:.3g} %) is not known; it counts in the total "
                    f"and in no prediction.{hint}",
                    (number,),
                )
            )
            continue
        if answer.match.by not in {"id", "inci", "synonym", "registry"}:
            found.append(
                Finding(
                    "note",
                    "near-name",
                    f"{line.given!r} is read as {answer.match.matched} "
                    f"({answer.match.by}, {answer.match.score:.0f} of 100).",
                    (number,),
                )
            )
        places.setdefault(answer.match.material, []).append(number)
        if line.percent <= 0:
            found.append(
                Finding("caution", "zero-level", f"{line.given!r} stands at 0 %.", (number,))
            )
    for material, numbers in places.items():
        if len(numbers) > 1:
            names = formula.lines[numbers[0] - 1].given
            found.append(
                Finding(
                    "note",
                    "twice",
                    f"{names} stands on {len(numbers)} lines; they are added up.",
                    tuple(numbers),
                )
            )
    return found


def _lines(batch: Batch, materials: set[str]) -> tuple[int, ...]:
    return tuple(sorted(n for i in batch.items if i.material in materials for n in i.lines))


def _label(material: str, base: Snapshot) -> str:
    return base.materials[material].inci


# -- system ------------------------------------------------------------------------------------


def _type(profile: Profile, base: Snapshot) -> list[Finding]:
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


def _emulsifier(profile: Profile, base: Snapshot) -> list[Finding]:
    system, phases = profile.system, profile.phases
    if system not in {"w/o", "o/w"}:
        return []
    right = [e for e in profile.emulsifiers if e.water_loving == (system == "o/w")]
    total = sum(e.percent for e in right)
    every = sum(e.percent for e in profile.emulsifiers)
    inner = phases.water_mass if system == "w/o" else phases.oil_mass
    lines = _lines(profile.batch, {e.material for e in profile.emulsifiers})
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


def _soap_with_wax(profile: Profile) -> bool:
    share = profile.phases.water_mass / max(
        profile.phases.water_mass + profile.phases.oil_mass, 1e-9
    )
    return (
        profile.species.soap is not None
        and share < SHARE_EDGE
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
                f"{share:.0f} % water phase is more than {_label(material, base)} usually holds "
                f"({best.low:.0f} to {best.high:.0f} %).",
                _lines(profile.batch, {material}),
                base.citation(best.source) or best.evidence,
            )
        ]
    return []


def _name(material: str, base: Snapshot) -> str:
    return _label(material, base) if material in base.materials else material


def _polymers(profile: Profile, base: Snapshot) -> list[Finding]:
    found = []
    for item in profile.batch.items:
        gum = base.does(item.material, "water-thickener") >= 0.4
        structurant = base.does(item.material, "oil-gellant") >= 0.5
        if gum and profile.system == "w/o":
            found.append(
                Finding(
                    "caution",
                    "wrong-phase-polymer",
                    f"{_label(item.material, base)} thickens the water drops, not the oil outside: "
                    "it gives a W/O no body. Measured studies are split (`kb suits`).",
                    item.lines,
                    "common practice",
                )
            )
        elif gum and profile.system in {"anhydrous"}:
            found.append(
                Finding(
                    "problem",
                    "wrong-phase-polymer",
                    f"{_label(item.material, base)} has no water to swell in.",
                    item.lines,
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
                    f"{_label(item.material, base)} gels oil; there is none here.",
                    item.lines,
                    "common practice",
                )
            )
    return found


def _butters(profile: Profile, base: Snapshot) -> list[Finding]:
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
            f"Low-melting butter is {100 * share / profile.phases.oil_mass:.0f} % of the oil phase: "
            f"consistency at 10 degC is {drift:.2g} times that at 40 degC{calm_text}; solids "
            f"{s10:.2g} / {s25:.2g} / {s40:.2g} % at 10 / 25 / 40 degC. Graining takes weeks to show.",
            _lines(profile.batch, butters),
            "ideal solubility and network model",
        )
    ]


# -- preservation ------------------------------------------------------------------------------


def _preservation(profile: Profile, base: Snapshot) -> list[Finding]:
    phases = profile.phases
    free_water = sum(s.percent for s in phases.water if base.does(s.material, "water-phase-base"))
    found: list[Finding] = []
    if free_water < _WATER_NEEDS_PRESERVATIVE:
        return found
    activity = profile.value("water_activity")
    low_activity = activity is not None and activity < 0.75
    real = [a for a in profile.agents if base.does(a.material, "preservative") >= 0.3]
    lines = _lines(profile.batch, {a.material for a in profile.agents})
    if not real and not low_activity:
        boosters = [a for a in profile.agents if base.does(a.material, "preservative-booster")]
        if boosters:
            names = ", ".join(_label(a.material, base) for a in boosters)
            found.append(
                Finding(
                    "problem",
                    "booster-alone",
                    f"{names} supports a preservative and is none alone; {free_water:.3g} % water.",
                    lines,
                    "common practice",
                )
            )
        else:
            found.append(
                Finding(
                    "problem",
                    "preservative-missing",
                    f"{free_water:.3g} % water and no preservative"
                    + (f" (water activity {activity:.2f})." if activity else "."),
                    (),
                    "water activity limits of growth (ICMSF)",
                )
            )
        return found
    weak = [a for a in real if float(a.undissociated[0]) < 0.1]
    if weak and profile.ph is not None:
        names = ", ".join(_label(a.material, base) for a in weak)
        share = max(float(a.undissociated[0]) for a in weak)
        alone = len(weak) == len(real)
        found.append(
            Finding(
                "problem" if alone else "caution",
                "ph-window",
                f"At pH {profile.ph:.2g} ({profile.ph_reason}) only {100 * share:.2g} % of {names} "
                "is undissociated: it does next to nothing.",
                _lines(profile.batch, {a.material for a in weak}),
                "Henderson and Hasselbalch",
            )
        )
    cover = profile.cover
    if cover is not None and cover < 0.5 and not weak and not low_activity:
        worst = min(real, key=lambda a: float(a.active[0]) / max(a.percent, 1e-9))
        found.append(
            Finding(
                "caution",
                "preservative-inactive",
                f"Little preservative stays free in the water: {_label(worst.material, base)} "
                f"{worst.percent:.3g} % in the formula is {float(worst.active[0]):.2g} % active in "
                f"the water; together {100 * cover:.0f} % of the least effective level.",
                lines,
                "partition, dissociation and binding",
            )
        )
    return found


# -- species, stages, powders ------------------------------------------------------------------


def _soap(profile: Profile, base: Snapshot) -> list[Finding]:
    species = profile.species
    found = []
    if species.soap is not None:
        kind = "polyvalent" if species.soap.polyvalent else "alkali"
        names = ", ".join(_label(a, base) for a in species.soap.acids)
        text = (
            f"{species.soap.percent:.2g} % {kind} soap forms from {names}; "
            f"{100 * species.soap.neutralised:.0f} % of the acid is used."
        )
        materials = {*species.soap.acids, *species.soap.alkalis}
        found.append(
            Finding("note", "soap-formed", text, _lines(profile.batch, materials), "equivalents")
        )
        if species.spare_alkali_mol > 0.2 * species.acid_mol and species.acid_mol > 0:
            found.append(
                Finding(
                    "caution",
                    "spare-alkali",
                    f"{1000 * species.spare_alkali_mol:.2g} mmol alkali per 100 g finds no acid: "
                    "the pH will be high.",
                    _lines(profile.batch, set(species.soap.alkalis)),
                    "equivalents",
                )
            )
    if species.zinc_soap_likely:
        found.append(
            Finding(
                "note",
                "thickens-on-ageing",
                "A basic powder beside free fatty acid makes metal soap slowly: it may thicken.",
                _lines(profile.batch, set(species.basic_powder)),
                "common practice",
            )
        )
    return found


def _stages(profile: Profile, base: Snapshot) -> list[Finding]:
    found = []
    for item in profile.batch.items:
        kind = stage_kind(item.stage)
        about = base.materials[item.material]
        limit = base.known(item.material, "max_process_temperature")
        volatile = "volatile" in about.tags or base.does(item.material, "scent") >= 0.5
        fragile = (limit is not None and limit.value < _HOT_C) or "heat-sensitive" in about.tags
        emulsion = profile.system in {"w/o", "o/w"}
        hot = kind in {"oil", "water"} and (_needs_heat(profile, base) or emulsion)
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
                    item.lines,
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
                    f"{about.inci} dissolves in water: after emulsifying W/O it no longer gets into "
                    "the drops. Put it into the water phase, or homogenise again.",
                    item.lines,
                    "common practice",
                )
            )
    return found


def _needs_heat(profile: Profile, base: Snapshot) -> bool:
    return any(
        base.materials[s.material].form in {"waxy", "crystalline"} for s in profile.phases.oil
    )


def _powders(profile: Profile, base: Snapshot) -> list[Finding]:
    phases = profile.phases
    insoluble = [
        s for s in phases.powder if base.materials[s.material].phase == "powder"
    ]
    total = sum(s.percent for s in insoluble)
    found = []
    if total > 3.0 and profile.system in {"w/o", "anhydrous"}:
        liquid = sum(
            s.percent for s in phases.oil if base.materials[s.material].form in {"liquid"}
        )
        if liquid < 0.3 * total and phases.oil_mass < 0.9 * total:
            found.append(
                Finding(
                    "caution",
                    "powder-not-wetted",
                    f"{total:.3g} % powder finds only {liquid:.3g} % liquid oil to be wetted in.",
                    _lines(profile.batch, {s.material for s in insoluble}),
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
                _lines(profile.batch, {s.material for s in insoluble}),
                "Stokes; yield of the network",
            )
        )
    if insoluble:
        found.append(
            Finding(
                "note",
                "dust",
                "Powders make dust: weigh them with extraction and a mask.",
                _lines(profile.batch, {s.material for s in insoluble}),
                "common practice",
            )
        )
    return found


# -- edges and limits --------------------------------------------------------------------------


def _edges(profile: Profile, base: Snapshot) -> list[Finding]:
    found = []
    seen: set[tuple[str, str, str]] = set()
    for met in meetings(profile.batch, profile.system, profile.ph, base):
        if met.edge.verdict == "works":
            continue
        pair = tuple(sorted((met.subject, met.object)))
        key = (met.edge.rule, pair[0], pair[1])
        if key in seen:
            continue
        seen.add(key)
        names = " with ".join((_label(met.subject, base), _label(met.object, base)))
        found.append(
            Finding(
                "problem" if met.edge.verdict == "fails" else "caution",
                met.edge.rule,
                f"{names}: {met.edge.mechanism}",
                _lines(profile.batch, {met.subject, met.object}),
                base.citation(met.edge.source) if met.edge.source else met.edge.evidence,
            )
        )
    return found


def applies(limit_applies: str, item: Item, batch: Batch, role: str) -> bool | None:
    """Tell whether a legal limit applies here; none when the file does not say."""
    leave_on = batch.product.get("leave_on")
    if limit_applies == "all":
        return True
    if limit_applies in {"leave-on", "rinse-off"}:
        if not isinstance(leave_on, bool):
            return None
        return leave_on == (limit_applies == "leave-on")
    if limit_applies == "declared-active":
        return item.active is True
    if limit_applies == "uv-filter":
        return role in {"mineral-uv-filter", "organic-uv-filter"}
    if limit_applies == "under-3-years":
        return str(batch.product.get("age_group", "")).casefold() in {"infant", "baby", "under-3"}
    return False


def _limits(profile: Profile, base: Snapshot) -> list[Finding]:
    found = []
    market = str(profile.batch.product.get("market", "")).casefold()
    for item in profile.batch.items:
        leading = roles_here(item, profile, base)
        role = leading[0].role if leading else ""
        for limit in base.limits(item.material):
            if market and market != limit.jurisdiction:
                continue
            counts = applies(limit.applies, item, profile.batch, role)
            if counts is False:
                continue
            if not market:
                counts = None
            where = f"{limit.jurisdiction.upper()}, {limit.section}"
            evidence = f"read {limit.date_read}" if limit.date_read else limit.evidence
            source = f"{where} ({evidence})"
            label = _label(item.material, base)
            doubt = "" if counts else _doubt(limit, market)
            measured = limit.unit_is_percent
            over = measured and limit.high is not None and item.percent > limit.high * 1.0001
            if limit.kind == "max" and over:
                found.append(
                    Finding(
                        "problem" if counts else "caution",
                        "legal-limit",
                        f"{label} {item.percent:.3g} % is above {limit.high:g} %"
                        f"{' ' + limit.basis if limit.basis else ''}{doubt}.",
                        item.lines,
                        source,
                    )
                )
            elif limit.kind == "active-range" and (
                over or (limit.low is not None and item.percent < limit.low)
            ):
                found.append(
                    Finding(
                        "problem",
                        "legal-limit",
                        f"{label} {item.percent:.3g} % as declared active lies outside "
                        f"{limit.low or 0:g} to {limit.high or 100:g} %.",
                        item.lines,
                        source,
                    )
                )
            elif limit.kind == "prohibited":
                found.append(
                    Finding(
                        "problem" if counts else "caution",
                        "legal-limit",
                        f"{label} is prohibited{doubt}{': ' + limit.note if limit.note else ''}.",
                        item.lines,
                        source,
                    )
                )
            elif limit.kind in {"caution", "label"} and _worth_saying(limit, counts, item, market):
                found.append(
                    Finding(
                        "note",
                        "label" if limit.kind == "label" else "legal-caution",
                        f"{label}: {limit.note or limit.basis or limit.section}",
                        item.lines,
                        source,
                    )
                )
    return found


def _doubt(limit: Limit, market: str) -> str:
    """Say on what it depends whether a limit binds."""
    where = "" if market else f" if sold in the {limit.jurisdiction.upper()}"
    what = "" if limit.applies == "all" else f" if {limit.applies}"
    return where + what


def _worth_saying(limit: Limit, counts: bool | None, item: Item, market: str) -> bool:
    """Cautions and labels are said when they surely apply and their threshold is passed."""
    if not counts or not market:
        return False
    return not (limit.low is not None and item.percent < limit.low)


def _levels(profile: Profile, base: Snapshot) -> list[Finding]:
    found = []
    for item in profile.batch.items:
        here = roles_here(item, profile, base)
        if not here:
            continue
        plays = [p for p in base.plays(item.material) if p.role in {h.role for h in here}]
        highs = [p.high for p in plays if p.high is not None]
        lows = [p.low for p in plays if p.low is not None]
        if highs and item.percent > 1.3 * max(highs) and max(highs) < 95:
            found.append(
                Finding(
                    "caution",
                    "level-high",
                    f"{_label(item.material, base)} {item.percent:.3g} % is above its usual "
                    f"{max(highs):g} %.",
                    item.lines,
                    "common practice",
                )
            )
        elif lows and item.percent < 0.3 * min(lows):
            found.append(
                Finding(
                    "note",
                    "level-low",
                    f"{_label(item.material, base)} {item.percent:.3g} % is below its usual "
                    f"{min(lows):g} %.",
                    item.lines,
                    "common practice",
                )
            )
    return found


def _ph_note(profile: Profile, base: Snapshot) -> list[Finding]:
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
                tuple(n for i in late for n in i.lines),
                "common practice",
            )
        ]
    return []


def _cautions(profile: Profile, base: Snapshot) -> list[Finding]:
    found = []
    product = profile.batch.product
    if str(product.get("age_group", "")).casefold() in {"infant", "baby", "under-3"}:
        found.append(
            Finding(
                "caution",
                "infants",
                "For infants or broken skin a safety assessor must judge every material first.",
            )
        )
    claims = " ".join(str(v) for v in product.values()).casefold()
    if any(word in claims for word in ("spf", "sun", "uv")):
        found.append(
            Finding(
                "caution",
                "uv-claim",
                "No UV protection may be claimed without testing of the finished product.",
            )
        )
    found.append(
        Finding(
            "note",
            "before-use",
            "A safety assessor, a preservative challenge test, stability and patch tests come before "
            "anyone else uses it; local law decides.",
        )
    )
    return found
