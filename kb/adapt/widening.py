"""Look at no more materials than the proof needs: few at first, more where one could be better."""

from __future__ import annotations

import math
import time
from dataclasses import replace

from kb.adapt.frame import Frame
from kb.adapt.layout import Layout, lay
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
    best: Search | None = None
    while True:
        layout = lay(frame, off)
        # What was found before is beaten or stays; several answers are looked for anew.
        known = _worst(best, 1) if top == 1 and best is not None else math.inf
        found = search(
            layout,
            top=top,
            seconds=until - time.monotonic(),
            any_will_do=any_will_do,
            cutoff=known,
            tell=tell,
        )
        if best is None or found.found or best.status == "infeasible":
            best = found
        if any_will_do and best.found:
            return best
        late = outside(layout)
        worst = _worst(best, top)
        short = [n for n, bound in enumerate(late) if bound < worst - TOLERANCE]
        stopped = found.status == "time_limit" or time.monotonic() >= until
        if stopped or not short:
            least = min(late, default=math.inf)
            if stopped and found is not best:
                # The wider look was not finished: all that is known is the bound of the first.
                least = min(least, best.layout_bound)
            if best.found and (found.status == "time_limit" or short):
                best.status = "time_limit"
            return _bounded(best, least)
        best.layout_bound = min(late)
        for n in short:
            slot = layout.slots[n]
            slot.fill(_WIDER * max(len(slot.choices), 1))


def _worst(found: Search, top: int) -> float:
    """Return the value that an answer not seen yet has to beat."""
    if len(found.found) < top:
        return math.inf
    return max(s.value for s, _ in found.found)


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
        (settled, replace(proof, bound=float(min(proof.bound, bound))))
        for settled, proof in found.found
    ]
    return found
