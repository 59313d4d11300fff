"""What the user has in stock: amounts, prices, supplier in their words, lot, expiry."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from kb.formula.numbers import MASSES, amount_in, number_in
from kb.formula.shelf import Stock
from kb.own.adding import OwnProblemsError
from kb.own.content import changing, read_content
from kb.own.file import own_path
from kb.own.lists import Line, Sheet, read_table
from kb.store.seed import Problem

_COLUMNS = {
    "name": ("name", "material", "ingredient", "inci", "rohstoff", "bezeichnung"),
    "stock": ("stock", "amount", "stock_g", "bestand", "vorrat", "menge"),
    "price": ("price", "preis", "cost"),
    "pack": ("pack", "pack_g", "per", "gebinde", "packung"),
    "currency": ("currency", "waehrung"),
    "supplier": ("supplier", "lieferant"),
    "lot": ("lot", "batch", "charge"),
    "expiry": ("expiry", "best before", "best_before", "expires", "haltbar", "mhd"),
}


def take_shelf(name: str, path: Path) -> int:
    """Put a stock list in place of the stored one; return how many lines it has.

    Raises
    ------
    FormulaError
        The file cannot be read.
    OwnProblemsError
        It has faults; nothing was taken.
    """
    return keep_shelf(read_table(name), path)


def keep_shelf(sheet: Sheet, path: Path) -> int:
    """Put a stock list that was read in place of the stored one; return how many lines it has.

    Raises
    ------
    OwnProblemsError
        It has faults; nothing was taken.
    """
    rows, problems = shelf_rows(sheet)
    if problems:
        raise OwnProblemsError(problems, sheet.origin)
    with changing(path, f"shelf from {Path(sheet.origin).name}") as change:
        change.drop("shelf")
        for row in rows:
            change.put("shelf", row)
    return len(rows)


def shelf_rows(sheet: Sheet) -> tuple[list[dict[str, Any]], list[Problem]]:
    """Turn a stock list into rows, and say what is wrong with it."""
    problems: list[Problem] = []
    columns: dict[str, str] = {}
    for kind, words in _COLUMNS.items():
        named = next((c for c in sheet.columns if c in words), "")
        if named:
            columns[kind] = named
    if "name" not in columns:
        read = ", ".join(sheet.columns)
        problems.append(Problem(sheet.origin, 1, "name", read, "a column `name`"))
        return [], problems
    rows: list[dict[str, Any]] = []
    seen: dict[tuple[str, str], int] = {}
    for line in sheet.lines:
        row, found = _row(line, columns, sheet.origin)
        problems += found
        key = (row["name"].casefold(), row["lot"].casefold())
        if key in seen:
            wanted = f"each lot once; it stands on line {seen[key]} already"
            problems.append(Problem(sheet.origin, line.number, "lot", row["lot"], wanted))
        seen.setdefault(key, line.number)
        rows.append(row)
    return rows, problems


def _row(line: Line, columns: dict[str, str], origin: str) -> tuple[dict[str, Any], list[Problem]]:
    cells = {kind: line.get(column) for kind, column in columns.items()}
    problems: list[Problem] = []

    def fault(kind: str, wanted: str) -> None:
        problems.append(Problem(origin, line.number, columns[kind], cells[kind], wanted))

    if not any(c.isalnum() for c in cells["name"]):
        fault("name", "the name of a material")
    row: dict[str, Any] = {
        "name": cells["name"],
        "lot": cells.get("lot", ""),
        "currency": cells.get("currency", ""),
        "supplier": cells.get("supplier", ""),
        "expiry": cells.get("expiry", ""),
    }
    for kind, target in (("stock", "stock_g"), ("pack", "pack_g")):
        row[target] = None
        if cells.get(kind):
            row[target] = grams_in(cells[kind])
            if row[target] is None or (kind == "pack" and row[target] == 0):
                fault(kind, "grams or kilograms, such as 2.5 kg")
    row["price"] = None
    if cells.get("price"):
        price = number_in(cells["price"])
        if math.isnan(price) or price < 0:
            fault("price", "a plain number such as 18.50; the currency has a column of its own")
        else:
            row["price"] = price
            if row["pack_g"] is None and not any(p.column == columns.get("pack") for p in problems):
                problems.append(
                    Problem(origin, line.number, columns.get("pack", "pack"), "", "what it buys")
                )
    if row["expiry"]:
        try:
            datetime.date.fromisoformat(row["expiry"])
        except ValueError:
            fault("expiry", "a date as year-month-day, such as 2027-03-31")
    return row, problems


def grams_in(text: str) -> float | None:
    """Read an amount in grams; a number alone is grams.

    Examples
    --------
    >>> grams_in("2.5 kg"), grams_in("400"), grams_in("a jar")
    (2500.0, 400.0, None)
    """
    number, unit = amount_in(text)
    if math.isnan(number) or number < 0 or number > 1e9:
        return None
    return number * MASSES.get(unit, 1.0)


def shelf_table(rows: Iterable[dict[str, Any]]) -> list[list[str | float | None]]:
    """Return the shelf as a table that reads in again; amounts in grams."""
    head = ("name", "stock_g", "price", "pack_g", "currency", "supplier", "lot", "expiry")
    table: list[list[str | float | None]] = [list(head)]
    return table + [[row[column] for column in head] for row in rows]


def price_per_kg(row: dict[str, Any]) -> float | None:
    """Return what a kilogram costs, if the shelf tells."""
    if row["price"] is None or not row["pack_g"]:
        return None
    return 1000.0 * float(row["price"]) / float(row["pack_g"])


def kept_stock(path: Path | None = None, *, on: datetime.date | None = None) -> Stock:
    """Return the stored shelf as a stock list; what is used up or past its date is left out.

    A lot without a stated amount counts as in stock. Of several lots the dearest price counts, so
    that no saving is flattered; prices in another currency than the first are left out.
    """
    return usable(read_content(path or own_path())["shelf"], on or datetime.date.today())


def usable(rows: Iterable[dict[str, Any]], on: datetime.date) -> Stock:
    """Return the stock lines that hold something and are not past their date.

    Prices and amounts are told of what is used up too: it has cost something, and none is left.
    """
    every = list(rows)
    fresh = [row for row in every if not row["expiry"] or row["expiry"] >= on.isoformat()]
    names = dict.fromkeys(row["name"] for row in fresh if row["stock_g"] != 0)
    priced = [(row, price) for row in every if (price := price_per_kg(row)) is not None]
    currency = priced[0][0]["currency"] if priced else ""
    prices: dict[str, float] = {}
    for row, price in priced:
        if row["currency"] == currency:
            prices[row["name"]] = max(price, prices.get(row["name"], 0.0))
    grams: dict[str, float] = {}
    open_ended = {row["name"] for row in fresh if row["stock_g"] is None}
    for row in every:
        if row["name"] not in open_ended:
            there = float(row["stock_g"] or 0.0) if row in fresh else 0.0
            grams[row["name"]] = grams.get(row["name"], 0.0) + there
    return Stock(list(names), prices, currency, grams)
