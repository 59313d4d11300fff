"""Read a formula from TOML text."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Iterable

from kb.errors import FormulaError
from kb.formula.clean import many_lines, one_line
from kb.formula.model import SYSTEMS, Formula, Line, Remark
from kb.formula.numbers import is_balance, read_percent, short

_KEYS = {"name", "system", "ph", "note", "product", "line", "measured", "version"}
_LINE_KEYS = {"ingredient", "percent", "stage", "role", "active", "locked", "note"}
_HEAD = re.compile(r"^\s*\[\[\s*line\s*\]\]\s*(#.*)?$")
_SIGNS = re.compile(
    r"^\s*(\[{1,2}\s*[\w\"'.-]+\s*\]{1,2}|(name|system|ph|note|line|lines)\s*=.*)\s*(#.*)?$", re.M
)
#: Other words for the kinds of product.
_SYSTEM_WORDS = {
    "wo": "w/o",
    "water in oil": "w/o",
    "w/o emulsion": "w/o",
    "water-in-oil": "w/o",
    "ow": "o/w",
    "oil in water": "o/w",
    "o/w emulsion": "o/w",
    "oil-in-water": "o/w",
    "gel": "water gel",
    "hydrogel": "water gel",
    "balm": "anhydrous",
    "water-free": "anhydrous",
}


def looks_like_toml(text: str, origin: str) -> bool:
    """Tell TOML from a table, by the file's ending, else by its first signs."""
    ending = origin.lower().rpartition(".")[2]
    if ending == "toml":
        return True
    if any(_HEAD.match(line) for line in text.splitlines()):
        return True
    return ending not in {"csv", "tsv", "txt", "xlsx"} and _SIGNS.search(text) is not None


def read_toml(text: str, origin: str) -> tuple[list[Line], Formula]:
    """Read lines and head of a formula in TOML; the head carries no lines yet.

    Raises
    ------
    FormulaError
        The text is no TOML, or a value in it cannot be what it should.
    """
    tree = _parsed(text, origin)
    rows = tree.get("line", [])
    if not isinstance(rows, list) or not rows:
        close = sorted(_KEYS_FOR_LINES & set(tree))
        raise FormulaError(
            "The file has no [[line]] tables" + (f", but `{close[0]}`." if close else "."),
            origin,
            "Write one [[line]] for each ingredient.",
        )
    remarks = [
        Remark("note", "unread-key", f"{origin}: `{one_line(key)}` is not read.{_hint(key, _KEYS)}")
        for key in sorted(set(tree) - _KEYS)
    ]
    places = _places(text, origin, len(rows))
    lines = [
        _line(row, place, remarks, number)
        for number, (row, place) in enumerate(zip(rows, places, strict=True), 1)
    ]
    return lines, head_of(tree, origin, remarks)


def head_of(tree: dict[str, object], origin: str, remarks: list[Remark]) -> Formula:
    """Return what a tree says beside the lines, as a formula without lines.

    Raises
    ------
    FormulaError
        A value in it cannot be what it should.
    """
    system = one_line(_text(tree, "system", origin)).lower()
    system = _SYSTEM_WORDS.get(system, system)
    if system and system not in SYSTEMS:
        raise FormulaError(
            f"`system` is {short(system)}.",
            origin,
            "Write one of " + ", ".join(SYSTEMS) + ", or leave it out." + _hint(system, SYSTEMS),
        )
    return Formula(
        lines=(),
        name=one_line(_text(tree, "name", origin)),
        system=system,
        ph=_ph(tree.get("ph"), origin),
        note=many_lines(_text(tree, "note", origin)),
        product=_block(tree, "product", origin),
        measured=_block(tree, "measured", origin),
        versions=_versions(tree.get("version", []), origin),
        origin=origin,
        remarks=tuple(remarks),
    )


_KEYS_FOR_LINES = {"line", "lines", "Line", "Lines", "ingredient", "ingredients", "item", "items"}


def _parsed(text: str, origin: str) -> dict[str, object]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        number = re.search(r"at line (\d+)", message)
        reason = re.sub(r" \(at (line \d+, column \d+|end of document)\)", "", message)
        place = f"{origin}:{number[1]}" if number else origin
        raise FormulaError(
            f"The TOML cannot be read: {reason}.", place, _toml_fix(text, number)
        ) from None
    except (ValueError, RecursionError):
        raise FormulaError(
            "The TOML cannot be read: it is nested too deeply or holds an endless number.",
            origin,
            "Write one [[line]] for each ingredient, with a name and a percent.",
        ) from None


