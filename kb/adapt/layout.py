"""What the columns of a problem stand for, and its exact rows: phases, emulsifiers, law, wishes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from kb.adapt.anatomy import Anatomy, anatomy_of, bring
from kb.adapt.clashes import find_clashes
from kb.adapt.frame import Frame
from kb.adapt.levels import AT_25
from kb.adapt.problem import Choices, Clash, Kept, Problem, Row
from kb.adapt.slots import Choice, Slot
from kb.adapt.wish import Wish
from kb.engine.batch import Item
from kb.engine.exchange import bounds
from kb.engine.profile import HLB_NULL_SHARE
from kb.engine.roles import roles_here

#: How far the inner phase may move (volume share), and powder by volume (of itself).
PHASE_SHIFT, POWDER_SHIFT = 0.004, 0.08
#: Emulsifier per inner phase, seldom less (common practice), and how far a blend HLB may move.
LEAST_EMULSIFIER = {"w/o": 0.02, "o/w": 0.05}
HLB_SHIFT = 1.5
#: Where there was less emulsifier than usual, this share of it must be left.
_STILL_ENOUGH = 0.8
#: How far lines that stay may move, as factors, and what all of a line's level costs to move.
_MOVE, _MOVE_BULK, _MOVE_KEEPER = (0.85, 1.15), (0.4, 1.6), (0.95, 1.5)
_COST_TO_MOVE, _COST_TO_MOVE_BULK = 1.0, 0.05


@dataclass(slots=True)
class Layout:
    """What the columns of a problem stand for, and the rows that are exact."""

    frame: Frame
    slots: list[Slot]
    columns: list[tuple[int, Choice]]
    kept: list[int]
    off: frozenset[str]
    _anatomies: tuple[list[Anatomy], list[Anatomy]] | None = None

    def problem(self) -> Problem:
        """Return the linear problem with its exact rows; windows are added by calibration."""
        choices = self._choices()
        kept = self._kept()
        rows = [*self._phase_rows(choices), *self._shared_rows(choices), *self._wish_rows(choices)]
        items = self.frame.before.batch.items
        total = sum(i.percent for i in items)
        optional = np.array([slot.second for slot in self.slots], dtype=np.bool_)
        clashes = self._clashes() if "clashes" not in self.off else ()
        return Problem(choices, optional, kept, tuple(rows), tuple(clashes), (), total)

    def _clashes(self) -> list[Clash]:
        frame = self.frame
        choices = [choice for _, choice in self.columns]
        return find_clashes(choices, frame.base, frame.before.system, frame.before.ph, self.off)

    def item(self, column: int) -> Item:
        """Return the line as it was that a column stands for."""
        slot, _ = self.columns[column]
        return self.frame.before.batch.items[self.slots[slot].index]

    def anatomies(self) -> tuple[list[Anatomy], list[Anatomy]]:
        """Return the anatomy of every choice and every kept line."""
        if self._anatomies is None:
            base, items = self.frame.base, self.frame.before.batch.items
            self._anatomies = (
                [
                    anatomy_of(c.material, self.item(n).stage, base)
                    for n, (_, c) in enumerate(self.columns)
                ],
                [anatomy_of(items[k].material, items[k].stage, base) for k in self.kept],
            )
        return self._anatomies

    def _choices(self) -> Choices:
        columns = self.columns

        def floats(values: Iterable[float]) -> np.ndarray:
            return np.array(list(values), dtype=np.float64)

        return Choices(
            np.array([s for s, _ in columns], dtype=np.intp),
            floats(c.levels.low for _, c in columns),
            floats(c.levels.best for _, c in columns),
            floats(c.levels.high for _, c in columns),
            floats(c.cost for _, c in columns),
            floats(c.rate for _, c in columns),
        )

    def _kept(self) -> Kept:
        frame = self.frame
        items = frame.before.batch.items
        level = np.array([items[k].percent for k in self.kept], dtype=np.float64)
        low, high, rate = level.copy(), level.copy(), np.zeros(len(level))
        for n, k in enumerate(self.kept):
            item = items[k]
            bulk = k in frame.bulk
            rate[n] = (_COST_TO_MOVE_BULK if bulk else _COST_TO_MOVE) / max(item.percent, 1e-6)
            if frame.fixed(k):
                continue
            less, more = _MOVE_BULK if bulk else _MOVE
            if frame.base.does(item.material, "antimicrobial") and not bulk:
                less, more = _MOVE_KEEPER
            here = roles_here(item, frame.before, frame.base)
            usual = bounds(item.material, here, item.percent, frame.base)
            low[n] = less * item.percent
            high[n] = max(item.percent, min(more * item.percent, usual[1]))
        return Kept(level, low, high, rate)

    def row(self, rule: str, each: np.ndarray, kept: np.ndarray, low: float, high: float) -> Row:
        """Return a row of what every percent brings alike."""
        best = np.array([c.levels.best for _, c in self.columns], dtype=np.float64)
        return Row(rule, each * best, each, each, kept, low, high)

    def _phase_rows(self, choices: Choices) -> list[Row]:
        frame, found = self.frame, []
        before, system = frame.before, frame.before.system
        mine, stay = self.anatomies()
        volume = {p: (bring(mine, "volume", p), bring(stay, "volume", p)) for p in _PHASES}
        whole = tuple(sum(volume[p][n] for p in _PHASES) for n in (0, 1))
        emulsion = system in {"w/o", "o/w"}
        inner = "water" if system == "w/o" else "oil"
        share = before.value("dispersed_fraction")
        if emulsion and share is not None and "phase-ratio" not in self.off:
            for sign, end in ((1.0, share - PHASE_SHIFT), (-1.0, share + PHASE_SHIFT)):
                parts = [sign * (volume[inner][n] - end * whole[n]) for n in (0, 1)]
                found.append(self.row("phase-ratio", parts[0], parts[1], 0.0, math.inf))
        powder = before.value("powder_volume")
        if powder is not None and "powder-volume" not in self.off:
            for sign, end in ((1.0, 1.0 - POWDER_SHIFT), (-1.0, 1.0 + POWDER_SHIFT)):
                wanted = end * powder / 100.0
                parts = [sign * (volume["powder"][n] - wanted * whole[n]) for n in (0, 1)]
                found.append(self.row("powder-volume", parts[0], parts[1], 0.0, math.inf))
        if emulsion:
            found += self._emulsifier_rows(inner, str(system))
        return found

    def _emulsifier_rows(self, inner: str, system: str) -> list[Row]:
        before, found = self.frame.before, []
        mine, stay = self.anatomies()
        held = sum(e.percent for e in before.emulsifiers if e.water_loving == (system == "o/w"))
        mass = before.phases.water_mass if system == "w/o" else before.phases.oil_mass
        had = held / mass if mass > 0 else 0.0
        least = LEAST_EMULSIFIER[system]
        if had < least:
            least = _STILL_ENOUGH * had
        if least > 0.0 and before.species.soap is None and "emulsifier-level" not in self.off:
            parts = [
                bring(group, "right", system) - least * bring(group, "mass", inner)
                for group in (mine, stay)
            ]
            found.append(self.row("emulsifier-level", parts[0], parts[1], 0.0, math.inf))
        hlb = before.value("hlb")
        nulls = sum(e.percent for e in before.emulsifiers if not e.meaningful)
        if (
            system == "o/w"
            and hlb is not None
            and nulls <= HLB_NULL_SHARE
            and ("hlb" not in self.off)
        ):
            for sign, end in ((1.0, hlb - HLB_SHIFT), (-1.0, hlb + HLB_SHIFT)):
                parts = [
                    sign * np.array([a.hlb - end * a.counted for a in group])
                    for group in (mine, stay)
                ]
                found.append(self.row("hlb", parts[0], parts[1], 0.0, math.inf))
        return found

    def _shared_rows(self, choices: Choices) -> list[Row]:
        """Cap each material that may stand on several lines by its law and its usual level."""
        frame, base = self.frame, self.frame.base
        places: dict[str, list[int]] = {}
        for n, (_, c) in enumerate(self.columns):
            places.setdefault(c.material.split("--")[0], []).append(n)
        kept: dict[str, list[int]] = {}
        for n, k in enumerate(self.kept):
            name = frame.before.batch.items[k].material.split("--")[0]
            kept.setdefault(name, []).append(n)
        found = []
        for name, mine in sorted(places.items()):
            several = len({self.columns[n][0] for n in mine}) > 1 or name in kept
            if not several:
                continue
            each, stay = np.zeros(len(self.columns)), np.zeros(len(self.kept))
            each[mine] = 1.0
            stay[kept.get(name, [])] = 1.0
            there = sum(frame.before.batch.items[self.kept[n]].percent for n in kept.get(name, []))
            tallest: dict[int, float] = {}
            for n in mine:
                slot, choice = self.columns[n]
                tallest[slot] = max(tallest.get(slot, 0.0), choice.levels.high)
            at_most = 1.5 * there + sum(tallest.values())
            highs = [
                p.high for n in mine for p in base.plays(self.columns[n][1].material) if p.high
            ]
            law = [
                limit.high
                for limit in base.limits(self.columns[mine[0]][1].material)
                if limit.kind == "max" and limit.unit_is_percent and limit.high is not None
                if limit.applies in {"all", "leave-on"}
            ]
            if law and "legal-limit" not in self.off and at_most > min(law):
                found.append(self.row("legal-limit", each, stay, -math.inf, max(min(law), there)))
            most = max(1.25 * max(highs, default=0.0), there)
            if highs and "usual-level" not in self.off and at_most > most:
                found.append(self.row("usual-level", each, stay, -math.inf, most))
        return found

    def _wish_rows(self, choices: Choices) -> list[Row]:
        frame, found = self.frame, []
        n, k = len(self.columns), len(self.kept)
        wish = frame.wish
        if wish.max_changes is not None and "max-changes" not in self.off:
            none = np.zeros(n)
            found.append(
                Row(
                    "max-changes",
                    np.ones(n),
                    none,
                    none,
                    np.zeros(k),
                    -math.inf,
                    float(wish.max_changes),
                )
            )
        if wish.cost_cap is not None and "cost-cap" not in self.off:
            items = frame.before.batch.items
            each = np.array([price_of(c.material, wish) for _, c in self.columns]) / 100.0
            stay = np.array([price_of(items[i].material, wish) for i in self.kept]) / 100.0
            found.append(self.row("cost-cap", each, stay, -math.inf, wish.cost_cap))
        return found

    def network_parts(self, row: int = AT_25) -> tuple[np.ndarray, np.ndarray]:
        """Return the network sum of each choice at its three levels, and of each kept line.

        The columns are low, best, high; for kept lines lowest, as it is, highest.
        """
        frame = self.frame
        company, items = frame.company, frame.before.batch.items
        kept = self._kept()
        one = [
            [
                company.network(c.material, self.item(n).stage, level, row)
                for level in (c.levels.low, c.levels.best, c.levels.high)
            ]
            for n, (_, c) in enumerate(self.columns)
        ]
        two = [
            [
                company.network(items[i].material, items[i].stage, level, row)
                for level in (kept.low[n], kept.level[n], kept.high[n])
            ]
            for n, i in enumerate(self.kept)
        ]
        return np.array(one).reshape(-1, 3), np.array(two).reshape(-1, 3)


_PHASES = ("oil", "water", "powder")
#: A material without a price could cost anything: it cannot be shown to stay under a cap.
NO_PRICE = 1e6


def price_of(material: str, wish: Wish) -> float:
    """Return the price per kilogram, water free; without one more than any cap."""
    if material == "aqua":
        return wish.prices.get(material, 0.0)
    return wish.prices.get(material, wish.prices.get(material.split("--")[0], NO_PRICE))


def lay(frame: Frame, off: frozenset[str] = frozenset()) -> Layout:
    """Return the problem with some rules left out, and what its columns stand for."""
    lines, _ = frame.going(off)
    lifted = off | frame.wish.without
    slots: list[Slot] = []
    columns: list[tuple[int, Choice]] = []
    for index in lines:
        second = frame.second(index)
        for slot in filter(None, (frame.slot(index), second)):
            for choice in slot.choices:
                if choice.barred.keys() <= lifted:
                    columns.append((len(slots), choice))
            slots.append(slot)
    kept = [n for n in range(len(frame.before.batch.items)) if n not in set(lines)]
    return Layout(frame, slots, columns, kept, lifted)
