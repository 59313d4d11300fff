"""What a batch has to pass before it is used: tests with day, limit and stop rule, cheap first."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.profile import Profile
from kb.store.snapshot import Snapshot

#: Water in which most moulds no longer grow; nothing to challenge below it.
_DRY = 0.75
#: Change of consistency within which two readings of one product lie, %.
_DRIFT_PERCENT = 30.0


@dataclass(frozen=True, slots=True)
class Test:
    """One line of the trial card: when, what, the limit, and what a miss means."""

    when: str
    what: str
    limit: str
    stop: str


def trial_of(profile: Profile, base: Snapshot) -> list[Test]:
    """Return the trial card of a formula as it is, by what it holds and what kind it is.

    Parameters
    ----------
    profile : Profile
    base : Snapshot
    """
    system, phases = profile.system, profile.phases
    emulsion = system in {"w/o", "o/w"}
    found = []
    if emulsion:
        found.append(
            Test(
                "Day 1",
                "centrifuge 3,000 rpm, 30 min",
                "no free oil or water",
                "stop if more than a trace",
            )
        )
    if system != "powder":
        found.append(
            Test(
                "Day 1, 7, 28",
                "consistency, one spindle and speed, 25 degC",
                f"within {_DRIFT_PERCENT:.0f} % of day 1",
                "find the cause before the next batch",
            )
        )
    if system in {"o/w", "water gel"}:
        found.append(Test("Day 1, 28", "pH", "within 0.3 of day 1", "find the cause"))
    if emulsion or phases.oil:
        found.append(
            Test(
                "Week 1",
                "five cycles -5/40 degC",
                "no oil or water on top, no grains",
                "stop when it parts",
            )
        )
    if phases.powder and system != "powder":
        found.append(
            Test("Week 4", "stand at 40 degC", "no sediment", "stop if it does not stir in again")
        )
    index = profile.value("oxidation")
    if phases.oil and index is not None and index > 0.0:
        found.append(
            Test(
                "Week 4 and 12",
                "smell and peroxide value at 40 degC",
                "as a jar kept cold",
                "stop at a rancid smell",
            )
        )
    water = profile.value("water_activity")
    if phases.water_mass > 0.5 and (water is None or water > _DRY):
        found.append(
            Test(
                "Day 28", "preservative challenge test at a laboratory", "passes", "no sale if not"
            )
        )
    found.append(
        Test(
            "Weeks 4, 8, 12",
            "keep at 4, 25, 40 degC; look, smell, weigh",
            "as on day 1",
            "stop when it parts",
        )
    )
    if any(base.does(share.material, "uv-filter") >= 0.5 for share in phases.powder + phases.oil):
        found.append(
            Test(
                "Before any claim",
                "UV protection at a laboratory",
                "as claimed",
                "no word on UV without it",
            )
        )
    return found
