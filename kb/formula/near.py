"""Tell a slip of the pen from another substance's name."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Container

#: Beginnings that make another substance of a name (``bicarbonate``, ``dicetyl``).
_PREFIXES = frozenset(
    {"di", "tri", "bi", "bis", "iso", "mono", "poly", "hydro", "de", "un", "m", "n", "per", "sub"}
)
_COUNTS = re.compile("mono|tetra|penta|hexa|hepta|octa|nona|deca|dodeca|sesqui")
#: Endings that make another substance (``sulfite``, ``sulfate``; ``geraniol``, ``geranial``).
_ENDINGS = re.compile("(?:ate|ite|ide|ene|ane|ol|al|yl|ic|ose|ase|one)$")


def is_slip(written: str, known: str, words: Container[str]) -> bool:
    """Tell whether a name may be another one mistyped.

    Both are normalised. Digits must agree; words that both have are set aside; what is left may
    differ by one edit under six letters or where the first letter changes, two under twelve,
    three above, and not at all under four. A word that the base itself uses is no slip,
    nor is a chemical prefix or ending that changed.

    Parameters
    ----------
    written : str
        The name to judge.
    known : str
        The name of a material.
    words : container of str
        All words of the base's names.

    Examples
    --------
    >>> is_slip("cetil alcohol", "cetyl alcohol", {"cetyl", "alcohol"})
    True
    >>> is_slip("peg 20 stearate", "peg 40 stearate", {"peg", "stearate"})
    False
    >>> is_slip("sodium bicarbonate", "sodium carbonate", {"sodium", "carbonate"})
    False
    """
    from rapidfuzz.distance import OSA

    if re.findall(r"\d+", written) != re.findall(r"\d+", known):
        return False
    mine, theirs = Counter(written.split()), Counter(known.split())
    left, other = list((mine - theirs).elements()), list((theirs - mine).elements())
    a, b = "".join(left), "".join(other)
    if a == b or sorted(left) == sorted(other):
        return True
    if any(word in words for word in left):
        return False
    if _COUNTS.findall(a) != _COUNTS.findall(b) and _COUNTS.search(a) and _COUNTS.search(b):
        return False
    if ("iso" in a) != ("iso" in b):
        return False
    mine_ends, theirs_ends = _ENDINGS.findall(a), _ENDINGS.findall(b)
    if mine_ends and theirs_ends and mine_ends != theirs_ends:
        return False
    for long, short in ((a, b), (b, a)):
        if long.endswith(short) and long.removesuffix(short) in _PREFIXES:
            return False
    if min(len(a), len(b)) < 4:
        return False
    length = max(len(a), len(b))
    allowed = 1 if length < 6 or a[0] != b[0] else 2 if length < 12 else 3
    return bool(OSA.distance(a, b) <= allowed)
