"""What a formula says beside its lines, as rows above a table: `# pH;5,2`, `# product: market;EU`.

A row whose first cell begins with ``#`` is a remark to any other reader. Text that would read as
something else stands in quotes, as in TOML; a note has one row for each of its lines.
"""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Iterable

from kb.formula.model import Formula
from kb.formula.names import normalise
from kb.formula.toml_value import key_text, number_text, value_text

#: Words of the head by language, in the order of `KEYS`.
KEYS = ("name", "system", "ph", "note", "product", "measured", "version", "total")
WORDS: dict[str, tuple[str, ...]] = {
    "en": ("name", "system", "pH", "note", "product", "measured", "version", "total"),
    "de": ("Name", "System", "pH", "Notiz", "Produkt", "gemessen", "Fassung", "Summe"),
    "fr": ("nom", "systeme", "pH", "note", "produit", "mesure", "version", "total"),
    "es": ("nombre", "sistema", "pH", "nota", "producto", "medido", "version", "total"),
    "it": ("nome", "sistema", "pH", "nota", "prodotto", "misurato", "versione", "totale"),
}
_KEY_OF = {
    normalise(word): key for words in WORDS.values() for key, word in zip(KEYS, words, strict=True)
}
_COMMA = re.compile(r"-?\d+,\d+(e[+-]?\d+)?")
#: Lines that add up to one would be read as shares of 1; the head then says what they add up to.
_LIKE_SHARES = 0.005


def head_rows(formula: Formula, language: str, *, comma: bool) -> list[list[str]]:
    """Return the rows that stand above the table."""
    word = dict(zip(KEYS, WORDS[language], strict=True))

    def number(value: float, *, exact: bool = False) -> str:
        text = repr(value) if exact else number_text(value)
        return text.replace(".", ",") if comma else text

    rows: list[tuple[str, str]] = []
    if formula.name:
        rows.append((word["name"], formula.name))
    if formula.system:
        rows.append((word["system"], formula.system))
    if formula.ph is not None:
        rows.append((word["ph"], number(formula.ph)))
    rows += [(word["note"], line) for line in formula.note.split("\n") if formula.note]
    for block in ("product", "measured"):
        for key, value in getattr(formula, block).items():
            text = number(value, exact=True) if type(value) is float else _cell(value)
            rows.append((f"{word[block]}: {key_text(key)}", text))
    rows += [(word["version"], value_text(one)) for one in formula.versions]
    if abs(formula.total - 1.0) <= 2 * _LIKE_SHARES:
        rows.append((word["total"], number(formula.total)))
    return [[f"# {first}", text] for first, text in rows]


def _cell(value: object) -> str:
    """Return a value as a cell that reads as the same value."""
    if isinstance(value, str):
        plain = value == " ".join(value.split()) and value and not value.startswith("'")
        return value if plain and _value(value) == value else value_text(value)
    return value_text(value)


def _value(cell: str) -> object:
    """Return what a cell holds: a TOML value where it is one, else its text."""
    if _COMMA.fullmatch(cell):
        return float(cell.replace(",", "."))
    try:
        return tomllib.loads(f"v = {cell}")["v"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return cell


def read_head(rows: Iterable[tuple[str, str]]) -> dict[str, object]:
    """Return the head as the tree that TOML text would give; rows of other words are remarks.

    Parameters
    ----------
    rows : iterable of pairs of str
        First and second cell of each row that begins with ``#``.
    """
    tree: dict[str, object] = {}
    notes: list[str] = []
    blocks: dict[str, dict[str, object]] = {"product": {}, "measured": {}}
    versions: list[object] = []
    for first, second in rows:
        word, _, rest = first.removeprefix("#").strip().partition(":")
        key, name = _KEY_OF.get(normalise(word), ""), rest.strip()
        if key in blocks and name:
            unquoted = _value(name)
            text = unquoted if name.startswith('"') and isinstance(unquoted, str) else name
            value = _value(second)
            blocks[key][text] = value
        elif name:
            continue
        elif key == "note":
            notes.append(second)
        elif key == "version":
            versions.append(_value(second))
        elif key in {"ph", "total"}:
            value = _value(second)
            tree[key] = value if not isinstance(value, datetime.date) else second
        elif key in {"name", "system"} and second:
            tree[key] = second
    if notes:
        tree["note"] = "\n".join(notes)
    if versions:
        tree["version"] = versions
    return tree | {name: block for name, block in blocks.items() if block}
