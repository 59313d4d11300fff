"""Choices that cannot stand together: stated failures between materials of different lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from kb.adapt.problem import Clash
from kb.adapt.slots import Choice
from kb.store.records import Edge
from kb.store.snapshot import Snapshot

#: What depends on the free level or the law is worked out for the whole, not looked up.
WORKED_OUT = frozenset({"ph-window", "preservative-inactive", "legal-limit"})


def find_clashes(
    choices: Sequence[Choice],
    base: Snapshot,
    system: str | None,
    ph: float | None,
    off: frozenset[str],
) -> list[Clash]:
    """Return every stated failure between two choices at their lowest levels, but of rules ``off``.

    What depends on a level either may be below is left to the full model.
    """
    holders: dict[str, list[int]] = defaultdict(list)
    for n, choice in enumerate(choices):
        for handle in base.handles(choice.material):
            holders[handle].append(n)
    low = np.array([c.levels.low for c in choices], dtype=np.float64)
    found = []
    for edge in base.edges_among(holders):
        if edge.verdict != "fails" or edge.rule in WORKED_OUT or edge.rule in off:
            continue
        if (
            edge.subject not in holders
            or edge.object not in holders
            or not _holds(edge, system, ph)
        ):
            continue
        first = np.array(holders[edge.subject], dtype=np.intp)
        second = np.array(holders[edge.object], dtype=np.intp)
        first = first[low[first] >= edge.subject_min]
        second = second[low[second] >= edge.object_min]
        if len(first) and len(second):
            found.append(Clash(edge.rule, first, second))
    return found


def _holds(edge: Edge, system: str | None, ph: float | None) -> bool:
    if edge.system and edge.system != system:
        return False
    windowed = edge.ph_low > 0.0 or edge.ph_high < 14.0
    return not windowed or (ph is not None and edge.ph_low <= ph <= edge.ph_high)
