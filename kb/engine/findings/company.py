"""Stated compatibilities, usual levels, and the cautions any product gets."""

from __future__ import annotations

from kb.engine.edges import Meeting, meetings
from kb.engine.findings.finding import Finding, added_up, label, lines_of
from kb.engine.profile import Profile
from kb.engine.roles import roles_here
from kb.store.snapshot import Snapshot

#: Preservative active in the water over its least effective level that counts as enough.
_ENOUGH_COVER = 1.0


def of_edges(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say which stated incompatibilities meet here."""
    found = []
    seen: set[tuple[str, str, str]] = set()
    for met in meetings(profile.batch, profile.system, profile.ph, base):
        if met.edge.verdict == "works" or _worked_out(met, profile, base):
            continue
        pair = tuple(sorted((met.subject, met.object)))
        key = (met.edge.rule, pair[0], pair[1])
        if key in seen:
            continue
        seen.add(key)
        names = " with ".join((label(met.subject, base), label(met.object, base)))
        found.append(
            Finding(
                "problem" if met.edge.verdict == "fails" else "caution",
                met.edge.rule,
                f"{names}: {met.edge.mechanism}",
                lines_of(profile.batch, {met.subject, met.object}),
                base.citation(met.edge.source) if met.edge.source else met.edge.evidence,
            )
        )
    return found


def _worked_out(met: Meeting, profile: Profile, base: Snapshot) -> bool:
    """Leave to the figures what they answer for this formula: enough preservative stays free."""
    if met.edge.rule not in {"binds-preservative", "preservative-inactive", "ph-window"}:
        return False
    kept = any(base.does(m, "antimicrobial") for m in (met.subject, met.object))
    return kept and profile.cover is not None and profile.cover >= _ENOUGH_COVER


def of_levels(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say which levels are outside the usual."""
    found = []
    for item in added_up(profile.batch):
        lines = lines_of(profile.batch, {item.material})
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
                    f"{label(item.material, base)} {item.percent:.3g} % is above its usual "
                    f"{max(highs):g} %.",
                    lines,
                    "common practice",
                )
            )
        elif lows and item.percent < 0.3 * min(lows):
            found.append(
                Finding(
                    "note",
                    "level-low",
                    f"{label(item.material, base)} {item.percent:.3g} % is below its usual "
                    f"{min(lows):g} %.",
                    lines,
                    "common practice",
                )
            )
    return found


def of_cautions(profile: Profile, base: Snapshot) -> list[Finding]:
    """Return the cautions that any product gets."""
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
            "A safety assessor, a preservative challenge test, stability and patch tests come "
            "before anyone else uses it; local law decides.",
        )
    )
    return found
