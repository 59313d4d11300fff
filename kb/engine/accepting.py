"""A stand-in accepted: the formula it gives, lines in their old order."""

from __future__ import annotations

from dataclasses import replace

from kb.engine.answers import Swap, SwapResult
from kb.engine.opening import Opened
from kb.formula.model import Formula
from kb.store.snapshot import Snapshot

#: Digits of a percent that are worth weighing.
_PLACES = 4


def accepted(opened: Opened, result: SwapResult, chosen: Swap, base: Snapshot) -> Formula:
    """Return the formula with a stand-in in place of the line it was found for.

    A line that was q.s. stays so; the note says what was replaced.

    Parameters
    ----------
    opened : Opened
        The formula the question was asked of.
    result : SwapResult
        The answer.
    chosen : Swap
        One of its swaps.
    base : Snapshot
    """
    name = _name(chosen.candidate.material, base)
    replaced = opened.batch.items[result.index]
    lines = list(opened.formula.lines)
    for item in chosen.trial.batch.items:
        old = lines[item.line - 1]
        mine = item.line == replaced.line
        lines[item.line - 1] = replace(
            old,
            given=name if mine else old.given,
            percent=round(item.percent, _PLACES),
            qs=old.qs and not mine,
        )
    note = f"{name} instead of {_name(replaced.material, base)}."
    text = f"{opened.formula.note} {note}".strip()
    return replace(opened.formula, lines=tuple(lines), note=text, remarks=())


def _name(material: str, base: Snapshot) -> str:
    """Return the INCI name where it leads back to this very material, else the id."""
    inci = base.materials[material].inci
    match = base.names.resolve(inci).match
    return inci if match is not None and match.material == material else material
