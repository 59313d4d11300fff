"""Stock lists given on the command line: what may be used, what comes first, what it costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kb.cli.output import tell
from kb.errors import UsageError

if TYPE_CHECKING:
    from kb.engine.stock import Held
    from kb.formula.shelf import Stock
    from kb.store.snapshot import Snapshot

#: Stands for the shelf that `kb own shelf` keeps, where a list may be named.
KEPT = "the kept shelf"


@dataclass(frozen=True, slots=True)
class Stocks:
    """Materials that alone may be used, materials preferred, and what is held of which."""

    only: frozenset[str] | None
    preferred: frozenset[str] | None
    held: Held

    @property
    def prices(self) -> dict[str, float]:
        """Price per kilogram by material."""
        return self.held.prices

    @property
    def currency(self) -> str:
        """Currency of the prices, if the lists tell."""
        return self.held.currency


def read_stocks(shelf: str, prefer_shelf: str, base: Snapshot) -> Stocks:
    """Read the lists of ``--shelf`` and ``--prefer-shelf``; unknown names are told, not fatal.

    Raises
    ------
    UsageError
        The kept shelf is asked for and is empty.
    """
    from kb.engine.stock import held, joined

    stocks = {path: _read(path) for path in dict.fromkeys((shelf, prefer_shelf)) if path}
    known = {
        path: known_names([*stock.names, *stock.prices], path, base)
        for path, stock in stocks.items()
    }

    def usable(path: str) -> frozenset[str] | None:
        if path not in stocks:
            return None
        # What is used up has a price and is still not there.
        return frozenset(known[path][n] for n in stocks[path].names if n in known[path])

    return Stocks(
        usable(shelf),
        usable(prefer_shelf),
        joined(held(stock, known[path]) for path, stock in stocks.items()),
    )


def _read(name: str) -> Stock:
    from kb.formula.shelf import read_stock

    if name != KEPT:
        return read_stock(name)
    from kb.own.shelf import kept_stock

    stock = kept_stock()
    if not stock.names:
        raise UsageError(
            "Nothing usable is on the kept shelf.",
            "--shelf",
            "`kb own shelf FILE` fills it; or name a stock list.",
        )
    return stock


def known_names(stock: Iterable[str], shelf: str, base: Snapshot) -> dict[str, str]:
    """Resolve a stock list to materials; unknown names are told, not fatal."""
    found: dict[str, str] = {}
    for name in dict.fromkeys(stock):
        answer = base.names.resolve(name)
        if answer.match is None:
            tell(f"{shelf}: {name!r} is not known and is left out.")
        else:
            found[name] = answer.match.material
    return found
