"""What a batch costs and takes from the shelf, and when a change has paid for its tests."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from kb.engine.answers import Swap, SwapResult
from kb.formula.shelf import Stock

#: Less than this is nothing, g.
_NOTHING_G = 1e-6


@dataclass(frozen=True, slots=True)
class Held:
    """Price per kilogram and grams in stock, by material; what is not known is left out."""

    prices: dict[str, float] = field(default_factory=dict)
    grams: dict[str, float] = field(default_factory=dict)
    currency: str = ""

    def price(self, material: str) -> float | None:
        """Return what a kilogram costs; a grade without a price costs what the plain one does."""
        return self.prices.get(material, self.prices.get(material.split("--")[0]))

    def stock(self, material: str) -> float | None:
        """Return the grams in stock."""
        return self.grams.get(material, self.grams.get(material.split("--")[0]))


@dataclass(frozen=True, slots=True)
class Taken:
    """What a batch takes of one material: grams needed, in stock, and what that costs."""

    material: str
    needed_g: float
    have_g: float | None
    cost: float | None

    @property
    def short_g(self) -> float:
        """Grams that are missing for this batch."""
        return max(0.0, self.needed_g - self.have_g) if self.have_g is not None else 0.0


@dataclass(frozen=True, slots=True)
class Money:
    """What a batch costs, what has no price, and how often the shelf lasts."""

    batch_g: float
    currency: str
    cost: float | None
    taken: tuple[Taken, ...]
    unpriced: tuple[str, ...]

    @property
    def batches_left(self) -> int | None:
        """Whole batches that the shelf gives, as far as it states amounts."""
        counts = [
            math.floor((t.have_g + _NOTHING_G) / t.needed_g)
            for t in self.taken
            if t.have_g is not None and t.needed_g > _NOTHING_G
        ]
        return min(counts, default=None)

    @property
    def runs_out(self) -> tuple[Taken, ...]:
        """What this batch uses up or lacks, and else what will be missing first."""
        short = [t for t in self.taken if t.have_g is not None and t.short_g > _NOTHING_G]
        if short:
            return tuple(sorted(short, key=lambda t: -t.short_g))
        left = self.batches_left
        return tuple(
            t
            for t in self.taken
            if t.have_g is not None
            and t.needed_g > _NOTHING_G
            and math.floor((t.have_g + _NOTHING_G) / t.needed_g) == left
        )


def held(stock: Stock, material_of: Mapping[str, str]) -> Held:
    """Return a stock list by material.

    Parameters
    ----------
    stock : Stock
    material_of : mapping of str to str
        Material of each name that is known.
    """
    prices: dict[str, float] = {}
    grams: dict[str, float] = {}
    for name, material in material_of.items():
        if name in stock.prices:
            prices[material] = max(stock.prices[name], prices.get(material, 0.0))
        if name in stock.grams:
            grams[material] = grams.get(material, 0.0) + stock.grams[name]
    return Held(prices, grams, stock.currency)


def joined(parts: Iterable[Held]) -> Held:
    """Return several stock lists as one; the first that names a price or amount counts."""
    prices: dict[str, float] = {}
    grams: dict[str, float] = {}
    currency = ""
    for part in parts:
        prices = part.prices | prices
        grams = part.grams | grams
        currency = currency or part.currency
    return Held(prices, grams, currency)


def money_of(held: Held, percents: Mapping[str, float], batch_g: float) -> Money:
    """Return what a batch costs and takes.

    Parameters
    ----------
    held : Held
    percents : mapping of str to float
        Percent by material.
    batch_g : float
        Mass of the batch, g.
    """
    taken = []
    for material, percent in percents.items():
        if percent <= 0.0:
            continue
        needed, price = batch_g * percent / 100.0, held.price(material)
        cost = None if price is None else price * needed / 1000.0
        taken.append(Taken(material, needed, held.stock(material), cost))
    known = [t.cost for t in taken if t.cost is not None]
    return Money(
        batch_g,
        held.currency,
        sum(known) if known else None,
        tuple(taken),
        tuple(t.material for t in taken if t.cost is None),
    )


@dataclass(frozen=True, slots=True)
class Worth:
    """What a stand-in does to the money: prices, the work it does, and when it has paid.

    ``function`` is what the work of the line costs in a kilogram of formula, before and after;
    ``saves`` is what one batch saves; ``once`` is what the change costs once.
    """

    price: tuple[float | None, float | None]
    function: tuple[float | None, float | None]
    saves: float | None
    once: float
    after: Money

    @property
    def break_even(self) -> int | None:
        """Batches until the change has paid for its tests and labels; none if it never does."""
        if self.saves is None or (self.once > 0.0 and self.saves <= 0.0):
            return None
        return break_even_batches(self.once, self.saves)


def break_even_batches(once: float, saves: float) -> int:
    """Return the batches after which what one saves adds up to what was spent once.

    Examples
    --------
    >>> break_even_batches(400.0, 30.0), break_even_batches(0.0, -1.0)
    (14, 0)
    """
    return 0 if once <= 0.0 else math.ceil(once / saves - 1e-9)


def worth_of(result: SwapResult, one: Swap, held: Held, batch_g: float, once: float) -> Worth:
    """Return what a stand-in does to the money of a batch.

    Parameters
    ----------
    result : SwapResult
    one : Swap
        With its cost among the effects, if the prices of all that changes are known.
    held : Held
    batch_g : float
        Mass of a batch, g.
    once : float
        Tests and labels of the change, in the currency of the shelf.
    """
    item = result.before.batch.items[result.index]
    material = one.candidate.material
    price = held.price(item.material), held.price(material)
    levels = item.percent, one.trial.percent
    function = tuple(
        None if p is None else p * level / 100.0 for p, level in zip(price, levels, strict=True)
    )
    change = one.effects.get("cost")
    value = change.value if change is not None else None
    saves = None if value is None else -value * batch_g / 1000.0
    after = money_of(held, one.trial.batch.by_material(), batch_g)
    return Worth(price, (function[0], function[1]), saves, once, after)
