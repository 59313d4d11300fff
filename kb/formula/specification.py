"""Read a supplier's specification of one material: its INCI name, grade and measured values."""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

from kb.errors import FormulaError
from kb.formula.layout import read_rows
from kb.formula.numbers import number_in, short
from kb.formula.reading import decode, read_bytes

_KEYS = {"inci", "grade", "note", "values"}
_HEADINGS = {"property", "name", "what", "eigenschaft"}
_SPAN = re.compile(r"(-?[\d.,]+)\s*(?:\.\.|-|to|bis)\s*(-?[\d.,]+)")


@dataclass(frozen=True, slots=True)
class Specification:
    """What a data sheet says: values as (low, middle, high) by property."""

    inci: str
    grade: str
    values: dict[str, tuple[float, float, float]]
    origin: str

    @property
    def slug(self) -> str:
        """The grade as part of a material id."""
        return re.sub(r"[^a-z0-9]+", "-", self.grade.casefold()).strip("-") or "own"


_ENDINGS = (".toml", ".csv", ".xlsx")


def looks_like_file(text: str) -> bool:
    """Tell whether a word names a specification file rather than a material."""
    return text.lower().endswith(_ENDINGS) or "/" in text and Path(text).is_file()


def read_specification(path: str) -> Specification:
    """Read a specification file.

    TOML: ``inci``, ``grade``, and a table ``[values]`` of property = number or [low, high]. CSV or
    workbook: the same words in the first column, values in the second (``62-65`` is a range).

    Raises
    ------
    FormulaError
        It cannot be read, or a value is no number.
    """
    text = decode(read_bytes(path, "specification"), path)
    tree = _toml(text, path) if path.lower().endswith(".toml") else _table(text, path)
    unknown = sorted(set(tree) - _KEYS)
    if unknown:
        raise FormulaError(
            f"`{unknown[0]}` is no key of a specification.",
            path,
            "Use " + ", ".join(sorted(_KEYS)) + ".",
        )
    inci = tree.get("inci")
    if not isinstance(inci, str) or not inci.strip():
        raise FormulaError("The specification has no `inci`.", path, 'Write inci = "Cera Alba".')
    values = tree.get("values", {})
    if not isinstance(values, dict):
        raise FormulaError("`values` is no table.", path, "Write [values] on a line of its own.")
    return Specification(
        inci.strip(),
        str(tree.get("grade", Path(path).stem)),
        {str(name): _range(value, str(name), path) for name, value in values.items()},
        path,
    )


def _toml(text: str, path: str) -> dict[str, object]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise FormulaError(
            f"The TOML cannot be read: {error}.", path, "Text in quotes, decimals with a point."
        ) from None


def _table(text: str, path: str) -> dict[str, object]:
    """Return the two columns of a table as the tree that TOML would give."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(";\t,", key=first.count)
    tree: dict[str, object] = {}
    values: dict[str, object] = {}
    for row in read_rows(text, delimiter, path):
        word, cell = row.cells[0].casefold(), (row.cells[1:] or [""])[0]
        if not word or not cell or word in _HEADINGS:
            continue
        if word in _KEYS:
            tree[word] = cell
            continue
        span = _SPAN.fullmatch(cell)
        numbers = [number_in(end) for end in (span.groups() if span else (cell,))]
        if any(math.isnan(n) for n in numbers):
            raise FormulaError(
                f"`{word}` is {short(cell)}.",
                f"{path}:{row.number}",
                "Write a number, or a range such as 62-65; the unit is the usual one.",
            )
        values[word] = numbers if span else numbers[0]
    return {**tree, "values": values}


def _range(value: object, name: str, path: str) -> tuple[float, float, float]:
    ends = value if isinstance(value, list) else [value]
    numbers = [float(v) for v in ends if isinstance(v, (int, float)) and not isinstance(v, bool)]
    if len(numbers) != len(ends) or not 1 <= len(numbers) <= 2 or numbers != sorted(numbers):
        raise FormulaError(
            f"`{name}` is {value!r}.", path, "Write a number, or [low, high] with low first."
        )
    return numbers[0], sum(numbers) / len(numbers), numbers[-1]
