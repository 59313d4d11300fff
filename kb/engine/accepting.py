"""Stand-ins accepted: the formula they give, lines in their old order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from kb.engine.answers import Swap, SwapResult
from kb.engine.batch import Batch
from kb.engine.opening import Opened
from kb.formula.model import Formula, Line
from kb.own.measured import formula_key
from kb.store.snapshot import Snapshot

#: Digits of a percent that are worth weighing.
_PLACES = 4

#: What is told of an earlier version, beside what was measured of it.
VERSION_KEYS = ("file", "key", "date", "change", "why")


def accepted(
    opened: Opened,
    result: SwapResult,
    chosen: Swap,
    base: Snapshot,
    *,
    because: str = "",
    date: str = "",
) -> Formula:
    """Return the formula with a stand-in in place of the line it was found for.

    A line that was q.s. stays so. The new formula says from which version it comes and why; what
    was measured is told of that version, for the new one has not been made yet.

    Parameters
    ----------
    opened : Opened
        The formula the question was asked of.
    result : SwapResult
        The answer.
    chosen : Swap
        One of its swaps.
    base : Snapshot
    because : str
        What was asked for, such as a policy or a shelf.
    date : str
        Year-month-day, if it is to be told.
    """
    if chosen.others:
        reasons = "; ".join(filter(None, [because, *chosen.why[:1], f"level {chosen.trial.how}"]))
        blend = {result.index: chosen.replacing}
        return adopted(opened, chosen.trial.batch, blend, base, because=reasons, date=date)
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
    what = (
        f"{name} {chosen.trial.percent:.4g} % instead of "
        f"{_name(replaced.material, base)} {replaced.percent:.4g} %"
    )
    why = "; ".join(filter(None, [because, *chosen.why[:1], f"level {chosen.trial.how}"]))
    return next_version(opened, lines, what, why, date)


def next_version(
    opened: Opened, lines: Sequence[Line], what: str, why: str, date: str = ""
) -> Formula:
    """Return a formula of changed lines that says which one it comes from.

    Parameters
    ----------
    opened : Opened
        The formula that was changed.
    lines : sequence of Line
        The lines as they are now.
    what, why : str
        What was changed, and the reason.
    date : str
        Year-month-day, if it is to be told.
    """
    old = opened.formula
    told: dict[str, object] = {
        "file": Path(old.origin).name if old.origin not in {"", "formula"} else old.name,
        "key": key_of(opened)[:12],
        "date": date,
        "change": what,
        "why": why,
    }
    if old.measured:
        told["measured"] = dict(old.measured)
    version = {key: value for key, value in told.items() if value}
    return replace(
        old,
        lines=tuple(lines),
        measured={},
        versions=(*old.versions, version),
        remarks=(),
    )


def key_of(opened: Opened) -> str:
    """Return the key that two formulas share when they hold the same at the same percents."""
    held: dict[str, float] = {}
    total = opened.formula.total
    for line, answer in zip(opened.formula.lines, opened.answers, strict=True):
        name = answer.match.material if answer.match is not None else f"? {line.given.casefold()}"
        held[name] = held.get(name, 0.0) + 100.0 * line.percent / total
    return formula_key(held)


def adopted(
    opened: Opened,
    batch: Batch,
    exchanged: Mapping[int, list[tuple[str, float]]],
    base: Snapshot,
    *,
    because: str = "",
    date: str = "",
) -> Formula:
    """Return the formula with several lines exchanged and all levels moved.

    A second material for a line follows on a line of its own. A line that was q.s. stays so where
    its material does.

    Parameters
    ----------
    opened : Opened
        The formula the question was asked of.
    batch : Batch
        The adapted batch; its first items stand in the places of the old ones.
    exchanged : mapping of int to list of (material, percent)
        What stands now on the place of an item.
    base : Snapshot
    because : str
        What was asked for, such as a policy.
    date : str
        Year-month-day, if it is to be told.
    """
    lines: list[Line] = []
    notes: list[str] = []
    at = {item.line: n for n, item in enumerate(opened.batch.items)}
    for number, old in enumerate(opened.formula.lines, 1):
        place = at.get(number)
        if place is None:
            lines.append(old)
            continue
        if place not in exchanged:
            lines.append(replace(old, percent=round(batch.items[place].percent, _PLACES)))
            continue
        names = [_name(material, base) for material, _ in exchanged[place]]
        for name, (_, percent) in zip(names, exchanged[place], strict=True):
            role = old.role if name == names[0] else ""
            lines.append(
                replace(old, given=name, percent=round(percent, _PLACES), qs=False, role=role)
            )
        was = _name(opened.batch.items[place].material, base)
        notes.append(f"{' and '.join(names)} instead of {was}")
    return next_version(opened, lines, "; ".join(notes), because, date)


def _name(material: str, base: Snapshot) -> str:
    """Return the INCI name where it leads back to this very material, else the id."""
    inci = base.materials[material].inci
    match = base.names.resolve(inci).match
    return inci if match is not None and match.material == material else material
