"""What a swap costs or saves, where the prices of all that changes are known."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from kb.engine.answers import Change, Swap, SwapResult
from kb.engine.batch import Batch
from kb.engine.quantity import Quantity

_NOTE = "only the lines that change are counted"
_MOVED = 1e-9


def add_cost(result: SwapResult, prices: Mapping[str, float], currency: str = "") -> None:
    """Put the cost of the lines that change into the effects of each swap.

    A swap that touches a material without a price is left as it is: unknown.

    Parameters
    ----------
    result : SwapResult
    prices : mapping of str to float
        Price per kilogram by material or generic material.
    currency : str
        As in the price list; nothing if it does not say.
    """
    for found in result.swaps:
        _add(found, result.before.batch, prices, f"{currency} per kg of formula".strip())


def _add(found: Swap, old: Batch, prices: Mapping[str, float], unit: str) -> None:
    before, after = old.by_material(), found.trial.batch.by_material()
    moved = {m for m in {*before, *after} if abs(before.get(m, 0.0) - after.get(m, 0.0)) > _MOVED}
    price = {m: prices.get(m, prices.get(m.split("--")[0])) for m in moved}
    known = {m: p for m, p in price.items() if p is not None}
    if len(known) < len(moved):
        return
    had, got = (
        sum(p * levels.get(m, 0.0) / 100.0 for m, p in sorted(known.items()))
        for levels in (before, after)
    )
    change = got - had
    found.effects["cost"] = Change(had, got, unit, "difference", change, change, change)
    found.after.quantities["cost"] = Quantity("cost", np.array([got]), unit, "", [_NOTE])
