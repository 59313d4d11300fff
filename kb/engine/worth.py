"""What speaks against a stand-in beside its fit, as factors: its cautions, its level."""

from __future__ import annotations

import math
from collections.abc import Iterable

#: Rules that are said but take nothing from the worth.
FREE = frozenset(
    {"origin-unknown", "policy-unknown", "allergen", "consistency", "colour-or-opacity"}
)
_CAREFUL = {"no-structure": 0.6, "wrong-emulsion-type": 0.7, "not-volatile": 0.75}
_PLAIN = 0.93
_LEAST_COMPANY = 0.3
#: Cost of three times the level, and of a third of it: needing less is a merit of the stand-in,
#: needing more displaces something else.
_MORE, _LESS, _FOLD = 0.3, 0.05, 3.0


def company_worth(rules: Iterable[str]) -> float:
    """Return what the cautions of a stand-in leave of its worth, each rule counted once."""
    worth = 1.0
    for rule in set(rules) - FREE:
        worth *= _CAREFUL.get(rule, _PLAIN)
    return max(worth, _LEAST_COMPANY)


def level_worth(old: float, new: float) -> float:
    """Return what a change of level leaves of the worth, levels in %.

    Examples
    --------
    >>> level_worth(3.0, 3.0), round(level_worth(3.0, 9.0), 3), round(level_worth(9.0, 3.0), 3)
    (1.0, 0.769, 0.952)
    """
    shift = math.log(max(new, 1e-6) / max(old, 1e-6)) / math.log(_FOLD)
    return 1.0 / (1.0 + (_MORE if shift > 0 else _LESS) * shift**2)
