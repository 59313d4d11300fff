"""How wide the stated ranges are and how much they cover, quantity by quantity.

Each target is the accuracy a formulator can be promised; where none has been set a range is only
asked to cover what was measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .row import Row, median

#: Quantity: what it is called, unit, widest half width that was aimed at.
TARGETS: dict[str, tuple[str, str, float | None]] = {
    "blend": ("viscosity of a liquid blend", "%", 15.0),
    "blend with alcohol": ("the same, a fatty alcohol in hydrocarbon", "%", 30.0),
    "one value oils": ("viscosity at 10 to 40 degC from one value, oils", "%", 5.0),
    "one value castor and glycols": ("the same, castor oil and glycols", "%", 20.0),
    "temperature left out": ("viscosity between measured temperatures", "%", None),
    "relative viscosity": ("relative viscosity of drops and spheres", "x/÷", None),
    "solids": ("solid fat of an undiluted fat", "points", 9.0),
    "solubility of acids": ("solubility of fatty acids", "x/÷", 3.0),
    "water activity above 0.85": ("water activity above 0.85", "a_w", 0.005),
    "water activity below 0.85": ("water activity below 0.85 and glycols", "a_w", 0.02),
    "partition": ("oil/water partition of preservatives", "x/÷", None),
}
#: From this many points full cover can be told from 97 % (0.97^n falls below one in twenty).
TELLS = 100


def rows(measured: Sequence[Row]) -> Iterator[Row]:
    """Yield one row for each quantity, all its points together."""
    named = {row.quantity for row in measured} - {""}
    assert named == set(TARGETS), named ^ set(TARGETS)
    for key, (what, unit, target) in TARGETS.items():
        ranges = [one for row in measured if row.quantity == key for one in row.ranges]
        inside = sum(ok for ok, _ in ranges) / len(ranges)
        figures = {
            "inside": round(inside, 4),
            "width": round(median(width for _, width in ranges), 4),
        }
        if target is not None:
            figures["target"] = target
        row = Row(
            f"target/{key}", what, unit, len(ranges), figures, {"inside": "range", "width": "low"}
        )
        row.note = "" if len(ranges) >= TELLS else "too few to tell full cover from 97 %"
        yield row
