"""What a swap costs or saves, where the prices of all that changes are known."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from kb.engine.answers import Change, Swap, SwapResult
from kb.engine.batch import Batch
from kb.engine.profile import Profile
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
    change = cost_change(old, found.trial.batch, prices, unit)
    if change is not None and change.after is not None:
        found.effects["cost"] = change
        put_cost(found.after, change.after, unit)


def put_cost(profile: Profile, cost: float, unit: str) -> None:
    """Put the cost of the lines that change into a profile."""
    profile.quantities["cost"] = Quantity("cost", np.array([cost]), unit, "", [_NOTE])


def cost_change(old: Batch, new: Batch, prices: Mapping[str, float], unit: str) -> Change | None:
    """Return what the lines that change cost before and after; none if a price is missing.

    Parameters
    ----------
    old, new : Batch
    prices : mapping of str to float
        Price per kilogram by material or generic material.
    unit : str
        Of the answer.
    """
    before, after = old.by_material(), new.by_material()
    moved = {m for m in {*before, *after} if abs(before.get(m, 0.0) - after.get(m, 0.0)) > _MOVED}
    price = {m: prices.get(m, prices.get(m.split("--")[0])) for m in moved}
    known = {m: p for m, p in price.items() if p is not None}
    if len(known) < len(moved):
        return None
    had, got = (
        sum(p * levels.get(m, 0.0) / 100.0 for m, p in sorted(known.items()))
        for levels in (before, after)
    )
    change = got - had
    return Change(had, got, unit, "difference", change, change, change)
