"""Read a supplier's specification of one material: its INCI name, grade and measured values."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

from kb.errors import FormulaError
from kb.formula.reading import decode

_KEYS = {"inci", "grade", "note", "values"}


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


def looks_like_file(text: str) -> bool:
    """Tell whether a word names a specification file rather than a material."""
    return text.lower().endswith(".toml") or "/" in text and Path(text).is_file()


def read_specification(path: str) -> Specification:
    """Read a specification file.

    The file is TOML: ``inci``, ``grade``, and a table ``[values]`` of property = number or
    [low, high].

    Raises
    ------
    FormulaError
        It cannot be read, or a value is no number.
    """
    try:
        text = decode(Path(path).read_bytes(), path)
    except OSError as error:
        raise FormulaError(
            f"The specification cannot be read: {error.strerror}.", path, "Check the path."
        ) from None
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FormulaError(
            f"The TOML cannot be read: {error}.", path, "Text in quotes, decimals with a point."
        ) from None
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


def _range(value: object, name: str, path: str) -> tuple[float, float, float]:
    ends = value if isinstance(value, list) else [value]
    numbers = [float(v) for v in ends if isinstance(v, (int, float)) and not isinstance(v, bool)]
    if len(numbers) != len(ends) or not 1 <= len(numbers) <= 2 or numbers != sorted(numbers):
        raise FormulaError(
            f"`{name}` is {value!r}.", path, "Write a number, or [low, high] with low first."
        )
    return numbers[0], sum(numbers) / len(numbers), numbers[-1]
