"""What speaks against a stand-in beside its fit, as factors: its cautions, its level."""

from __future__ import annotations

import math
from collections.abc import Iterable

from kb.engine.context import Caution

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


def weighs_much(caution: Caution) -> bool:
    """Tell whether a caution says that part of the work is not done.

    A stated compatibility that only asks for care is no such: the jar tells.
    """
    return caution.rule in _CAREFUL and not caution.asks_for_care


def company_worth(cautions: Iterable[Caution]) -> float:
    """Return what the cautions of a stand-in leave of its worth, each rule counted once."""
    costs: dict[str, float] = {}
    for caution in cautions:
        if caution.rule not in FREE:
            cost = _CAREFUL[caution.rule] if weighs_much(caution) else _PLAIN
            costs[caution.rule] = min(cost, costs.get(caution.rule, 1.0))
    return max(math.prod(costs.values()), _LEAST_COMPANY)


def level_worth(old: float, new: float) -> float:
    """Return what a change of level leaves of the worth, levels in %.

    Examples
    --------
    >>> level_worth(3.0, 3.0), round(level_worth(3.0, 9.0), 3), round(level_worth(9.0, 3.0), 3)
    (1.0, 0.769, 0.952)
    """
    shift = math.log(max(new, 1e-6) / max(old, 1e-6)) / math.log(_FOLD)
    return 1.0 / (1.0 + (_MORE if shift > 0 else _LESS) * shift**2)
