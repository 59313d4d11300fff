"""Units of facts, and the few conversions the seed text needs."""

from __future__ import annotations

CELSIUS_ZERO_K = 273.15


def kelvin(celsius: float) -> float:
    """Convert a temperature from degrees Celsius to kelvin.

    Examples
    --------
    >>> kelvin(25.0)
    298.15
    """
    return celsius + CELSIUS_ZERO_K


def significant(number: float, digits: int = 6) -> float:
    """Round to significant digits; integers that fit stay whole.

    Examples
    --------
    >>> significant(1234.56789)
    1234.57
    """
    return float(f"{number:.{digits}g}")
