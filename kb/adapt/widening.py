"""Look at no more materials than the proof needs: few at first, more where one could be better."""

from __future__ import annotations

import math
import time
from dataclasses import replace

from kb.adapt.frame import Frame, Layout
from kb.adapt.proof import TOLERANCE, Progress, Search, search

#: Each look at a slot takes in this many times the choices of the one before.
_WIDER = 3


def find(
    frame: Frame,
    off: frozenset[str] = frozenset(),
    *,
    top: int = 1,
    seconds: float = math.inf,
    any_will_do: bool = False,
    tell: Progress | None = None,
) -> Search:
    """Search a frame, with some rules left out, over every material of the base.

    Only the best choices of each slot are made at first. The others cost at least what their score
    says; where even so one of them could belong to a better answer, more are made and the search
    is done again.

    Parameters
    ----------
    frame : Frame
    off : frozenset of str
        Rules left out.
    top, seconds, any_will_do, tell
        As in ``search``.
    """
    until = time.monotonic() + seconds
    while True:
        layout = frame.lay(off)
        found = search(
            layout,
            top=top,
            seconds=until - time.monotonic(),
            any_will_do=any_will_do,
            tell=tell,
        )
        if found.status == "solved" and any_will_do:
            return found
        worst = max((s.value for s, _ in found.found), default=math.inf)
        if found.status == "solved" and len(found.found) < top:
            worst = math.inf
        late = outside(layout)
        short = [n for n, bound in enumerate(late) if bound < worst - TOLERANCE]
        if not short or found.status == "time_limit" or time.monotonic() >= until:
            return _bounded(found, min(late, default=math.inf))
        for n in short:
            slot = layout.slots[n]
            slot.fill(_WIDER * max(len(slot.choices), 1))


def outside(layout: Layout) -> list[float]:
    """Return for each slot the least an answer can cost that takes a choice not made yet."""
    least = [math.inf] * len(layout.slots)
    for number, choice in layout.columns:
        least[number] = min(least[number], choice.cost)
    floors = [slot.floor for slot in layout.slots]
    each = [
        0.0 if slot.second else min(cost, floor)
        for slot, cost, floor in zip(layout.slots, least, floors, strict=True)
    ]
    whole = sum(each)
    return [whole - own + floor for own, floor in zip(each, floors, strict=True)]


def _bounded(found: Search, bound: float) -> Search:
    """Hold the bound of each proof down to what an unseen choice could bring."""
    found.found = [
        (settled, replace(proof, bound=min(proof.bound, bound))) for settled, proof in found.found
    ]
    return found
