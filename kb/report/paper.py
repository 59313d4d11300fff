"""Plain text at a given width: wrapping, columns, figures a reader takes in at a glance."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

WIDTH = 80


def wrap(text: str, indent: str = "", hang: str = "  ") -> list[str]:
    """Wrap a sentence to the width; following lines hang."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + hang,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [indent.rstrip()]


def figure(value: float | None, digits: int = 3) -> str:
    """Write a figure with few digits and no exponent up to a million.

    Examples
    --------
    >>> figure(23467.0), figure(0.01234), figure(None)
    ('23,500', '0.0123', '-')
    """
    if value is None:
        return "-"
    if value == 0:
        return "0"
    rounded = float(f"{value:.{digits}g}")
    if abs(rounded) >= 1e7 or abs(rounded) < 1e-4:
        return f"{rounded:.{digits - 1}e}"
    if abs(rounded) >= 1000:
        return f"{rounded:,.0f}"
    return f"{rounded:.{digits}g}"


def span(low: float | None, high: float | None, digits: int = 2) -> str:
    """Write a range, or nothing."""
    if low is None or high is None:
        return ""
    return f"{figure(low, digits)} to {figure(high, digits)}"


def table(rows: Sequence[Sequence[str]], align: str, indent: str = "") -> list[str]:
    """Set rows in columns; ``align`` holds one of ``<`` and ``>`` for each column."""
    if not rows:
        return []
    widths = [max(len(row[n]) for row in rows) for n in range(len(align))]
    lines = []
    for row in rows:
        cells = [f"{cell:{a}{w}}" for cell, a, w in zip(row, align, widths, strict=True)]
        lines.append((indent + "  ".join(cells)).rstrip())
    return lines


def bullet(items: Iterable[str], mark: str = "-") -> list[str]:
    """Return wrapped bullet points."""
    return [line for item in items for line in wrap(f"{mark} {item}", "  ", "  ")]
