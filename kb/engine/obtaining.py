"""What getting hold of a material costs a stand-in: in stock, sold in small packs, to order."""

from __future__ import annotations

from kb.engine.context import Context
from kb.store.snapshot import Snapshot

#: What the trade does not hold costs at most this share: it decides between near equals, no more.
#: Within the tolerances of the traits dozens of esters or oils are equal, and then a maker takes
#: the one that is sold.
_HARD_TO_GET_COST = 0.15
_BEST_SOLD = 2.0
#: A material of which nothing is said is taken to be nearer to hard to get.
_UNSAID = 0.4
#: What must be bought first is worth a little less, and less than anything in stock.
_AWAY_COST = 0.8


def in_stock(material: str, c: Context) -> float:
    """Return what not being in stock costs where stock is preferred."""
    away = c.preferred is not None and not listed(material, c.preferred)
    return _AWAY_COST if away else 1.0


def sold(material: str, base: Snapshot) -> float:
    """Return what having to look for a seller costs, 0 to 1."""
    known = base.value(material, "availability", _UNSAID)
    return 1.0 - _HARD_TO_GET_COST * (1.0 - min(known / _BEST_SOLD, 1.0))


def at_hand(material: str, c: Context) -> float:
    """Return what getting hold of a material costs in all."""
    return in_stock(material, c) * sold(material, c.base)


def listed(material: str, stock: set[str]) -> bool:
    """Tell whether a material, or its generic grade, is in a stock."""
    return bool({material, material.split("--")[0]} & stock)
