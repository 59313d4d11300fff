"""Does a material suit a system or a formula, in a role: works, careful or fails, and why."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.edges import meetings_of, system_edges
from kb.engine.profile import Profile
from kb.store.records import Edge
from kb.store.snapshot import Snapshot

RANK = {"works": 0, "careful": 1, "fails": 2}


@dataclass(frozen=True, slots=True)
class Reason:
    """One sentence of a verdict with where it comes from."""

    verdict: str
    text: str
    source: str
    evidence: str
    rule: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer: verdict, the role it was judged in, reasons, what to use instead."""

    verdict: str
    as_role: str
    because: tuple[Reason, ...]
    instead: tuple[str, ...] = ()


def suits_system(
    material: str, system: str, base: Snapshot, as_role: str = "", ph: float | None = None
) -> Verdict:
    """Judge a material in a kind of product.

    Parameters
    ----------
    material : str
        Material id.
    system : str
        One of the systems.
    base : Snapshot
    as_role : str
        Role it is meant to play; empty takes its leading role.
    ph : float, optional
        pH of the water phase; what holds only in a window of pH asks for care when it is unknown.
    """
    role = own_role(material, as_role, base)
    reasons = _principles(material, role, system, base)
    reasons += [
        _in_role(_at_ph(_from_edge(e, base), e, ph), role, base)
        for e in system_edges(material, system, base)
        if ph is None or e.ph_low <= ph <= e.ph_high
    ]
    reasons = _distinct(reasons)
    verdict = max((r.verdict for r in reasons), key=lambda v: RANK[v], default="works")
    if not reasons:
        reasons = [Reason("works", f"nothing known speaks against it in {system}", "", "", "")]
    # The mechanism first, then what was measured, then what is recalled.
    order = {"common practice": 0, "published": 1, "data sheet": 1, "derived": 2, "memory": 3}
    reasons.sort(key=lambda r: (-RANK[r.verdict], order.get(r.evidence, 4)))
    return Verdict(verdict, role, tuple(reasons), _instead(role, system, verdict, base))


def suits_formula(material: str, profile: Profile, base: Snapshot, as_role: str = "") -> Verdict:
    """Judge a material in the company of a formula: its system, then each stated edge."""
    role = own_role(material, as_role, base)
    reasons: list[Reason] = []
    instead: tuple[str, ...] = ()
    if profile.system:
        on_system = suits_system(material, profile.system, base, role, profile.ph)
        reasons = list(on_system.because)
        instead = on_system.instead
    for met in meetings_of(material, profile.batch, profile.system, profile.ph, base):
        other = met.object if met.subject == material else met.subject
        found = _from_edge(met.edge, base)
        label = base.materials[other].inci
        reasons.append(
            Reason(
                found.verdict,
                f"with {label}: {found.text}",
                found.source,
                found.evidence,
                found.rule,
            )
        )
    verdict = max((r.verdict for r in reasons), key=lambda v: RANK[v], default="works")
    reasons.sort(key=lambda r: -RANK[r.verdict])
    return Verdict(verdict, role, tuple(_distinct(reasons)), instead)


def leading_role(material: str, base: Snapshot) -> str:
    """Return the role a material plays best."""
    plays = sorted(base.plays(material), key=lambda p: (-p.strength, p.role))
    return plays[0].role if plays else ""


#: A mechanism speaks against a material only in the family of roles it concerns.
_FAMILY = {
    "wrong-phase-polymer": "rheology-modifier",
    "no-structure": "rheology-modifier",
    "melts-in-climate": "rheology-modifier",
    "wrong-emulsion-type": "surface-active",
    "needs-partner": "surface-active",
}
#: Asked as merely present, in no role.
PRESENT = "present"
ALIASES = {
    "stabiliser": "rheology-modifier",
    "stabilizer": "rheology-modifier",
    "thickener": "rheology-modifier",
    "structurant": "rheology-modifier",
}


def own_role(material: str, asked: str, base: Snapshot) -> str:
    """Return the most specific role the material plays under the one asked for."""
    if not asked:
        return leading_role(material, base)
    if asked == PRESENT:
        return PRESENT
    wanted = ALIASES.get(asked, asked)
    plays = sorted(base.plays(material), key=lambda p: (-p.strength, p.role))
    return next((p.role for p in plays if wanted in base.roles[p.role].ancestors), wanted)


