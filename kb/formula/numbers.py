"""Percents as people write them: 2.5, 2,5, 2.5 %, q.s., to 100."""

from __future__ import annotations

import math
import re

from kb.errors import FormulaError

_BALANCE = re.compile(
    r"(q\.?\s*s\.?\s*p?\.?|c\.?\s*s\.?\s*p\.?|quantum satis|balance|rest|remainder|reste|ad|to|auf|"
    r"bis|hasta|up to|a)?\s*(q\.?s\.?)?\s*(ad|to|auf|zu|a|à|hasta)?\s*(100([.,]0+)?)?\s*%?",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"[-+]?(\d+([.,]\d+)?|[.,]\d+)")


def is_balance(text: str) -> bool:
    """Tell whether a cell means "what is left to 100 %".

    Examples
    --------
    >>> is_balance("q.s."), is_balance("ad 100,0"), is_balance("to 100 %"), is_balance("100")
    (True, True, True, False)
    """
    word = text.strip()
    if not word or _NUMBER.fullmatch(word.rstrip(" %")):
        return False
    return _BALANCE.fullmatch(word) is not None


def read_percent(value: object, place: str, given: str) -> float:
    """Read one percent.

    Raises
    ------
    FormulaError
        It is no number, negative, or above 100.
    """
    if isinstance(value, bool) or value is None:
        number = math.nan
    elif isinstance(value, (int, float)):
        number = float(value)
    else:
        number = _from_text(str(value))
    if not math.isfinite(number):
        raise FormulaError(
            f"The percent of {given!r} is {value!r}.", place, "Write a number such as 2.5, or q.s."
        )
    if number < 0:
        raise FormulaError(
            f"The percent of {given!r} is {number:g}.", place, "A percent cannot be negative."
        )
    if number > 100:
        raise FormulaError(
            f"The percent of {given!r} is {number:g}.", place, "A percent is at most 100."
        )
    return number


def _from_text(text: str) -> float:
    word = text.replace("\u00a0", " ").replace("\u202f", " ").strip().rstrip("%").strip()
    word = re.sub(r"\s*(w/w|m/m|g|gr|gew\.?-?)$", "", word, flags=re.IGNORECASE).strip()
    if re.fullmatch(r"\d{1,3}( \d{3})+([.,]\d+)?", word):
        word = word.replace(" ", "")
    if re.fullmatch(r"\d{1,3}(\.\d{3})+,\d+", word):
        word = word.replace(".", "")
    if not _NUMBER.fullmatch(word):
        return math.nan
    return float(word.replace(",", "."))
