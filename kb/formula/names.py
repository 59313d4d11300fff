"""From a name as written to a material of the base: exact, synonym, number, or near."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

#: A near match counts only from here up, and only this far ahead of the next material.
NEAR_SCORE = 88.0
NEAR_LEAD = 3.0
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
    text = name.casefold().replace("ß", "ss").replace("œ", "oe").replace("æ", "ae")
    text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    text = text.replace("&", " and ").replace("'", "").replace("’", "")
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

    def __init__(self, exact: Mapping[str, tuple[str, str, str]]) -> None:
        self._exact = dict(exact)
        self._keys = [key for key, entry in self._exact.items() if entry[2] != "registry"]

    @classmethod
    def from_rows(cls, rows: Iterable[tuple[str, str, str]]) -> NameIndex:
        """Build from rows of (name, material, how known); earlier rows win."""
        exact: dict[str, tuple[str, str, str]] = {}
        for name, material, how in rows:
            exact.setdefault(normalise(name), (material, name, how))
        return cls(exact)

    def resolve(self, name: str) -> Resolution:
        """Resolve a name as written in a formula or on the command line.

        Exact names, synonyms and registry numbers pass. A near match passes only above
        ``NEAR_SCORE``, ``NEAR_LEAD`` ahead of any other material, and with equal digits.
        """
        for key, by, score in _spellings(name):
            if key in self._exact:
                material, matched, how = self._exact[key]
                return Resolution(Match(material, matched, by or how, score))
        found = self.search(name, 5)
        if not found:
            return Resolution(None)
        best = found[0]
        generic = best.material.split("--")[0]
        others = [m for m in found[1:] if m.material.split("--")[0] != generic]
        clear = not others or best.score - others[0].score >= NEAR_LEAD
        same_digits = _digits(name) == _digits(best.matched)
        if best.score >= NEAR_SCORE and clear and same_digits:
            return Resolution(Match(best.material, best.matched, "near", best.score), found[:3])
        return Resolution(None, found[:3])

    def search(self, text: str, limit: int = 10) -> tuple[Match, ...]:
        """Return the materials whose names come nearest, best first, one entry a material."""
        from rapidfuzz import fuzz, process

        query = normalise(text)
        if not query:
            return ()
        scores: dict[str, Match] = {}

        def offer(key: str, score: float) -> None:
            material, matched, how = self._exact[key]
            if material not in scores or scores[material].score < score:
                scores[material] = Match(material, matched, how, round(score, 1))

        if query in self._exact:
            offer(query, 100.0)
        for key, score, _ in process.extract(query, self._keys, scorer=fuzz.ratio, limit=40):
            offer(key, min(score, 99.9))
        if len(query) >= 3:
            for key in self._keys:
                if key.startswith(query):
                    offer(key, 90.0 + 9.0 * len(query) / len(key))
                elif f" {query}" in key:
                    offer(key, 80.0 + 9.0 * len(query) / len(key))
            words = set(query.split())
            if len(words) > 1:
                for key in self._keys:
                    if words <= set(key.split()):
                        offer(key, 85.0 + 9.0 * len(query) / max(len(key), len(query)))
        ranked = sorted(scores.values(), key=lambda m: (-m.score, len(m.matched), m.material))
        return tuple(ranked[:limit])


def _spellings(name: str) -> Iterable[tuple[str, str, float]]:
    """Yield the forms a name is tried in: as written, then with qualifiers taken off."""
    key = normalise(name)
    yield key, "", 100.0
    yield normalise(name.replace("--", " ").replace("-", " ")), "", 100.0
    bare = re.sub(r"\([^)]*\)|\[[^]]*\]", " ", name)
    if bare != name:
        yield normalise(bare), "without brackets", 95.0
        for inside in re.findall(r"\(([^)]*)\)", name):
            if normalise(inside):
                yield normalise(inside), "in brackets", 93.0
    plain = " ".join(_QUALIFIERS.sub(" ", normalise(bare)).split())
    if plain and plain != key:
        yield plain, "without qualifier", 92.0


def _digits(text: str) -> list[str]:
    return re.findall(r"\d+", text)
