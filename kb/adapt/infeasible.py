"""Why there is no answer: rules that cannot hold together, and the cheapest way out."""

from __future__ import annotations

import math
import time

from kb.adapt.answers import ClosedBy
from kb.adapt.frame import Frame
from kb.adapt.fullmodel import Settled
from kb.adapt.proof import Search
from kb.adapt.widening import find
from kb.adapt.windows import measures
from kb.adapt.wish import RULE_TEXT, rule_id

#: Rules that the asker chose; they are tried last, so that the answer speaks of them.
_CHOSEN = ("shelf", "max-changes", "cost-cap", "forbid", "locked", "keep", "policy")
#: Longest look at one subset of the rules, s.
_ONE_LOOK = 6.0


class _Oracle:
    """Tells whether there is any answer with some rules left out; remembers."""

    def __init__(self, frame: Frame, until: float) -> None:
        self.frame, self.until = frame, until
        self.sure = True
        self.reasons: dict[str, str] = {}
        self._known: dict[frozenset[str], bool] = {}

    def opens(self, off: frozenset[str]) -> bool:
        """Return whether anything at all holds without these rules."""
        if off not in self._known:
            self._known[off] = self._look(off)
        return self._known[off]

    def _look(self, off: frozenset[str]) -> bool:
        if self.frame.going(off)[1]:
            return False
        if not self.frame.going(off)[0]:
            return True
        left = min(_ONE_LOOK, self.until - time.monotonic())
        if left <= 0.0:
            self.sure = False
            return False
        found = find(self.frame, off, any_will_do=True, seconds=left)
        for rule, reason in found.refused.items():
            self.reasons.setdefault(rule, reason)
        if found.status == "time_limit":
            self.sure = False
        return found.status == "solved"


def explain(frame: Frame, seconds: float) -> tuple[list[ClosedBy], bool]:
    """Return an irreducible set of rules that cannot hold together, and whether that is sure.

    Parameters
    ----------
    frame : Frame
        A question without an answer.
    seconds : float
        Time limit.

    Notes
    -----
    A deletion filter: rules are left out in ever smaller groups, and stay out as long as there is
    still no answer. What is left cannot be made smaller. Each rule is then left out alone, with
    all others in force; the one whose best answer is nearest is the cheapest way out.
    """
    frame.widen()
    oracle = _Oracle(frame, time.monotonic() + seconds)
    torn = frame.going(frozenset())[1]
    every = frame.rules()
    left = list(dict.fromkeys(torn)) if torn else _shrink(every, oracle)
    if torn:
        left = _shrink(left, oracle, rest=frozenset(every) - frozenset(left))
    found = []
    for key in left:
        found.append(_way_out(key, frame, oracle, seconds=min(_ONE_LOOK, seconds)))
    found.sort(key=lambda c: (c.distance is None, c.distance or 0.0, c.key))
    return found, oracle.sure


def _shrink(keys: list[str], oracle: _Oracle, rest: frozenset[str] = frozenset()) -> list[str]:
    """Leave out rules in ever smaller groups while there is still no answer."""
    order = {rule: n for n, rule in enumerate(_CHOSEN)}
    kept = sorted(keys, key=lambda k: (order.get(rule_id(k), -1), k))
    every = rest | frozenset(kept)
    size = max(1, len(kept) // 2)
    while kept:
        at = 0
        while at < len(kept):
            trial = kept[:at] + kept[at + size :]
            if oracle.opens(every - frozenset(trial)):
                at += size
            else:
                kept = trial
        if size == 1:
            break
        size //= 2
    return kept


def _way_out(key: str, frame: Frame, oracle: _Oracle, seconds: float) -> ClosedBy:
    """Tell what happens without one rule, all others in force."""
    rule, _, line = key.partition("/")
    text = frame.verdicts.reasons.get(key) or _text(rule, frame, oracle)
    number = int(line) if line else None
    off = frozenset({key})
    if not oracle.opens(off):
        return ClosedBy(key, rule, number, text, False)
    if not frame.going(off)[0]:
        return ClosedBy(key, rule, number, text, True, "nothing needs to change then", 0.0)
    found = find(frame, off, seconds=seconds)
    if not found.found:
        return ClosedBy(key, rule, number, text, True)
    best, _ = found.found[0]
    return ClosedBy(key, rule, number, text, True, _instead(rule, found, best, frame), best.value)


def _text(rule: str, frame: Frame, oracle: _Oracle) -> str:
    barred = [
        (choice.material, choice.barred[rule])
        for index in frame.verdicts.go
        for choice in frame.slot(index).choices
        if rule in choice.barred
    ]
    if barred:
        names = [frame.base.materials[m].inci for m, _ in barred[:3]]
        said = RULE_TEXT.get(rule, barred[0][1])
        return f"{said} ({len(barred)} stand-ins fall to it, such as {', '.join(names)})"
    said = RULE_TEXT.get(rule, "")
    reason = oracle.reasons.get(rule, "")
    if rule == "max-changes":
        said = f"at most {frame.wish.max_changes} new materials"
    elif rule == "cost-cap":
        said = f"at most {frame.wish.cost_cap:g} per kg of formula"
    return "; ".join(x for x in (said, reason) if x) or rule


def _instead(rule: str, found: Search, best: Settled, frame: Frame) -> str:
    """Say in one line what the answer without a rule would be, and by how much it breaks it."""
    layout = found.layout
    parts: list[str] = []
    for place, level in zip(best.places, best.levels, strict=True):
        slot, choice = layout.columns[int(place)]
        old = frame.before.batch.items[layout.slots[slot].index].material
        new = frame.base.materials[choice.material].inci
        parts.append(f"{new} {level:.3g} % for {frame.base.materials[old].inci}")
    missed = []
    now = measures(best.after)
    for window in frame.windows:
        over = window.excess(now[window.measure])
        if window.rule == rule and over > 1e-4 and math.isfinite(over):
            had = measures(frame.before)[window.measure]
            missed.append(f"{window.measure} {math.exp(now[window.measure] - had):.2g} times")
    tail = f" (then {', '.join(missed)} the old one)" if missed else ""
    return "; ".join(parts) + tail
