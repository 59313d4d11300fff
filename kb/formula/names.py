"""From a name as written to a material of the base: exact, synonym, number, or near."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kb.formula.near import is_slip

#: A near match counts only from here up, and only this far ahead of the next material.
NEAR_SCORE = 84.0
NEAR_LEAD = 3.0
#: A name longer than this is cut before it is compared.
MAX_LENGTH = 300
_LETTERS = str.maketrans(
    {"ß": "ss", "œ": "oe", "æ": "ae", "ø": "o", "ł": "l", "đ": "d", "ı": "i"}
    | {"α": "alpha ", "β": "beta ", "γ": "gamma ", "δ": "delta ", "ω": "omega "}
)
#: Parts of words that are spelt in several ways.
_SPELT = (
    ("sulph", "sulf"),
    ("aluminium", "aluminum"),
    ("alcool", "alcohol"),
    ("alkohol", "alcohol"),
)
_QUALIFIERS = re.compile(
    r"\b(organic|bio|virgin|extra|refined|unrefined|raw|pure|natural|deodori[sz]ed|"
    r"cold pressed|vegetable|vegetal|usp|ph eur|nf|bp|pellets|pastilles|powdered|flakes)\b"
)


def normalise(name: str) -> str:
    """Bring a name to the one form in which names are compared.

    Examples
    --------
    >>> normalise("Caprylic/Capric  Triglyceride")
    'caprylic capric triglyceride'
    >>> normalise("Süßmandelöl")
    'sussmandelol'
    """
    text = name[:MAX_LENGTH].casefold().translate(_LETTERS)
    text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    text = text.replace("&", " and ").replace("'", "").replace("\u2019", "")
    for other, one in _SPELT:
        text = text.replace(other, one)
    return " ".join(re.sub(r"[^0-9a-z%,]+", " ", text).replace(",", " ").split())


@dataclass(frozen=True, slots=True)
class Match:
    """A material a name may mean: how it was found, and how sure (0 to 100)."""

    material: str
    matched: str
    by: str
    score: float


@dataclass(frozen=True, slots=True)
class Resolution:
    """The answer to one name: a certain match, or the nearest ones."""

    match: Match | None
    nearest: tuple[Match, ...] = ()


class NameIndex:
    """All names of the base, normalised once.

    Parameters
    ----------
    exact : mapping of str to (str, str, str)
        Normalised name to material, name as written, and how it is known
        (``id``, ``inci``, ``synonym``, ``registry``).
    """

    def __init__(
        self,
        exact: Mapping[str, tuple[str, str, str]],
        shared: Mapping[str, tuple[str, ...]] | None = None,
    ) -> None:
        self._exact = dict(exact)
        self._shared = dict(shared or {})
        self._keys = [key for key, entry in self._exact.items() if entry[2] != "registry"]
        self._words: frozenset[str] | None = None
        self._sets: tuple[frozenset[str], ...] = ()

    @classmethod
    def from_rows(cls, rows: Iterable[tuple[str, str, str]]) -> NameIndex:
        """Build from rows of (name, material, how known); earlier rows win.

        A registry number that several materials bear belongs to none of them for certain.
        """
        exact: dict[str, tuple[str, str, str]] = {}
        bearers: dict[str, list[str]] = {}
        for name, material, how in rows:
            key = normalise(name)
            if key:
                exact.setdefault(key, (material, name, how))
                if how == "registry" and material not in bearers.setdefault(key, []):
                    bearers[key].append(material)
        shared = {
            key: tuple(materials)
            for key, materials in bearers.items()
            if len(materials) > 1 and exact[key][2] == "registry"
        }
        return cls(exact, shared)

    def resolve(self, name: str) -> Resolution:
        """Resolve a name as written in a formula or on the command line.

        Exact names, synonyms and registry numbers pass. A near match passes only above
        ``NEAR_SCORE``, ``NEAR_LEAD`` ahead of any other material, and when it looks like a slip
        of the pen rather than another substance's name. Last comes the name in brackets.
        """
        spellings = [s for s in _spellings(name[:MAX_LENGTH]) if s[0]]
        for key, by, score in spellings:
            if key in self._shared:
                return Resolution(None, self._bearers(key)[:3])
            if key in self._exact:
                material, matched, how = self._exact[key]
                return Resolution(Match(material, matched, by or how, score))
        nearest = self.search(name, 3)
        near = (self._near(key) for key, _, _ in spellings)
        match = next((m for m in near if m is not None), None) or self._in_brackets(name)
        if match is not None:
            others = [m for m in nearest if m.material != match.material]
            nearest = (match, *others)[:3]
        return Resolution(match, nearest)

    def _word_sets(self) -> tuple[frozenset[str], ...]:
        """Return the words of each name, split once."""
        if not self._sets:
            self._sets = tuple(frozenset(key.split()) for key in self._keys)
        return self._sets

    def _in_brackets(self, name: str) -> Match | None:
        """Return the one material that stands in brackets behind a name nobody knows."""
        inside = {normalise(part) for part in re.findall(r"\(([^()]*)\)", name[:MAX_LENGTH])}
        found = {self._exact[key][0]: key for key in sorted(inside) if key in self._exact}
        if len(found) != 1 or not self._shared.keys().isdisjoint(found.values()):
            return None
        material, key = found.popitem()
        return Match(material, self._exact[key][1], "in brackets", 93.0)

    def _bearers(self, key: str) -> tuple[Match, ...]:
        number = self._exact[key][1]
        return tuple(Match(m, number, "registry", 100.0) for m in self._shared[key])

    def _near(self, query: str) -> Match | None:
        """Return the one material whose name a query mistypes, if that is clear."""
        from rapidfuzz import fuzz, process

        if self._words is None:
            self._words = frozenset(word for key in self._keys for word in key.split())
        found = process.extract(
            query, self._keys, scorer=fuzz.ratio, limit=20, score_cutoff=NEAR_SCORE - NEAR_LEAD
        )
        if len(query.split()) > 1:
            asked = frozenset(query.split())
            turned = [
                key
                for key, own in zip(self._keys, self._word_sets(), strict=True)
                if own == asked and sorted(key.split()) == sorted(query.split())
            ]
            found = [(key, 96.0, 0) for key in turned] + found
        rivals = [
            (self._exact[key], score) for key, score, _ in found if _digits(key) == _digits(query)
        ]
        passing = [
            (entry, score)
            for entry, score in rivals
            if score >= NEAR_SCORE and is_slip(query, normalise(entry[1]), self._words)
        ]
        if not passing:
            return None
        (material, matched, _), best = passing[0]
        generic = material.split("--")[0]
        others = [s for entry, s in rivals if entry[0].split("--")[0] != generic]
        if others and best - max(others) < NEAR_LEAD:
            return None
        return Match(material, matched, "near", round(best, 1))

    def search(self, text: str, limit: int = 10) -> tuple[Match, ...]:
        """Return the materials whose names come nearest, best first, one entry a material."""
        from rapidfuzz import fuzz, process
        from rapidfuzz.distance import OSA

        query = normalise(text)
        if not query:
            return ()
        scores: dict[str, Match] = {}

        def offer(key: str, score: float) -> None:
            material, matched, how = self._exact[key]
            if material not in scores or scores[material].score < score:
                scores[material] = Match(material, matched, how, round(score, 1))

        for match in self._bearers(query) if query in self._shared else ():
            scores[match.material] = match
        if query in self._exact and query not in self._shared:
            offer(query, 100.0)
        for key, score, _ in process.extract(query, self._keys, scorer=fuzz.ratio, limit=40):
            # Letters swapped or replaced are one slip each; the ratio counts them as two.
            slips = 100.0 * OSA.normalized_similarity(query, key)
            offer(key, min(0.5 * (score + slips), 99.9))
        if len(query) >= 3:
            for key in self._keys:
                if key.startswith(query):
                    offer(key, 90.0 + 9.0 * len(query) / len(key))
                elif f" {query}" in key:
                    offer(key, 80.0 + 9.0 * len(query) / len(key))
            words = set(query.split())
            if len(words) > 1:
                for key, own in zip(self._keys, self._word_sets(), strict=True):
                    if words <= own:
                        offer(key, 85.0 + 9.0 * len(query) / max(len(key), len(query)))
        ranked = sorted(scores.values(), key=lambda m: (-m.score, len(m.matched), m.material))
        return tuple(ranked[:limit])


def _spellings(name: str) -> Iterable[tuple[str, str, float]]:
    """Yield the forms a name is tried in: as written, then with qualifiers taken off."""
    key = normalise(name)
    yield key, "", 100.0
    yield normalise(name.replace("--", " ").replace("-", " ")), "", 100.0
    bare = re.sub(r"\([^()]*\)|\[[^][]*\]", " ", name)
    if bare != name:
        yield normalise(bare), "without brackets", 95.0
    plain = " ".join(_QUALIFIERS.sub(" ", normalise(bare)).split())
    if plain and plain != key:
        yield plain, "without qualifier", 92.0


def _digits(text: str) -> list[str]:
    return re.findall(r"\d+", text)