def _toml_fix(text: str, number: re.Match[str] | None) -> str:
    rows = text.splitlines()
    row = rows[int(number[1]) - 1] if number and int(number[1]) <= len(rows) else ""
    if re.search(r"=\s*\d+,\d+", row):
        return "Write decimals with a point: 2.5."
    if re.search(r"=\s*(q\.?\s*s|ad |to )", row, re.IGNORECASE):
        return 'Write "q.s." in quotes.'
    if re.search(r"=\s*[\d.]+\s*%", row):
        return "Write the percent as a bare number: 2.5."
    if re.search(r"=\s*[^\W\d]", row):
        return 'Put text in quotes: "Glycerin".'
    return "Mend that line; text stands in quotes, decimals have a point, one key a line."


def _hint(key: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(key.lower()[:40], sorted(known), 1, 0.7)
    return f" Did you mean `{near[0]}`?" if near else ""


def _text(tree: dict[str, object], key: str, place: str) -> str:
    value = tree.get(key, "")
    if not isinstance(value, str):
        raise FormulaError(f"`{key}` is {short(value)}.", place, "Write text in quotes.")
    return value


def _ph(value: object, origin: str) -> float | None:
    if value is None:
        return None
    fix = "Write a number such as 5.2; pH lies between 0 and 14."
    if isinstance(value, bool) or not isinstance(value, int | float) or math.isnan(value):
        raise FormulaError(f"`ph` is {short(value)}, not a number.", origin, fix)
    if not 0 <= value <= 14:
        raise FormulaError(f"`ph` is {short(value)}.", origin, fix)
    return float(value)


def _block(tree: dict[str, object], key: str, origin: str) -> dict[str, object]:
    block = tree.get(key, {})
    if not isinstance(block, dict):
        raise FormulaError(
            f"`{key}` is {short(block)}, not a table.", origin, f"Write [{key}] on its own line."
        )
    return block


def _versions(found: object, origin: str) -> tuple[dict[str, object], ...]:
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
        raise FormulaError(
            f"`version` is {short(found)}.", origin, "Write [[version]] on a line of its own."
        )
    return tuple(found)


def _line(row: object, place: str, remarks: list[Remark], number: int) -> Line:
    if not isinstance(row, dict):
        raise FormulaError(
            f"Line {number} is {short(row)}, not a table.",
            place,
            "Write [[line]] with ingredient and percent below it.",
        )
    for key in sorted(set(row) - _LINE_KEYS):
        hint = _hint(key, _LINE_KEYS - set(row))
        text = f"{place}: `{one_line(key)}` is not read.{hint}"
        remarks.append(Remark("note", "unread-key", text, (number,)))
    wrong = "; ".join(f"`{one_line(k)}` stands here" for k in sorted(set(row) - _LINE_KEYS)[:3])
    given = one_line(_text(row, "ingredient", place))
    if not given:
        raise FormulaError(
            "This line has no `ingredient`" + (f" ({wrong})." if wrong else "."),
            place,
            'Write ingredient = "..." in each [[line]].',
        )
    if "percent" not in row:
        raise FormulaError(
            f"{short(given)} has no `percent`" + (f" ({wrong})." if wrong else "."),
            place,
            'Write percent = 2.5 or percent = "q.s.".',
        )
    value = row["percent"]
    qs = isinstance(value, str) and is_balance(value)
    return Line(
        given,
        0.0 if qs else read_percent(value, place, given),
        one_line(_text(row, "stage", place)),
        qs,
        one_line(_text(row, "role", place)),
        _flag(row, "active", place),
        _flag(row, "locked", place) is True,
        place,
    )


def _flag(row: dict[str, object], key: str, place: str) -> bool | None:
    value = row.get(key)
    if value is None or isinstance(value, bool):
        return value
    raise FormulaError(f"`{key}` is {short(value)}.", place, "Write true or false, no quotes.")


def _places(text: str, origin: str, count: int) -> list[str]:
    """Return where each line stands, by its number in the file where that can be told."""
    numbers = [n for n, row in enumerate(text.splitlines(), 1) if _HEAD.match(row)]
    if len(numbers) == count:
        return [f"{origin}:{n}" for n in numbers]
    return [f"{origin}, line table {n}" for n in range(1, count + 1)]
