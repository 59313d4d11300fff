"""A formula: named lines of material with their percent by mass, and the product it is."""

from __future__ import annotations

from dataclasses import dataclass, field

QS = "q.s."
#: The kinds of product a formula can be.
SYSTEMS = ("w/o", "o/w", "anhydrous", "water gel", "suspension", "powder")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a formula file.

    ``percent`` is by mass; a q.s. line carries what is left to 100. ``place`` names the file
    line for messages.
    """

    given: str
    percent: float
    stage: str = ""
    qs: bool = False
    role: str = ""
    active: bool | None = None
    locked: bool = False
    place: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something the reader of the file should know, without stopping the work."""

    level: str
    rule: str
    message: str
    lines: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Formula:
    """A whole formula as read; line numbers in remarks count from 1.

    ``versions`` tells which formulas this one came from, oldest first: file, key, date, what was
    changed and why, and what had been measured of it.
    """

    lines: tuple[Line, ...]
    name: str = ""
    system: str = ""
    ph: float | None = None
    note: str = ""
    product: dict[str, object] = field(default_factory=dict)
    measured: dict[str, object] = field(default_factory=dict)
    versions: tuple[dict[str, object], ...] = ()
    origin: str = ""
    remarks: tuple[Remark, ...] = ()

    @property
    def total(self) -> float:
        """Sum of the percents as given, q.s. lines filled."""
        return sum(line.percent for line in self.lines)
