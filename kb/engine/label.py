"""The ingredient list of a batch: order by weight, free below one percent."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.batch import Batch, take_apart
from kb.store.snapshot import Snapshot

#: From here down the order on the label is free, % of the product.
FREE_ORDER = 1.0
#: Stands between the names of a blend that has no name of its own.
_JOINED = "(and)"


@dataclass(frozen=True, slots=True)
class Named:
    """One name on the label; ``free`` when it may stand anywhere behind the others."""

    inci: str
    percent: float
    free: bool


def ingredient_list(batch: Batch, base: Snapshot) -> list[Named]:
    """Return the names in falling order, each once; blends without a name and solutions apart.

    What stands at 1 % or less may follow in any order; it is given by weight here too. Equal
    weights go by name.
    """
    held: dict[str, float] = {}
    for item in batch.items:
        about = base.materials[item.material]
        parts = [(item.material, item.percent)]
        if _JOINED in about.inci or about.form == "solution":
            parts = take_apart(item.material, item.percent, base)
        for material, percent in parts:
            inci = base.materials[material].inci
            held[inci] = held.get(inci, 0.0) + percent
    rows = sorted(held.items(), key=lambda pair: (-round(pair[1], 9), pair[0]))
    return [Named(inci, percent, percent <= FREE_ORDER) for inci, percent in rows if percent > 0]
