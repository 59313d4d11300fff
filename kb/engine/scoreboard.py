"""Every material of a base scored at once, as columns; the same figures as one by one.

``candidates.score_candidate`` says what a score is. Here the same is done for thousands of
materials in a few array operations, so that only those worth a look are scored in words. Sums run
in the same order; what differs is the last digit, and ``Ranking`` settles ties by exact scores.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from kb.engine import candidates as one_by_one
from kb.engine import obtaining
from kb.engine.candidates import Candidate, score_candidate
from kb.engine.roles import Here
from kb.engine.traits import (
    UNKNOWN_FIT,
    cannot_matter,
    fits_of,
    has_hlb,
    no_salt_to_bear,
    traits_of,
)
from kb.store.records import Trait
from kb.store.snapshot import Snapshot

Column = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]

#: Scores nearer than this are told apart by the exact figures.
_TIE = 1e-9
#: A grade stands for its INCI name when it fits better than the plain one by this factor.
_GRADE_BETTER = one_by_one.GRADE_BETTER

_BOARDS: WeakKeyDictionary[Snapshot, Scoreboard] = WeakKeyDictionary()


def scoreboard(base: Snapshot) -> Scoreboard:
    """Return the columns of a base, laid out once."""
    board = _BOARDS.get(base)
    if board is None:
        board = _BOARDS[base] = Scoreboard(base)
    return board


class Scoreboard:
    """What scoring needs of every material, in columns.

    Parameters
    ----------
    base : Snapshot
    """

    def __init__(self, base: Snapshot) -> None:
        self.ids = list(base.materials)
        self.place = {material: n for n, material in enumerate(self.ids)}
        order = sorted(range(len(self.ids)), key=self.ids.__getitem__)
        self.by_name = np.empty(len(self.ids), dtype=np.intp)
        self.by_name[order] = np.arange(len(self.ids))
        self.has_hlb: Mask = np.array([has_hlb(m, base) for m in self.ids], bool)
        self._moot: dict[Trait, Mask] = {}
        self._lay_plays(base)
        self._lay_names()
        self._standing: Column | None = None
        self._sold: Column | None = None
        self._columns: dict[str, tuple[Column, Column, Column]] = {}
        self._words: tuple[dict[str, Places], npt.NDArray[np.int64]] | None = None
        self._best: dict[str, Column] = {}
        #: Kind of each material by leading role and place, as far as it was asked for.
        self.kinds: dict[tuple[str, int], str] = {}

    def _lay_plays(self, base: Snapshot) -> None:
        owners, roles, factors = [], [], []
        number = {role: n for n, role in enumerate(base.roles)}
        for place, material in enumerate(self.ids):
            for play in base.plays(material):
                owners.append(place)
                roles.append(number[play.role])
                factors.append(min(1.0, 0.35 + 0.65 * play.strength))
        self._owner = np.array(owners, dtype=np.intp)
        self._role = np.array(roles, dtype=np.intp)
        self._factor = np.array(factors, dtype=np.float64)
        self._starts = np.flatnonzero(np.diff(self._owner, prepend=-1))
        self._players = self._owner[self._starts]
        self._played = [n in set(roles) for n in range(len(number))]

    def _lay_names(self) -> None:
        """Number the INCI names; those with one material alone need no choice among grades."""
        groups: dict[str, list[int]] = defaultdict(list)
        for place, material in enumerate(self.ids):
            groups[material.split("--")[0]].append(place)
        self.members = groups
        self.grades = [places for places in groups.values() if len(places) > 1]
        self.first_grade = np.array([p[0] for p in self.grades], dtype=np.intp)
        self.other_grades = np.array([q for p in self.grades for q in p[1:]], dtype=np.intp)
        sizes = [len(p) - 1 for p in self.grades]
        self.grade_starts = np.cumsum([0, *sizes[:-1]], dtype=np.intp)

    def standing(self, base: Snapshot) -> Column:
        """Return how well known each material is."""
        if self._standing is None:
            self._standing = np.array([one_by_one.standing(m, base) for m in self.ids])
        return self._standing

    def sold(self, base: Snapshot) -> Column:
        """Return what having to look for a seller costs each material."""
        if self._sold is None:
            self._sold = np.array([obtaining.sold(m, base) for m in self.ids])
        return self._sold

    def column(self, name: str, base: Snapshot) -> tuple[Column, Column, Column]:
        """Return value, low and high of a property for every material; NaN where unknown."""
        if name not in self._columns:
            found = np.full((3, len(self.ids)), np.nan)
            for place, material in enumerate(self.ids):
                known = base.known(material, name)
                if known is not None:
                    found[:, place] = known.value, known.low, known.high
            self._columns[name] = (found[0], found[1], found[2])
        return self._columns[name]

    def moot(self, trait: Trait, base: Snapshot) -> Mask:
        """Return for which materials a trait does not apply."""
        if trait not in self._moot:
            self._moot[trait] = np.array([cannot_matter(trait, m, base) for m in self.ids], bool)
        return self._moot[trait]

    def kinship(self, original: str, base: Snapshot) -> Column:
        """Return the share of words in common with the INCI name of the original."""
        if self._words is None:
            holders: dict[str, list[int]] = defaultdict(list)
            sizes = np.zeros(len(self.ids), dtype=np.int64)
            for place, material in enumerate(self.ids):
                words = one_by_one.words_of(material, base)
                sizes[place] = len(words)
                for word in words:
                    holders[word].append(place)
            self._words = {w: np.array(p, dtype=np.intp) for w, p in holders.items()}, sizes
        postings, sizes = self._words
        shared = np.zeros(len(self.ids), dtype=np.int64)
        mine = one_by_one.words_of(original, base)
        for word in mine:
            if word in postings:
                shared[postings[word]] += 1
        either = sizes + len(mine) - shared
        return np.where((sizes > 0) & (len(mine) > 0), shared / np.maximum(either, 1), 0.0)

    def best_plays(self, wanted: str, base: Snapshot) -> Column:
        """Return how well each material does the work of a role with what it plays best."""
        if wanted not in self._best:
            alike = np.array(
                [
                    one_by_one.alike(wanted, role, base) if played else 0.0
                    for role, played in zip(base.roles, self._played, strict=True)
                ]
            )
            best = np.zeros(len(self.ids))
            if len(self._owner):
                each = alike[self._role] * self._factor
                best[self._players] = np.maximum.reduceat(each, self._starts)
            self._best[wanted] = best
        return self._best[wanted]

    def rank(
        self,
        original: str,
        here: tuple[Here, ...],
        base: Snapshot,
        ph: float | None = None,
        salt: float | None = None,
    ) -> Ranking:
        """Score every other INCI name of the base against the roles a line plays here."""
        count = len(self.ids)
        role_fit, worst = np.zeros(count), np.ones(count)
        mean, known, weighed = np.zeros(count), np.zeros(count), np.zeros(count)
        leads = np.zeros(count, bool)
        for number, want in enumerate(here):
            best = self.best_plays(want.role, base)
            plays = best >= one_by_one.LEAST_SIMILARITY
            if number == 0:
                leads = plays
            role_fit += np.where(plays, want.share * best, 0.0)
            traits = traits_of(want.role, base)
            places = np.flatnonzero(plays)
            if not traits or not len(places):
                continue
            average, told, floor = self._compared(traits, original, places, base, ph, salt)
            worst[places] *= np.maximum(floor, 0.02) ** want.share
            mean[places] += want.share * average
            known[places] += want.share * told
            weighed[places] += want.share
        with np.errstate(divide="ignore", invalid="ignore"):
            judged = weighed > 0
            mean = np.where(judged, mean / weighed, UNKNOWN_FIT)
            known = np.where(judged, known / weighed, 0.0)
            worst = np.where(judged, worst ** (1.0 / weighed), UNKNOWN_FIT)
        scores = one_by_one.score_of(
            role_fit, worst, mean, known, self.standing(base), self.kinship(original, base)
        )
        return Ranking(self, (original, here, base, ph, salt), np.asarray(scores), leads)

    def _compared(
        self,
        traits: tuple[Trait, ...],
        original: str,
        places: Places,
        base: Snapshot,
        ph: float | None,
        salt: float | None,
    ) -> tuple[Column, Column, Column]:
        """Return mean fit, share of weight that is known, and worst decisive fit."""
        count = len(places)
        weights, summed, told = np.zeros(count), np.zeros(count), np.zeros(count)
        floor = np.full(count, np.inf)
        both_hlb = self.has_hlb[places] & bool(self.has_hlb[self.place[original]])
        for trait in traits:
            mine = base.known(original, trait.property)
            if mine is None or no_salt_to_bear(trait, salt):
                continue
            value, low, high = (c[places] for c in self.column(trait.property, base))
            fit = fits_of(trait, mine, value, low, high, ph, salt)
            counts = ~(np.isnan(value) & self.moot(trait, base)[places])
            if trait.property == "hlb":
                counts &= both_hlb
            weight = np.where(counts, trait.weight, 0.0)
            weights += weight
            summed += weight * fit
            told += np.where(np.isnan(value), 0.0, weight)
            if trait.decisive:
                floor = np.where(counts, np.minimum(floor, fit), floor)
        with np.errstate(divide="ignore", invalid="ignore"):
            average = summed / weights
            share = told / weights
        floor = np.where(np.isinf(floor), average, floor)
        silent = weights <= 0
        # Nothing to compare: the mean says so, the worst trait stays out of it.
        return (
            np.where(silent, UNKNOWN_FIT, average),
            np.where(silent, 0.0, share),
            np.where(silent, 1.0, floor),
        )


class Ranking:
    """INCI names in the order of their scores; candidates are made only when looked at."""

    def __init__(
        self,
        board: Scoreboard,
        asked: tuple[str, tuple[Here, ...], Snapshot, float | None, float | None],
        scores: Column,
        leads: Mask,
    ) -> None:
        self._board = board
        self._asked = asked
        self._made: dict[int, Candidate] = {}
        self._scores, self._leads = scores, leads
        generic = asked[0].split("--")[0]
        out = np.zeros(len(scores), bool)
        if board.grades:
            out[board.other_grades] = True
            most = np.maximum.reduceat(scores[board.other_grades], board.grade_starts)
            # Only where some grade is near to taking the place of the plain one.
            floor = _GRADE_BETTER * scores[board.first_grade] - _TIE
            for number in np.flatnonzero((most > floor) & (most > 0.0)).tolist():
                places = board.grades[number]
                out[places] = True
                out[self._best_grade(places)] = False
        out[board.members.get(generic, [])] = True
        self._places = np.flatnonzero(~out)

    def _best_grade(self, places: list[int]) -> int:
        """The generic grade stands for its INCI unless a grade fits clearly better."""
        best, top = places[0], float(self._scores[places[0]])
        for place in places[1:]:
            score = float(self._scores[place])
            if abs(score - _GRADE_BETTER * top) < _TIE and score > 0.0:
                exact = self.at(place).score > _GRADE_BETTER * self.at(best).score
            else:
                exact = score > _GRADE_BETTER * top
            if exact:
                best, top = place, score
        return best

    def at(self, place: int) -> Candidate:
        """Return the candidate at a place of the base, scored in words."""
        if place not in self._made:
            self._made[place] = score_candidate(self._board.ids[place], *self._asked)
        return self._made[place]

    def __len__(self) -> int:
        return len(self._places)

    def in_order(self, weight: Column | None = None, leading: bool = False) -> Iterator[int]:
        """Yield places, best first; of equal ones the first by name.

        Parameters
        ----------
        weight : array, optional
            Factor of each material's score.
        leading : bool
            Only those that can play the leading role.
        """
        places = self._places[self._leads[self._places]] if leading else self._places
        factor = np.ones(len(self._scores)) if weight is None else weight
        scores = self._scores * factor
        order = places[np.lexsort((self._board.by_name[places], -scores[places]))]
        values = scores[order]
        apart = np.flatnonzero(-np.diff(values) > _TIE) + 1
        start = 0
        for end in [*apart.tolist(), len(order)]:
            run = order[start:end].tolist()
            if len(run) > 1 and values[start] > 0.0:
                run.sort(key=lambda p: (-self.at(p).score * factor[p], self._board.ids[p]))
            yield from run
            start = end
