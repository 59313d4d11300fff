"""Stock lists given on the command line: what may be used, what comes first, what it costs."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kb.cli.output import tell

if TYPE_CHECKING:
    from kb.store.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Stocks:
    """Materials that alone may be used, materials preferred, and prices per kilogram."""

    only: frozenset[str] | None = None
    preferred: frozenset[str] | None = None
    prices: dict[str, float] = field(default_factory=dict)
    currency: str = ""


def read_stocks(shelf: str, prefer_shelf: str, base: Snapshot) -> Stocks:
    """Read the lists of ``--shelf`` and ``--prefer-shelf``; unknown names are told, not fatal."""
    from kb.formula.shelf import read_stock

    stocks = {path: read_stock(path) for path in dict.fromkeys((shelf, prefer_shelf)) if path}
    known = {path: known_names(stock.names, path, base) for path, stock in stocks.items()}
    prices = {
        known[path][name]: price
        for path, stock in stocks.items()
        for name, price in stock.prices.items()
        if name in known[path]
    }
    only, first = known.get(shelf), known.get(prefer_shelf)
    return Stocks(
        frozenset(only.values()) if only is not None else None,
        frozenset(first.values()) if first is not None else None,
        prices,
        next((s.currency for s in stocks.values() if s.currency), ""),
    )


def known_names(stock: list[str], shelf: str, base: Snapshot) -> dict[str, str]:
    """Resolve a stock list to materials; unknown names are told, not fatal."""
    found: dict[str, str] = {}
    for name in stock:
        answer = base.names.resolve(name)
        if answer.match is None:
            tell(f"{shelf}: {name!r} is not known and is left out.")
        else:
            found[name] = answer.match.material
    return found
