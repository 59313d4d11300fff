"""One row of the validation table, and how points become its figures."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

DATA = Path(__file__).resolve().parents[2] / "tests" / "validation" / "data"


@dataclass(frozen=True, slots=True)
class Point:
    """A prediction with its stated 90 % range against what was measured.

    ``digits`` is half a unit of the last digit of the measured value: the range is asked to meet
    the value, not its rounding.
    """

    predicted: float
    measured: float
    low: float = math.nan
    high: float = math.nan
    digits: float = 0.0

    @property
    def inside(self) -> bool:
        """Whether the range meets what was measured."""
        return self.low - self.digits <= self.measured <= self.high + self.digits


@dataclass(slots=True)
class Row:
    """Figures of one model on one data set.

    ``better`` says which way each figure counts: "low", "high", or "range" for a share inside the
    stated 90 % range, which should lie between 0.85 and 0.97. ``quantity`` names the target its
    points count for, ``ranges`` says of each point whether it lies inside and how wide the range
    is; ``beside`` holds the mean error of other rules on the same points.
    """

    key: str
    what: str
    unit: str
    n: int
    figures: dict[str, float]
    better: dict[str, str]
    note: str = ""
    measured: bool = True
    lines: list[str] = field(default_factory=list)
    quantity: str = ""
    ranges: list[tuple[bool, float]] = field(default_factory=list)
    beside: dict[str, float] = field(default_factory=dict)


def read(name: str) -> list[dict[str, str]]:
    """Return the rows of a data file."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def ratio_row(key: str, what: str, points: Sequence[Point], note: str = "") -> Row:
    """Return a row in percent of the measured value; the width is half the range, percent."""
    errors = [100.0 * (p.predicted / p.measured - 1.0) for p in points]
    widths = [100.0 * (p.high - p.low) / (2.0 * p.predicted) for p in points]
    return _row(key, what, "%", points, errors, widths, note)


def factor_row(key: str, what: str, points: Sequence[Point], note: str = "") -> Row:
    """Return a row in factors: mean, bias and worst as x/÷, the width the root of high/low."""
    errors = [math.log(p.predicted / p.measured) for p in points]
    widths = [math.sqrt(p.high / p.low) if p.low > 0 else math.nan for p in points]
    row = _row(key, what, "x/÷", points, errors, widths, note)
    for name in ("mean", "worst"):
        row.figures[name] = round(math.exp(row.figures[name]), 3)
    row.figures["bias"] = round(math.exp(row.figures["bias"]), 3)
    return row


def difference_row(key: str, what: str, unit: str, points: Sequence[Point], note: str = "") -> Row:
    """Return a row of plain differences; the width is half the range."""
    errors = [p.predicted - p.measured for p in points]
    widths = [(p.high - p.low) / 2.0 for p in points]
    return _row(key, what, unit, points, errors, widths, note)


def _row(
    key: str,
    what: str,
    unit: str,
    points: Sequence[Point],
    errors: Sequence[float],
    widths: Sequence[float],
    note: str,
) -> Row:
    figures = {
        "mean": round(sum(map(abs, errors)) / len(errors), 5),
        "bias": round(sum(errors) / len(errors), 5),
        "worst": round(max(map(abs, errors)), 5),
    }
    better = {"mean": "low", "worst": "low"}
    ranged = [p for p in points if math.isfinite(p.low)]
    if ranged:
        inside = sum(p.inside for p in ranged)
        figures["inside"] = round(inside / len(ranged), 4)
        figures["width"] = round(median(w for w in widths if math.isfinite(w)), 4)
        better |= {"inside": "range", "width": "low"}
    found = Row(key, what, unit, len(points), figures, better, note)
    found.ranges = [
        (p.inside, w) for p, w in zip(points, widths, strict=True) if math.isfinite(p.low)
    ]
    return found


def share_row(key: str, what: str, right: int, n: int, note: str = "") -> Row:
    """Return a row that counts what came out right."""
    return Row(key, what, "share", n, {"right": round(right / n, 4)}, {"right": "high"}, note)


def median(values: Iterable[float]) -> float:
    """Return the median."""
    ordered = sorted(values)
    middle = len(ordered) // 2
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2.0


def arithmetic(key: str, what: str, inside: int, n: int, lines: Sequence[str] = ()) -> Row:
    """Return a row that checks the code alone: printed values that the same equation gives."""
    row = share_row(key, what, inside, n)
    row.measured = False
    row.lines = list(lines)
    return row
