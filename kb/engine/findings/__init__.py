"""What is wrong, risky or worth knowing about a formula, each with its rule and lines."""

from __future__ import annotations

from kb.engine.findings.company import of_cautions, of_edges, of_levels
from kb.engine.findings.finding import LEVELS, Finding
from kb.engine.findings.law import of_limits
from kb.engine.findings.making import of_finished_ph, of_powders, of_soap, of_stages
from kb.engine.findings.preservation import of_preservation
from kb.engine.findings.reading import of_reading
from kb.engine.findings.structure import (
    of_butters,
    of_emulsifier,
    of_polymers,
    of_salt,
    of_type,
)
from kb.engine.profile import Profile
from kb.formula.model import Formula
from kb.formula.names import Resolution
from kb.store.snapshot import Snapshot

__all__ = ["LEVELS", "Finding", "find_all", "judge"]

_RULES = (
    of_type,
    of_emulsifier,
    of_salt,
    of_polymers,
    of_butters,
    of_preservation,
    of_soap,
    of_stages,
    of_powders,
    of_finished_ph,
    of_edges,
    of_limits,
    of_levels,
    of_cautions,
)


def find_all(
    formula: Formula, answers: list[Resolution], profile: Profile, base: Snapshot
) -> list[Finding]:
    """Return every finding, worst first."""
    found = of_reading(formula, answers) + judge(profile, base)
    order = {level: n for n, level in enumerate(LEVELS)}
    unique = list(dict.fromkeys(found))
    return sorted(
        unique, key=lambda f: (order[f.level], f.rule == "before-use", f.rule, f.lines, f.message)
    )


def judge(profile: Profile, base: Snapshot) -> list[Finding]:
    """Return the findings that follow from the batch alone."""
    return [found for rule in _RULES for found in rule(profile, base)]
