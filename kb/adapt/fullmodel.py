"""The full model of a combination: its levels settled in the windows, and its refusals."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from kb.adapt.clashes import WORKED_OUT
from kb.adapt.layout import Layout
from kb.adapt.problem import Floats, Ints, Problem, Row
from kb.adapt.solving import solve
from kb.adapt.windows import measures, measures_of
from kb.engine.batch import Batch, Item
from kb.engine.edges import Meeting, meetings
from kb.engine.exchange import Exchange
from kb.engine.findings import judge
from kb.engine.gates import late_refusals
from kb.engine.profile import Profile, holding_of, make_profile
from kb.engine.sampling import Sampler

#: Rounds of linearising the full model, and how far a level may move in one, as a factor.
_ROUNDS, _TRUST = 12, 1.4
#: A window is met within this much of a logarithm; levels aim this far inside it.
_MET, _INSIDE = 1e-4, 5e-4
_SETTLED = 1e-6
#: Findings that an adaptation must not bring, beside all problems.
_NOT_BROUGHT = frozenset({"water-capacity", "emulsifier-low", "emulsifier-missing"})
#: Share of a level by which it is moved to see what follows, and the least move, %.
_STEP, _LEAST_STEP = 0.02, 0.005


@dataclass(slots=True)
class Settled:
    """A combination with its levels; ``refused`` maps rules to reasons, empty if it holds.

    ``alone`` are the places of choices that are refused whatever stands beside them.
    """

    places: Ints
    levels: Floats
    kept: Floats
    value: float
    after: Profile
    batch: Batch
    refused: dict[str, str]
    alone: tuple[int, ...] = ()

    @property
    def holds(self) -> bool:
        """True when nothing speaks against it."""
        return not self.refused


@dataclass(slots=True)
class FullModel:
    """The full model of one layout; counts how often it was asked."""

    layout: Layout
    exact: Problem
    asked: int = 0
    _old_rules: frozenset[str] | None = None
    _draw: Sampler | None = None

    def batch(self, places: Ints, levels: Floats, kept: Floats) -> Batch:
        """Return the batch of a combination; helpers stand behind all lines."""
        layout = self.layout
        before = layout.frame.before.batch
        items = list(before.items)
        for n, k in enumerate(layout.kept):
            items[k] = items[k].at(float(kept[n]))
        helpers: list[Item] = []
        for place, level in zip(places, levels, strict=True):
            number, choice = layout.columns[int(place)]
            slot = layout.slots[number]
            item = before.items[slot.index].of(choice.material, float(level))
            if slot.second:
                helpers.append(replace(item, role=""))
            else:
                items[slot.index] = item
        return before.with_items([*items, *helpers])

    def look(self, places: Ints, levels: Floats, kept: Floats) -> dict[str, float]:
        """Return what the windows look at, of a combination."""
        self.asked += 1
        base = self.layout.frame.base
        if self._draw is None:
            self._draw = Sampler(base, 0)
        return measures_of(holding_of(self.batch(places, levels, kept), base, self._draw))

    def settle(self, places: Ints, levels: Floats, kept: Floats) -> Settled:
        """Find the levels nearest to the best ones at which the full model keeps every window.

        From the levels given the full model is made linear, the nearest levels within its windows
        are solved, and so on until nothing moves.
        """
        windows = [w for w in self.layout.frame.windows if w.rule not in self.layout.off]
        best: tuple[Floats, Floats, float] | None = None
        now = self.look(places, levels, kept)
        for _ in range(_ROUNDS):
            missed = {w.rule: w for w in windows if w.excess(now[w.measure]) > _MET}
            value = self.exact.cost_of(places, levels, kept)
            if not missed and (best is None or value < best[2] - _SETTLED):
                best = (levels, kept, value)
            elif best is not None:
                break
            if not missed and self._is_best(places, levels, kept):
                break
            moved = self._nearer(places, levels, kept, now)
            if moved is None:
                break
            still = max(
                float(np.abs(moved[0] - levels).max(initial=0.0)),
                float(np.abs(moved[1] - kept).max(initial=0.0)),
            )
            levels, kept = moved
            if still < 1e-7:
                break
            now = self.look(places, levels, kept)
        if best is None:
            refused = {
                w.rule: _missed(w.rule, w.measure, math.exp(now[w.measure] - self._had(w.measure)))
                for w in windows
                if w.excess(now[w.measure]) > _MET
            } or {"total": "no levels of these materials fit together"}
            return self._settled(places, levels, kept, refused)
        found = self._settled(places, best[0], best[1], {})
        found.refused, found.alone = self._refusals(found)
        return found

    def _settled(
        self, places: Ints, levels: Floats, kept: Floats, refused: dict[str, str]
    ) -> Settled:
        value = self.exact.cost_of(places, levels, kept)
        batch = self.batch(places, levels, kept)
        after = make_profile(batch, self.layout.frame.base)
        return Settled(places, levels, kept, value, after, batch, refused)

    def _had(self, measure: str) -> float:
        return measures(self.layout.frame.before)[measure]

    def _is_best(self, places: Ints, levels: Floats, kept: Floats) -> bool:
        """Tell whether these levels are the best the exact rows alone allow."""
        found, _ = solve(self._alone(places), whole=False)
        return found.value >= self.exact.cost_of(places, levels, kept) - _SETTLED

    def _alone(self, places: Ints, rows: tuple[Row, ...] = ()) -> Problem:
        """Return the problem of the levels of one combination."""
        one = replace(self.exact, cuts=(), clashes=()).take(places)
        slot = np.arange(len(places), dtype=np.intp)
        return replace(
            one,
            choices=replace(one.choices, slot=slot),
            optional=np.zeros(len(places), dtype=np.bool_),
            rows=(*one.rows, *rows),
        )

    def _nearer(
        self, places: Ints, levels: Floats, kept: Floats, now: dict[str, float]
    ) -> tuple[Floats, Floats] | None:
        """Return better levels by the full model made linear at these, or none."""
        n, k = len(places), len(kept)
        slopes = self._slopes(places, levels, kept, now)
        best = self.exact.choices.best[places]
        rows: list[Row] = []
        for window in self.layout.frame.windows:
            if window.rule in self.layout.off or now[window.measure] != now[window.measure]:
                continue
            each = slopes[window.measure]
            here = now[window.measure] - float(each[:n] @ levels) - float(each[n:] @ kept)
            rows.append(
                Row(
                    window.rule,
                    each[:n] * best,
                    each[:n],
                    each[:n],
                    each[n:],
                    window.low + _INSIDE - here,
                    window.high - _INSIDE - here,
                )
            )
        one = self._alone(places, (*rows, *_trust(levels, best, kept)))
        found, _ = solve(one)
        if found.status != "optimal":
            return None
        full = np.zeros(n)
        full[found.places] = found.levels
        return (full, found.kept) if len(found.places) == n and k == len(found.kept) else None

    def _slopes(
        self, places: Ints, levels: Floats, kept: Floats, now: dict[str, float]
    ) -> dict[str, Floats]:
        n = len(levels)
        both = np.concatenate((levels, kept))
        movable = np.concatenate(
            (np.ones(n, dtype=bool), self.exact.kept.high > self.exact.kept.low)
        )
        slopes = {name: np.zeros(len(both)) for name in now}
        for place in np.flatnonzero(movable):
            step = max(_STEP * both[place], _LEAST_STEP)
            moved = both.copy()
            moved[place] += step
            there = self.look(places, moved[:n], moved[n:])
            for name, value in there.items():
                slope = (value - now[name]) / step
                slopes[name][place] = slope if math.isfinite(slope) else 0.0
        return slopes

    def _refusals(self, found: Settled) -> tuple[dict[str, str], tuple[int, ...]]:
        """Return what the full model refuses a settled combination for."""
        layout, frame = self.layout, self.layout.frame
        refused: dict[str, str] = {}
        alone: list[int] = []
        for place, level in zip(found.places, found.levels, strict=True):
            number, choice = layout.columns[int(place)]
            slot = layout.slots[number]
            if slot.second:
                continue
            item = frame.before.batch.items[slot.index]
            trial = Exchange(found.batch, float(level), "", None, float(level) - item.percent)
            for refusal in late_refusals(choice.candidate, trial, found.after, slot.context):
                if refusal.rule not in layout.off:
                    refused[refusal.rule] = refusal.reason
                    if refusal.rule in {"oxidation", "level-too-high"}:
                        alone.append(int(place))
        old = {(m.edge.rule, m.subject, m.object) for m in self._failing(frame.before)}
        for met in self._failing(found.after):
            if (met.edge.rule, met.subject, met.object) not in old:
                names = [frame.base.materials[m].inci for m in (met.subject, met.object)]
                refused[met.edge.rule] = f"{' with '.join(names)}: {met.edge.mechanism}"
        if refused:
            return refused, tuple(alone)
        for finding in judge(found.after, frame.base):
            heavy = finding.level == "problem" or finding.rule in _NOT_BROUGHT
            if heavy and finding.rule not in self._old() and finding.rule not in layout.off:
                refused[finding.rule] = finding.message
        return refused, ()

    def _failing(self, profile: Profile) -> list[Meeting]:
        base = self.layout.frame.base
        return [
            m
            for m in meetings(profile.batch, profile.system, profile.ph, base)
            if m.edge.verdict == "fails"
            and m.edge.rule not in WORKED_OUT
            and m.edge.rule not in self.layout.off
        ]

    def _old(self) -> frozenset[str]:
        if self._old_rules is None:
            found = judge(self.layout.frame.before, self.layout.frame.base)
            self._old_rules = frozenset(
                f.rule for f in found if f.level == "problem" or f.rule in _NOT_BROUGHT
            )
        return self._old_rules


def _trust(levels: Floats, best: Floats, kept: Floats) -> list[Row]:
    """Return rows that keep each level near where the full model was made linear."""
    n, k = len(levels), len(kept)
    rows = []
    for place in range(n):
        each = np.zeros(n)
        each[place] = 1.0
        level = max(float(levels[place]), _LEAST_STEP)
        rows.append(
            Row("trust", each * best, each, each, np.zeros(k), level / _TRUST, level * _TRUST)
        )
    for place in range(k):
        one = np.zeros(k)
        one[place] = 1.0
        level = float(kept[place])
        none = np.zeros(n)
        rows.append(Row("trust", none, none, none, one, level / _TRUST, level * _TRUST))
    return rows


_WORDS = {
    "consistency": "the consistency at 25 degC would be {x:.2g} times the old one",
    "drift": "10 to 40 degC would swing {x:.2g} times as much",
    "hot": "at 40 degC {x:.2g} of the old yield would be left",
    "binding": "{x:.2g} of the old oil binding would be left",
    "cover": "the free preservative would cover {x:.2g} of what it did",
}


def _missed(rule: str, measure: str, ratio: float) -> str:
    return _WORDS[measure].format(x=ratio) if ratio == ratio else f"{rule} cannot be told"