def _at_ph(reason: Reason, edge: Edge, ph: float | None) -> Reason:
    """Soften what holds only in a window of pH when the pH is not known."""
    windowed = edge.ph_low > 0.0 or edge.ph_high < 14.0
    if ph is not None or not windowed or reason.verdict != "fails":
        return reason
    text = f"{reason.text} (pH {edge.ph_low:g} to {edge.ph_high:g})"
    return Reason("careful", text, reason.source, reason.evidence, reason.rule)


def _in_role(reason: Reason, role: str, base: Snapshot) -> Reason:
    """Soften a failure that concerns another kind of work than the role asked for."""
    family = _FAMILY.get(reason.rule)
    above = base.roles[role].ancestors if role in base.roles else frozenset()
    if reason.verdict == "fails" and family and family not in above:
        return Reason("careful", reason.text, reason.source, reason.evidence, reason.rule)
    return reason


def _principles(material: str, role: str, system: str, base: Snapshot) -> list[Reason]:
    """Say what follows from the phase a role works in, with the evidence it stands on."""
    if role not in base.roles:
        return []
    above = base.roles[role].ancestors
    found: list[Reason] = []

    def say(verdict: str, text: str, rule: str) -> None:
        found.append(Reason(verdict, text, "", "common practice", rule))

    if "water-thickener" in above:
        if system == "w/o":
            say(
                "fails",
                "it thickens the water drops, not the oil outside: no body, and thick drops are "
                "harder to break",
                "wrong-phase-polymer",
            )
        elif system in {"anhydrous", "powder"}:
            say("fails", "there is no water for it to swell in", "wrong-phase-polymer")
        elif system in {"o/w", "water gel", "suspension"}:
            say("works", "it thickens the water outside", "")
    elif "oil-gellant" in above or "wax" in above or "butter" in above:
        if system == "water gel":
            say("fails", "there is no oil phase for it to gel", "wrong-phase-polymer")
        elif system == "o/w":
            say(
                "careful",
                "it works inside the oil drops only and does not thicken the water outside",
                "wrong-phase-polymer",
            )
        elif system in {"w/o", "anhydrous"}:
            say("works", "it builds the oil outside", "")
        if system == "o/w" and "polymeric-oil-gellant" in above:
            found[-1] = Reason(
                "fails",
                "as stabiliser it gels the oil drops, not the water outside that carries them",
                "",
                "common practice",
                "wrong-phase-polymer",
            )
    elif "wo-emulsifier" in above:
        if system == "o/w":
            say("fails", "as only emulsifier it favours oil outside", "wrong-emulsion-type")
        elif system == "w/o":
            say("works", "it favours oil outside", "")
    elif "ow-emulsifier" in above:
        if system == "w/o":
            say("fails", "it favours water outside", "wrong-emulsion-type")
        elif system == "o/w":
            say("works", "it favours water outside", "")
    return found


def _from_edge(edge: Edge, base: Snapshot) -> Reason:
    source = base.citation(edge.source) if edge.source else ""
    return Reason(edge.verdict, edge.mechanism, source, edge.evidence, edge.rule)


def _distinct(reasons: list[Reason]) -> list[Reason]:
    seen: set[tuple[str, str]] = set()
    kept = []
    for reason in reasons:
        key = (reason.text, reason.source)
        if key not in seen:
            seen.add(key)
            kept.append(reason)
    return kept


def _instead(role: str, system: str, verdict: str, base: Snapshot) -> tuple[str, ...]:
    if verdict == "works" or role not in base.roles:
        return ()
    above = base.roles[role].ancestors
    if "water-thickener" in above and system in {"w/o", "anhydrous"}:
        wanted = ("polymeric-oil-gellant", "crystalline-oil-thickener")
    elif "oil-phase-structurant" in above and system in {"o/w", "water gel"}:
        wanted = ("polysaccharide-thickener-anionic", "water-thickener-nonionic")
    elif "ow-emulsifier" in above and system == "w/o":
        wanted = ("wo-emulsifier-polymeric", "wo-emulsifier-liquid")
    elif "wo-emulsifier" in above and system == "o/w":
        wanted = ("ow-emulsifier-polyglyceryl", "ow-emulsifier-sugar")
    else:
        return ()
    found: list[str] = []
    for name in wanted:
        players = [m for m in base.players(name) if "--" not in m]
        players.sort(key=lambda m: (-base.does(m, name), m))
        found += players[:2]
    return tuple(found)


def gate_reason(material: str, role: str, profile: Profile, base: Snapshot) -> Reason | None:
    """Return why a material cannot play a role in this system, or nothing."""
    if not profile.system:
        return None
    found = suits_system(material, profile.system, base, role, profile.ph)
    return next((r for r in found.because if r.verdict == "fails"), None)
