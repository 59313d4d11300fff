"""Which stand-ins are looked at in full, and no further than the answer asks.

A stand-in is worth at most its score: all that the full model adds is factors of 1 or less. So the
best are known as soon as the next score is lower than the worth of what was found. The rest is
looked at only when someone asks why it is not among the answers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import numpy as np

from kb.engine.answers import Swap
from kb.engine.candidates import Candidate, best_play
from kb.engine.context import Context, Refusal
from kb.engine.gates import refuse_early
from kb.engine.obtaining import at_hand, in_stock, listed
from kb.engine.scoreboard import Ranking, scoreboard
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

#: Candidates looked at in full; the rest rank lower on role and traits already.
LOOKED_AT = 36
_OF_EACH_KIND = 3
_MORE_KINDS = 24
_ALIKE_FIRST = 8
#: Place kept for another way, if it scores this share of what else would stand there.
_OTHER_WAY_AT, _GOOD_ENOUGH = 5, 0.6
#: Further down another way may be worth less, but not next to nothing beside what it displaces.
_WORTH_A_PLACE = 0.5
#: Families that count as one kind; anything else is told apart by its leading role.
_FAMILIES = (
    "soft-wax-ester",
    "wax-hardener",
    "wax",
    "butter",
    "nonpolar-oil",
    "water-thickener-nonionic",
)
Weigh = Callable[[Candidate, Context], Swap | Refusal]


class Search:
    """The stand-ins for one line, in the order of their worth.

    Parameters
    ----------
    context : Context
    weigh : callable
        Looks at a candidate in full: worth of the exchange, or why it is refused.
    ranking : Ranking, optional
        All INCI names in the order of their scores; none where no role is known.
    asked : list of Candidate, optional
        Look at these alone.
    only : set of str, optional
        Materials that may be used.
    """

    def __init__(
        self,
        context: Context,
        weigh: Weigh,
        ranking: Ranking | None,
        asked: list[Candidate] | None = None,
        only: set[str] | None = None,
    ) -> None:
        self.context = context
        self._weigh, self._ranking, self._asked, self._only = weigh, ranking, asked, only
        self._early: dict[str, Refusal | None] = {}
        self._weighed: dict[str, Swap | Refusal] = {}
        self._chosen: list[Candidate] = []
        self._further: Iterator[Candidate] | None = None

    def early(self, candidate: Candidate) -> Refusal | None:
        """Return why a candidate is out before any number is worked out."""
        name = candidate.material
        if name not in self._early:
            self._early[name] = self._off_shelf(name) or refuse_early(candidate, self.context)
        return self._early[name]

    def chosen(self) -> Iterator[Candidate]:
        """Yield the candidates the full model looks at: the best, and the best of each kind."""
        if self._further is None:
            self._further = self._asked_for() if self._asked is not None else self._worth_a_look()
        place = 0
        while True:
            if place == len(self._chosen):
                found = next(self._further, None)
                if found is None:
                    return
                self._chosen.append(found)
            yield self._chosen[place]
            place += 1

    def _asked_for(self) -> Iterator[Candidate]:
        found = [c for c in self._asked or [] if self.early(c) is None]
        yield from sorted(found, key=lambda c: (-self.bound(c), c.material))

    def suitable(self) -> Iterator[Candidate]:
        """Yield what passes the early gates, best first."""
        if self._ranking is not None:
            for place in self._ranking.in_order(self._weights(), leading=True):
                candidate = self._ranking.at(place)
                if self.early(candidate) is None:
                    yield candidate

    def _worth_a_look(self) -> Iterator[Candidate]:
        if self._ranking is None:
            return
        kinds: dict[str, int] = {}
        count = 0
        for place in self._ranking.in_order(self._weights(), leading=True):
            kind = self._kind(place)
            if count >= LOOKED_AT and kinds.get(kind, 0) >= _OF_EACH_KIND:
                continue
            candidate = self._ranking.at(place)
            if self.early(candidate) is not None:
                continue
            yield candidate
            kinds[kind] = kinds.get(kind, 0) + 1
            count += 1
            if count >= LOOKED_AT + _MORE_KINDS:
                return

    def everything(self) -> Iterator[Candidate]:
        """Yield every candidate in the order of its score."""
        if self._asked is not None:
            yield from sorted(self._asked, key=lambda c: (-c.score, c.material))
        elif self._ranking is not None:
            yield from map(self._ranking.at, self._ranking.in_order())

    def weighed(self, candidate: Candidate) -> Swap | Refusal:
        """Return what the full model says of a candidate."""
        name = candidate.material
        if name not in self._weighed:
            self._weighed[name] = self._weigh(candidate, self.context)
        return self._weighed[name]

    def bound(self, candidate: Candidate) -> float:
        """Return what an answer with this candidate is worth at most."""
        return candidate.score * at_hand(candidate.material, self.context)

    def best(self, top: int) -> list[Swap]:
        """Return the best answers, with room for other ways.

        Ten near copies of the old material are worth less to a maker than some of them and other
        ways beside. Body can be built in several ways (another wax, an ester, a waxy emulsifier):
        there the fifth place goes to the best of a kind not shown yet, if it is good enough. After
        the eighth place every second one does so for any line.
        """
        structural = self.context.matters("oil-phase-structurant")
        waiting = _Waiting(self)
        shown: list[Swap] = []
        seen: set[str] = set()
        while len(shown) < top:
            place = len(shown) + 1
            found = waiting.best()
            if found is None:
                break
            early = structural and place == _OTHER_WAY_AT
            if early or (place > _ALIKE_FIRST and place % 2 == 0):
                floor = (_GOOD_ENOUGH if early else _WORTH_A_PLACE) * found.total
                fresh = waiting.best(seen)
                if fresh is not None and fresh.total >= floor:
                    found = fresh
            waiting.take(found)
            shown.append(found)
            seen.add(kind_of_material(found.candidate, self.context))
        return shown

    def _kind(self, place: int) -> str:
        """Return the kind of a material by its place; it depends on the leading role alone."""
        c = self.context
        board = scoreboard(c.base)
        key = (c.leading, place)
        if key not in board.kinds:
            material = board.ids[place]
            board.kinds[key] = _kind_of(material, best_play(c.leading, material, c.base)[1], c.base)
        return board.kinds[key]

    def _weights(self) -> Array:
        c = self.context
        board = scoreboard(c.base)
        if c.preferred is None:
            return board.sold(c.base)
        return board.sold(c.base) * np.array([in_stock(m, c) for m in board.ids], np.float64)

    def _off_shelf(self, material: str) -> Refusal | None:
        if self._only is None or listed(material, self._only):
            return None
        return Refusal("not-on-shelf", "it is not in stock")


class _Waiting:
    """Candidates not shown yet; those behind are weighed only when they could be better."""

    def __init__(self, search: Search) -> None:
        self._search = search
        self._behind = search.chosen()
        self._next: list[Candidate] = []
        self._ready: list[Swap] = []

    def best(self, without: Iterable[str] = ()) -> Swap | None:
        """Return the best that is of none of these kinds."""
        kinds = set(without)
        c = self._search.context

        def fits(candidate: Candidate) -> bool:
            return not kinds or kind_of_material(candidate, c) not in kinds

        best = next((s for s in self._ready if fits(s.candidate)), None)
        place = 0
        while (candidate := self._at(place)) is not None:
            if best is not None and self._search.bound(candidate) < best.total:
                break
            if not fits(candidate):
                place += 1
                continue
            del self._next[place]
            found = self._search.weighed(candidate)
            if isinstance(found, Swap):
                self._ready.append(found)
                self._ready.sort(key=lambda s: (-s.total, s.candidate.material))
                best = next(s for s in self._ready if fits(s.candidate))
        return best

    def _at(self, place: int) -> Candidate | None:
        """Return one of those not weighed yet, in the order of what they are worth at most."""
        if place == len(self._next):
            found = next(self._behind, None)
            if found is None:
                return None
            self._next.append(found)
        return self._next[place]

    def take(self, found: Swap) -> None:
        """Take one out that is shown."""
        self._ready.remove(found)


def kind_of_material(candidate: Candidate, c: Context) -> str:
    """Return the way a stand-in works: the family of what it is best at, here if that ties."""
    return _kind_of(candidate.material, candidate.played.get(c.leading, ""), c.base)


def _kind_of(material: str, here: str, base: Snapshot) -> str:
    plays = base.plays(material)
    best = max((p.strength for p in plays), default=0.0)
    leaders = {p.role for p in plays if p.strength == best}
    # A broad role such as oil-phase liquid says nothing of the way: what lies below it does.
    below = {role for role in leaders if here in base.roles[role].ancestors}
    role = min(below or leaders, key=lambda r: (-base.roles[r].information, r), default=here)
    if not role:
        return ""
    above = base.roles[role].ancestors
    return next((family for family in _FAMILIES if family in above), role)
