"""Amounts as people write them: 2.5, 2,5, 2.5 %, 5,00E-02, 12 g, q.s., to 100."""

from __future__ import annotations

import math
import re
import unicodedata

from kb.errors import FormulaError
from kb.formula.clean import one_line

_NUMBER = re.compile(r"[-+]?(\d+([.,]\d*)?|[.,]\d+)(e[-+]?\d{1,3})?")
_FULL = r"(?P<full>\d[\d., ']*)"
_SUFFICIENT = (
    r"q\.? ?s\.?( ?p\.?)?|c\.? ?s\.? ?p\.?|c\.? ?s\.?|q\.? ?b\.?|quantum satis|quantum sufficit|"
    r"quanto basta|quantite suffisante|cantidad suficiente|bal\.?|balance|remainder|rest|reste|"
    r"resto|restante"
)
_UP_TO = (
    r"to|up to|to make|make up to|made up to|ad|auf|zu|bis|a|au|jusqu'? ?a|pour|para|hasta|fino a|"
    r"per|->|=>|→"
)
_UNIT = r"(%|g|gr|gram|grams|gramm|grammes|gramos|grammi)?"
_BALANCE = (
    re.compile(rf"({_SUFFICIENT})( ?({_UP_TO}))?( ?\(?{_FULL}\)?)? ?{_UNIT}"),
    re.compile(rf"({_UP_TO}) ?{_FULL} ?{_UNIT}"),
)
#: Words after a number that mean percent by mass.
_PERCENT_WORDS = re.compile(r" ?(%|w/w|m/m|wt\.?|p/p|gew\.?-?)$")
#: Units of mass, in grams.
MASSES = {"kg": 1000.0, "mg": 0.001} | dict.fromkeys(
    ("g", "gr", "gram", "grams", "gramm", "gramme", "grammes", "gramos", "grammi"), 1.0
)


def _plain(text: str) -> str:
    folded = unicodedata.normalize("NFKD", one_line(text).casefold())
    folded = "".join(c for c in folded if not unicodedata.combining(c))
    return folded.replace("\u2212", "-").replace("’", "'").strip()


def balance_total(text: str) -> float | None:
    """Return the total a cell fills up to, ``inf`` when it names none, nothing when it is none.

    Examples
    --------
    >>> balance_total("ad 500,0 g"), balance_total("q.s."), balance_total("100 %")
    (500.0, inf, None)
    """
    word = _plain(text)
    for shape in _BALANCE:
        match = shape.fullmatch(word)
        if match:
            full = match["full"]
            total = number_in(full) if full else math.inf
            return None if math.isnan(total) else total
    return None


def is_balance(text: str) -> bool:
    """Tell whether a cell means "what is left to 100 %".

    Examples
    --------
    >>> is_balance("q.s."), is_balance("ad 100,0"), is_balance("to 100 %"), is_balance("100")
    (True, True, True, False)
    """
    return balance_total(text) in {100.0, math.inf}


def number_in(text: str) -> float:
    """Read a number with either decimal mark and thousands separators; NaN when it is none.

    Examples
    --------
    >>> number_in("1.234,5"), number_in("1'234.5"), number_in("2,5 % w/w"), number_in("5,00E-02")
    (1234.5, 1234.5, 2.5, 0.05)
    """
    word = _plain(text)
    while True:
        shorter = _PERCENT_WORDS.sub("", word).strip()
        if shorter == word:
            break
        word = shorter
    for thousands, decimal in ((" ", ".,"), ("'", ".,"), (".", ","), (",", ".")):
        mark, point = re.escape(thousands), re.escape(decimal)
        many = rf"[-+]?\d{{1,3}}({mark}\d{{3}}){{2,}}([{point}]\d+)?"
        one = rf"[-+]?\d{{1,3}}{mark}\d{{3}}" + (
            rf"([{point}]\d+)?" if thousands in " '" else rf"[{point}]\d+"
        )
        if re.fullmatch(many, word) or re.fullmatch(one, word):
            word = word.replace(thousands, "")
            break
    if not _NUMBER.fullmatch(word):
        return math.nan
    return float(word.replace(",", "."))


def amount_in(text: str) -> tuple[float, str]:
    """Read a number and the unit of mass behind it, if one is written.

    Examples
    --------
    >>> amount_in("1.5 kg"), amount_in("250")
    ((1.5, 'kg'), (250.0, ''))
    """
    word = _plain(text)
    match = re.fullmatch(r"(.*?) ?([a-z]+)\.?", word)
    if match and match[2] in MASSES:
        return number_in(match[1]), match[2]
    return number_in(word), ""


def read_percent(value: object, place: str, given: str) -> float:
    """Read one percent; grams to a hundred are percents too.

    Raises
    ------
    FormulaError
        It is no number, negative, or above 100.
    """
    number = math.nan
    if isinstance(value, str):
        number, unit = amount_in(value)
        if unit and MASSES[unit] != 1.0:
            number = math.nan
    elif isinstance(value, int | float) and not isinstance(value, bool):
        number = float(min(max(value, -1e9), 1e9))
    if math.isnan(number):
        raise FormulaError(
            f"The percent of {given!r} is {short(value)}.",
            place,
            "This was never worked out: open the file in a spreadsheet program and save it."
            if isinstance(value, str) and value.startswith("=")
            else "Write a number such as 2.5, or q.s. on the one line that fills up to 100.",
        )
    if number < 0:
        raise FormulaError(
            f"The percent of {given!r} is {number:g}.",
            place,
            "A percent cannot be negative: write the amount that goes in.",
        )
    if number > 100:
        raise FormulaError(
            f"The percent of {given!r} is {number:g}.",
            place,
            "A percent is at most 100; if these are grams, head the column `grams`.",
        )
    return number + 0.0


def short(value: object) -> str:
    """Return a value as it would be typed, cut to what fits in a message."""
    try:
        shown = repr(value)
    except (ValueError, RecursionError):
        return "unreadable"
    return shown if len(shown) <= 60 else shown[:57] + "..."
