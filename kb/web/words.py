"""Figures, ranges and evidence as a page says them; filters of the templates."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

from kb.report import words as _words
from kb.report.paper import figure as _figure
from kb.report.paper import printable, signed, span
from kb.report.tree import Tree

FILTERS = (
    *("figure", "signed", "span", "unit_word", "quantity_name", "plain", "level"),
    *("measured", "evidence_word", "property_name", "reach", "quoted", "query", "percent"),
    *("moved", "verdict_word", "score", "sentence"),
)
_EVIDENCE = {
    "published": "read in the source",
    "data sheet": "on your data sheet",
    "derived": "worked out from other facts",
    "common practice": "common practice, no one source",
    "memory": "recalled, not looked up again",
}
_VERDICTS = {"works": "Works", "careful": "With care", "fails": "Fails"}
_LEVELS = {"problem": "Problem", "caution": "Caution", "note": "Note"}
#: Digits of the ranges that two would hide.
_DIGITS = {"water_activity": 3, "density": 3, "dispersed_fraction": 3}

__all__ = ["FILTERS", "signed", "span"]


def quantity_name(name: str) -> str:
    """Return how a quantity is called."""
    return _words.quantity_name(name).replace("degC", "°C")


def unit_word(unit: str) -> str:
    """Return a unit as written behind a figure; nothing for plain numbers."""
    return _words.unit_word(unit).replace("degC", "°C").replace("mm2", "mm²")


def figure(value: float | None, digits: int = 3) -> str:
    """Write a figure with few digits; an en dash where there is none."""
    return "–" if value is None else _figure(value, digits)


def plain(text: object) -> str:
    """Return text without what no reader sees."""
    return printable(str(text)).replace("degC", "°C")


def sentence(text: str) -> str:
    """Return text with a capital first; names in it stay as they are."""
    return text[:1].upper() + text[1:]


def level(word: str) -> str:
    """Return how a level of a finding is called."""
    return _LEVELS.get(word, word)


def verdict_word(word: str) -> str:
    """Return how a verdict is called."""
    return _VERDICTS.get(word, word)


def evidence_word(word: str) -> str:
    """Return what a rung of evidence means."""
    return _EVIDENCE.get(word, word)


def property_name(name: str) -> str:
    """Return a property as words."""
    return name.replace("_", " ")


def percent(value: float | None) -> str:
    """Write a percent by mass."""
    return "–" if value is None else f"{value:.4g}"


def score(value: float) -> str:
    """Write a score of 100."""
    return f"{100.0 * value:.0f}"


def measured(fact: Tree, digits: int = 3) -> str:
    """Return a fact's value, or its range where that is all that is known."""
    if fact["value"] is not None:
        return figure(fact["value"], digits)
    ends = fact["low"], fact["high"]
    return span(*ends, digits) or figure(ends[0] if ends[0] is not None else ends[1], digits)


def reach(thing: Tree, digits: int = 2, name: str = "") -> str:
    """Return the range of a fact or quantity as words, nothing where there is none."""
    if thing["value"] is None or isinstance(thing["low"], dict):
        return ""
    return span(thing["low"], thing["high"], _DIGITS.get(name, digits))


def quoted(text: str) -> str:
    """Return text as one part of an address."""
    return quote(text, safe="")


def query(pairs: dict[str, Any]) -> str:
    """Return the query of an address, without what is empty."""
    kept: list[tuple[str, str]] = []
    for name, value in pairs.items():
        values = value if isinstance(value, list) else [value]
        kept += [(name, str(v)) for v in values if v not in ("", None)]
    return "?" + urlencode(kept) if kept else ""


def moved(effect: Tree) -> str:
    """Return a change as words: a factor or a difference."""
    change = effect["change"]
    if change["value"] is None or isinstance(change["value"], dict):
        return "–"
    if change["kind"] == "ratio":
        value = change["value"]
        return f"× {value:.2f}" if 0.1 <= value < 10 else f"× {_figure(value, 2)}"
    return signed(change["value"])
