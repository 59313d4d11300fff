"""One question: which lines go and stay, who may stand in, which rules hold."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from kb.adapt.levels import Company
from kb.adapt.slots import Slot, Verdicts, bulk_lines, judge_lines, make_second, make_slot
from kb.adapt.windows import Window, make_windows
from kb.adapt.wish import Wish, rule_id
from kb.engine.profile import Profile
from kb.store.snapshot import Snapshot

#: Choices of each slot made at first; more only when one of them could be better.
FIRST_LOOK = 24
#: Rules a choice can be barred by that no wish can lift.
_NEVER = frozenset({"policy"})


@dataclass(slots=True)
class Frame:
    """A question laid out once; `layout.lay` makes its columns with some rules left out."""

    base: Snapshot
    before: Profile
    wish: Wish
    company: Company
    verdicts: Verdicts
    windows: list[Window]
    bulk: set[int]
    wide: bool = False
    _slots: dict[int, Slot] = field(default_factory=dict)
    _seconds: dict[int, Slot] = field(default_factory=dict)

    @classmethod
    def of(cls, before: Profile, wish: Wish, base: Snapshot) -> Frame:
        """Lay out a question."""
        return cls(
            base,
            before,
            wish,
            Company.of(before, base),
            judge_lines(before, wish, base),
            make_windows(before),
            bulk_lines(before, base),
        )

    def slot(self, index: int) -> Slot:
        """Return the slot of a line, its best choices made."""
        if index not in self._slots:
            slot = self._slots[index] = make_slot(
                *(index, self.before, self.company, self.wish, self.base),
                bulk=index in self.bulk,
                wide=self.wide,
            )
            slot.fill(math.inf if self.wide else FIRST_LOOK)
        return self._slots[index]

    def second(self, index: int) -> Slot | None:
        """Return the helper's place beside a slot, if one is allowed and of use."""
        if self.wish.blend < 2:
            return None
        if index not in self._seconds:
            slot = self._seconds[index] = make_second(
                self.slot(index), self.company, self.wish, self.base
            )
            slot.fill(math.inf if self.wide else FIRST_LOOK)
        found = self._seconds[index]
        return found if found.ahead else None

    def widen(self) -> None:
        """Look at every material for every slot from now on: to say why there is no answer."""
        if not self.wide:
            self.wide = True
            self._slots.clear()
            self._seconds.clear()

    def rules(self) -> list[str]:
        """Return the key of every rule that may stand in the way of this question."""
        keys = [
            k for keys in (self.verdicts.go, self.verdicts.stay) for v in keys.values() for k in v
        ]
        barred: set[str] = set()
        for index in self.verdicts.go:
            for choice in self.slot(index).choices:
                barred |= choice.barred.keys()
        keys += sorted(barred - _NEVER)
        keys += [w.rule for w in self.windows]
        keys += ["phase-ratio", "powder-volume", "emulsifier-level", "water-capacity", "hlb"]
        keys += ["usual-level", "legal-limit"]
        if self.wish.max_changes is not None:
            keys.append("max-changes")
        if self.wish.cost_cap is not None:
            keys.append("cost-cap")
        return [k for k in dict.fromkeys(keys) if not self._lifted(k)]

    def _lifted(self, key: str) -> bool:
        return key in self.wish.without or rule_id(key) in self.wish.without

    def going(self, off: frozenset[str]) -> tuple[list[int], list[str]]:
        """Return the lines that must go with some rules left out, and rules that contradict."""
        lines, torn = [], []
        for index, keys in self.verdicts.go.items():
            left = {k for k in keys if k not in off and not self._lifted(k)}
            held = {
                k
                for k in self.verdicts.stay.get(index, frozenset())
                if k not in off and not self._lifted(k)
            }
            if left and held:
                torn += [*sorted(left), *sorted(held)]
            elif left:
                lines.append(index)
        return lines, torn

    def fixed(self, index: int) -> bool:
        """Tell whether a line that stays must keep its level too."""
        item = self.before.batch.items[index]
        about = self.base.materials[item.material]
        return (
            item.locked
            or index in self.wish.keep
            or item.active is True
            or about.phase == "powder"
            or self.base.does(item.material, "scent") >= 0.5
        )
