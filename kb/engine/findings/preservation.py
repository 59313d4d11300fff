"""Water without enough that keeps it."""

from __future__ import annotations

from kb.engine.batch import is_water
from kb.engine.findings.finding import Finding, label, lines_of
from kb.engine.profile import Profile
from kb.store.snapshot import Snapshot

_WATER_NEEDS_PRESERVATIVE = 5.0


def of_preservation(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say when water is not kept, or not enough."""
    phases = profile.phases
    free_water = sum(s.percent for s in phases.water if is_water(s.material, base))
    found: list[Finding] = []
    if free_water < _WATER_NEEDS_PRESERVATIVE:
        return found
    activity = profile.value("water_activity")
    low_activity = activity is not None and activity < 0.75
    real = [a for a in profile.agents if base.does(a.material, "preservative") >= 0.3]
    lines = lines_of(profile.batch, {a.material for a in profile.agents})
    if not real and not low_activity:
        boosters = [a for a in profile.agents if base.does(a.material, "preservative-booster")]
        if boosters:
            names = ", ".join(label(a.material, base) for a in boosters)
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
        names = ", ".join(label(a.material, base) for a in weak)
        share = max(float(a.undissociated[0]) for a in weak)
        alone = len(weak) == len(real)
        found.append(
            Finding(
                "problem" if alone else "caution",
                "ph-window",
                f"At pH {profile.ph:.2g} ({profile.ph_reason}) only {100 * share:.2g} % of {names} "
                "is undissociated: it does next to nothing.",
                lines_of(profile.batch, {a.material for a in weak}),
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
                f"Little preservative stays free in the water: {label(worst.material, base)} "
                f"{worst.percent:.3g} % in the formula is {float(worst.active[0]):.2g} % active in "
                f"the water; together {100 * cover:.0f} % of the least effective level.",
                lines,
                "partition, dissociation and binding",
            )
        )
    return found
