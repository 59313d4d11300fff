"""Read what is in stock: a CSV with a name on each line, perhaps a price, other columns as any."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from kb.errors import FormulaError
from kb.formula.headers import header_kind
from kb.formula.layout import DELIMITERS, read_rows
from kb.formula.names import normalise
from kb.formula.numbers import MASSES, amount_in, number_in
from kb.formula.reading import decode, read_bytes

_PRICES = ("price", "preis", "prix", "precio", "prezzo")
_COSTS = ("cost", "kosten", "cout", "costo")
_PACKS = ("pack", "pack g", "per", "gebinde", "packung")
_STOCKS = ("stock", "stock g", "amount", "bestand", "vorrat", "menge")
_CURRENCIES = ("currency", "wahrung", "waehrung", "devise", "moneda", "valuta")
_SIGNS = {"€": "EUR", "$": "USD", "£": "GBP"}
_CURRENCY = r"\b(EUR|USD|GBP|CHF|SEK|NOK|DKK|PLN|CZK|CAD|AUD|JPY|INR|BRL|ZAR)\b"


_PER = r"(?:/|\bper\b|\bpro\b|\bje\b|\bpar\b|\bpor\b|\bal\b)\s*(\d*)\s*(\w+)"


@dataclass(frozen=True, slots=True)
class Stock:
    """Names on a stock list, what a kilogram costs and how many grams are there, where told."""

    names: list[str]
    prices: dict[str, float] = field(default_factory=dict)
    currency: str = ""
    grams: dict[str, float] = field(default_factory=dict)


def read_shelf(path: str) -> list[str]:
    """Return the names on a stock list; see `read_stock`."""
    return read_stock(path).names


def read_stock(path: str) -> Stock:
    """Return the names on a stock list, with prices per kilogram where a column gives them.

    A price column is one whose heading says price, or cost per kg; ``per g`` and ``per 100 g`` are
    brought to kilograms, any other measure is left out. Beside a column ``pack`` the price is that
    of a pack. The currency stands in the heading or in a column of its own.

    Raises
    ------
    FormulaError
        The file cannot be read or has no names.
    """
    text = decode(read_bytes(path, "stock list"), path)
    lines = [line for line in text.splitlines() if line.strip()]
    usual = (d for d in DELIMITERS if sum(d in line for line in lines) > len(lines) / 2)
    rows = [row.cells for row in read_rows(text, next(usual, "\n"), path)]
    kinds = [header_kind(cell) for cell in rows[0]] if rows else []
    column = next((kinds.index(kind) for kind in ("inci", "name") if kind in kinds), None)
    body = rows if column is None else rows[1:]
    here = column or 0
    named = [row for row in body if len(row) > here and any(c.isalnum() for c in row[here])]
    if not named:
        raise FormulaError("The stock list has no names.", path, "One material name a line.")
    names = [row[here] for row in named]
    if column is None:
        return Stock(names)
    measures = [_per_kilogram(cell) for cell in rows[0]]
    priced = next((n for n, factor in enumerate(measures) if factor is not None), None)
    found = _columns(rows[0])
    grams: dict[str, float] = {}
    there = found.get("stock")
    for row in named if there is not None else ():
        if there is not None and len(row) > there and row[there]:
            grams[row[here]] = grams.get(row[here], 0.0) + 1000.0 * _kilograms(row[there])
    # What is used up is not in stock; what it cost is told all the same.
    names = [name for name in names if grams.get(name) != 0.0]
    if priced is None:
        return Stock(names, grams=grams)
    pack, money = found.get("pack"), found.get("currency")
    factor = 1.0 if pack is not None else measures[priced] or 1.0
    prices: dict[str, float] = {}
    currency = _currency(rows[0][priced])
    for row in named:
        price = _price(row[priced]) if len(row) > priced else None
        mass = 1.0
        if pack is not None:
            mass = _kilograms(row[pack]) if len(row) > pack else 0.0
        if price is None or mass <= 0.0:
            continue
        prices[row[here]] = factor * price / mass
        if money is not None and len(row) > money:
            currency = currency or row[money].strip().upper()
    return Stock(names, prices, currency, grams)


def _columns(header: list[str]) -> dict[str, int]:
    found = {}
    for kind, words in (("pack", _PACKS), ("currency", _CURRENCIES), ("stock", _STOCKS)):
        place = next((n for n, cell in enumerate(header) if normalise(cell) in words), None)
        if place is not None:
            found[kind] = place
    return found


def _kilograms(cell: str) -> float:
    """Return a pack in kilograms, a bare number being grams; 0 where it is none."""
    number, unit = amount_in(cell)
    return 0.0 if math.isnan(number) or number < 0 else number * MASSES.get(unit, 1.0) / 1000.0


def _per_kilogram(heading: str) -> float | None:
    """Return the factor from a price column to one per kilogram; none for any other column.

    Examples
    --------
    >>> _per_kilogram("Price per kg"), _per_kilogram("EUR/100 g"), _per_kilogram("kg")
    (1.0, 10.0, None)
    """
    word = normalise(heading)
    per = re.search(_PER, heading.casefold())
    priced = any(p in word for p in _PRICES)
    if not priced and not (per and (any(c in word for c in _COSTS) or _currency(heading))):
        return None
    if per is None:
        return 1.0
    return {"kg": 1.0, "100g": 10.0, "1g": 1000.0, "g": 1000.0, "1kg": 1.0}.get(per[1] + per[2])


def _currency(heading: str) -> str:
    found = re.search(_CURRENCY, heading.upper())
    return found[1] if found else next((c for s, c in _SIGNS.items() if s in heading), "")


def _price(cell: str) -> float | None:
    try:
        value = number_in(re.sub(r"[€$£]|\b[A-Za-z]{3}\b", "", cell).strip())
    except (ValueError, FormulaError):
        return None
    return value if value >= 0.0 else None
