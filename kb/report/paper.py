"""Plain text at a given width: wrapping, columns, figures a reader takes in at a glance."""

from __future__ import annotations

import math
import re
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence

WIDTH = 80
#: Columns are kept at least this wide when they give way.
_LEAST = 10
_GAP = 2
#: Stands behind a character that takes two columns, so that counting is counting columns.
_SECOND = "\0"
#: Controls, directions, private and unassigned code points: nothing to read, some do harm.
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_EXPONENT = re.compile(r"(?<![\w.])\d(?:\.\d+)?e[+-]\d{2}\b")


class Heading(str):
    """A line that a terminal may show bold."""


class Alarm(str):
    """A line that a terminal may colour; its words say the same."""


def printable(text: str) -> str:
    r"""Return text without what a terminal would act on: escapes, directions, line breaks.

    Examples
    --------
    >>> printable("Shea\x1b[31m\u202e Butter\n")
    'Shea[31m Butter'
    """
    if text.isascii() and text.isprintable():
        return text
    seen = "".join(c for c in text if unicodedata.category(c) not in _UNSEEN)
    return unicodedata.normalize("NFC", seen)


def columns(text: str) -> int:
    """Return how many columns of a terminal a text takes."""
    return len(text) if text.isascii() else len(_spread(text))


def wrap(text: str, indent: str = "", hang: str = "  ", first: str | None = None) -> list[str]:
    """Wrap a sentence to the width; following lines hang, the first may start otherwise."""
    lines = textwrap.wrap(
        _spread(printable(" ".join(text.split()))),
        WIDTH,
        initial_indent=_spread(indent if first is None else first),
        subsequent_indent=indent + hang,
        break_long_words=True,
        break_on_hyphens=False,
    )
    return [line.replace(_SECOND, "") for line in lines] or [(first or indent).rstrip()]


def entry(label: str, text: str, width: int = 12, indent: str = "   ") -> list[str]:
    """Set a label in a column of its own, the text beside it."""
    return wrap(text, indent, " " * width, indent + label + " " * max(width - columns(label), 0))


def figure(value: float | None, digits: int = 3) -> str:
    """Write a figure with few digits; an exponent only where zeros could not be counted.

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
    if abs(rounded) >= 1e12 or abs(rounded) < 1e-7:
        return f"{rounded:.{digits - 1}e}"
    if abs(rounded) >= 1000:
        return f"{rounded:,.0f}"
    places = max(0, digits - 1 - math.floor(math.log10(abs(rounded))))
    text = f"{rounded:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def plain(text: str) -> str:
    """Write out figures with an exponent that stand in a sentence.

    Examples
    --------
    >>> plain("falls from 1.3e+02 to 0 Pa")
    'falls from 130 to 0 Pa'
    """
    return _EXPONENT.sub(lambda found: figure(float(found[0])), text)


def signed(value: float | None, digits: int = 2) -> str:
    """Write a difference with its sign."""
    if value is None:
        return "-"
    return figure(value, digits) if value <= 0 else f"+{figure(value, digits)}"


def span(low: float | None, high: float | None, digits: int = 2) -> str:
    """Write a range; with more digits where fewer would hide it, nothing where there is none."""
    if low is None or high is None or low == high:
        return ""
    for more in range(digits, 5):
        ends = figure(low, more), figure(high, more)
        if ends[0] != ends[1]:
            return f"{ends[0]} to {ends[1]}"
    return ""


def shares(numbers: Sequence[float]) -> list[str]:
    """Write percents of one list with the same number of decimals, three at most.

    Examples
    --------
    >>> shares([60.4, 0.75, 11.0])
    ['60.40', '0.75', '11.00']
    """
    places = 1
    for number in numbers:
        while places < 3 and abs(round(number, places) - number) > 0.5 * 10 ** -(places + 2):
            places += 1
    return [f"{number:.{places}f}" for number in numbers]


def fit(text: str, width: int) -> str:
    """Cut a text that is too wide, and show that it is cut."""
    text = printable(text)
    if columns(text) <= width:
        return text
    wide, end = _spread(text), max(width - 1, 0)
    if wide[end : end + 1] == _SECOND:  # a letter of two columns does not stand in one
        end -= 1
    return wide[: max(end, 0)].replace(_SECOND, "").rstrip() + "\u2026"


def table(
    rows: Sequence[Sequence[str]], align: str, indent: str = "", give: Sequence[int] = ()
) -> list[str]:
    """Set rows in columns.

    Parameters
    ----------
    rows : sequence of sequences of str
        Cells, the same number in each row.
    align : str
        One of ``<`` and ``>`` for each column.
    indent : str
        Goes before each row.
    give : sequence of int
        Columns that give way where the rows are wider than the page, the widest first; the others
        only when these have given all they can.
    """
    if not rows:
        return []
    cells = [[printable(cell) for cell in row] for row in rows]
    widths = [max(columns(row[n]) for row in cells) for n in range(len(align))]
    over = sum(widths) + _GAP * (len(widths) - 1) + len(indent) - WIDTH
    for group in (give, range(len(widths))):
        while over > 0 and (n := max(group, key=lambda n: widths[n], default=-1)) >= 0:
            if widths[n] <= _LEAST:
                break
            widths[n] -= 1
            over -= 1
    return [(indent + (" " * _GAP).join(map(_set, row, align, widths))).rstrip() for row in cells]


def _set(cell: str, align: str, width: int) -> str:
    text = fit(cell, width)
    room = " " * (width - columns(text))
    return room + text if align == ">" else text + room


def bullet(items: Iterable[str], mark: str = "-") -> list[str]:
    """Return wrapped bullet points."""
    return [line for item in items for line in wrap(f"{mark} {item}", "  ", "  ")]


def _spread(text: str) -> str:
    """Put a second character behind each that takes two columns."""
    if text.isascii():
        return text
    return "".join(c + _SECOND if unicodedata.east_asian_width(c) in "WF" else c for c in text)
