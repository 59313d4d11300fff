"""A limit falls: whether less of the same material is enough, or another must take its place."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.candidates import score_candidate
from kb.engine.context import Context, Refusal
from kb.engine.exchange import Exchange, balancing_item, put_on_line
from kb.engine.gates import refuse_late
from kb.engine.profile import make_profile

#: Within these shares the consistency counts as kept (what users notice, 20 to 30 %).
_KEPT = (0.7, 1.4)
#: Below this share of its level a material does not do the same work any more.
_LEAST_SHARE = 0.7


@dataclass(frozen=True, slots=True)
class Lowered:
    """The line with no more of its material than allowed.

    ``needless`` says that it was within the limit already, ``enough`` that the formula still does
    its work, ``reason`` why not.
    """

    percent: float
    needless: bool
    enough: bool
    reason: str


def lowered(c: Context, most: float) -> Lowered:
    """Put a line at the most that is allowed and see whether the formula holds.

    Parameters
    ----------
    c : Context
    most : float
        Percent of the formula allowed of the material, all its lines together.
    """
    batch, base = c.before.batch, c.base
    item = batch.items[c.index]
    whole = batch.holds(item.material)
    percent = item.percent * min(1.0, most / whole) if whole > 0 else 0.0
    if whole <= most:
        return Lowered(item.percent, True, True, "")
    if item.locked or item.active:
        word = "locked" if item.locked else "a declared active"
        return Lowered(percent, False, False, f"the line is {word}")
    if percent < _LEAST_SHARE * item.percent:
        share = 100.0 * percent / item.percent
        return Lowered(percent, False, False, f"only {share:.0f} % of it would be left")
    balance = balancing_item(c.before, c.index, item.material, base)
    changed = put_on_line(batch, c.index, item.material, percent, balance)
    after = make_profile(changed, base)
    itself = score_candidate(item.material, item.material, c.here, base, c.before.ph)
    trial = Exchange(changed, percent, "at the new limit", balance, percent - item.percent)
    refusal: Refusal | None = refuse_late(itself, trial, after, c)
    if refusal is not None:
        return Lowered(percent, False, False, refusal.reason)
    had, got = c.before.value("consistency_25c"), after.value("consistency_25c")
    if had and got and not _KEPT[0] <= got / had <= _KEPT[1]:
        return Lowered(percent, False, False, f"the consistency would be {got / had:.2g} times")
    plays = [p for p in base.plays(item.material) if p.role == c.leading and p.low is not None]
    least = min((p.low for p in plays if p.low is not None), default=0.0)
    if percent < least <= item.percent:
        return Lowered(
            percent, False, False, f"as {base.roles[c.leading].label} it works from {least:g} %"
        )
    return Lowered(percent, False, True, "")
