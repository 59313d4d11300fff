"""What a batch of the user's gave: logged with how it was measured, kept by formula."""

from __future__ import annotations

import datetime
import hashlib
import math
import re
import uuid
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kb.errors import UsageError
from kb.own.content import changing, read_content

#: What can be logged: unit, lowest and highest sensible value.
QUANTITIES: dict[str, tuple[str, float, float]] = {
    "consistency": ("mPa.s", 0.1, 1e8),
    "ph": ("pH", 0.0, 14.0),
    "melting": ("degC", -60.0, 200.0),
    "separation": ("%", 0.0, 100.0),
}
_HOURS = {"min": 1 / 60, "h": 1.0, "d": 24.0, "w": 168.0}


def formula_key(percents: Mapping[str, float]) -> str:
    """Return a key that two formulas share when they hold the same at the same percents.

    Parameters
    ----------
    percents : mapping of str to float
        Percent by material, or by name where no material is known.
    """
    rows = sorted(f"{name}:{percent:.3f}" for name, percent in percents.items() if percent > 0)
    return hashlib.sha256("\n".join(rows).encode()).hexdigest()


def hours_in(text: str) -> float:
    """Read an age: 24h, 2 d, 30 min; a number alone is hours.

    Raises
    ------
    UsageError
        It is no age.

    Examples
    --------
    >>> hours_in("24h"), hours_in("2 d"), hours_in("30 min")
    (24.0, 48.0, 0.5)
    """
    found = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(min|h|d|w)?", text.strip().casefold())
    if found is None:
        raise UsageError(f"{text!r} is no age.", "--age", "Write for example 24h, 2d or 30min.")
    return float(found[1].replace(",", ".")) * _HOURS[found[2] or "h"]


def log(
    path: Path,
    formula: str,
    name: str,
    values: Mapping[str, float],
    how: Mapping[str, Any],
    date: str = "",
    recipe: str = "",
) -> list[dict[str, Any]]:
    """Keep what a batch gave; return the rows.

    Parameters
    ----------
    path : Path
        The user's file.
    formula, name : str
        Key of the formula and what it is called.
    values : mapping of str to float
        Value by quantity.
    how : mapping
        ``instrument``, ``spindle``, ``speed``, ``age_h``, ``temperature_c``, ``note``.
    date : str
        Year-month-day; today when empty.
    recipe : str
        The formula as text, so that it can be predicted again.

    Raises
    ------
    UsageError
        A value or the date makes no sense.
    """
    if not values:
        raise UsageError(
            "No measurement is given.", "", "Add for example --consistency 42000 or --ph 5.4."
        )
    for quantity, value in values.items():
        unit, low, high = QUANTITIES[quantity]
        if not (math.isfinite(value) and low <= value <= high):
            raise UsageError(
                f"{quantity} is {value:g}.", f"--{quantity}", f"From {low:g} to {high:g} {unit}."
            )
    try:
        day = (datetime.date.fromisoformat(date) if date else datetime.date.today()).isoformat()
    except ValueError:
        raise UsageError(
            f"{date!r} is no date.", "--date", "Write year-month-day, such as 2027-03-31."
        ) from None
    rows = [
        {
            "id": uuid.uuid4().hex,
            "formula": formula,
            "name": name,
            "date": day,
            "quantity": quantity,
            "value": float(value),
            "instrument": how.get("instrument", ""),
            "spindle": how.get("spindle", ""),
            "speed": how.get("speed", ""),
            "age_h": how.get("age_h"),
            "temperature_c": how.get("temperature_c"),
            "note": how.get("note", ""),
            "recipe": recipe,
        }
        for quantity, value in values.items()
    ]
    with changing(path, f"measured {', '.join(values)} of {name or 'a formula'}") as change:
        for row in rows:
            change.put("measurement", row)
    return rows


def logged(path: Path, formula: str = "") -> list[dict[str, Any]]:
    """Return what was logged, newest first; of one formula when its key is given."""
    rows = read_content(path)["measurement"]
    found = [row for row in rows if not formula or row["formula"] == formula]
    return sorted(found, key=lambda r: (r["date"], r["quantity"], r["id"]), reverse=True)
