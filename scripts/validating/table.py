"""The table as text, and the figures on record."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from .row import Row

#: The share inside a stated 90 % range should lie between these.
COVER = (0.85, 0.97)
#: A figure may differ this much from the record by chance of draws and of arithmetic.
_SLACK = 0.02
#: Below this many points a share inside says little.
_FEW = 10


def text(rows: Sequence[Row]) -> str:
    """Return the table in Markdown."""
    lines = [
        "Measured:",
        "",
        "| model and data | points | mean error | bias | worst | in 90 % range | half width |",
        "|---|---|---|---|---|---|---|",
    ]
    for row in rows:
        if row.measured and "mean" in row.figures:
            f = row.figures
            inside = f"{100 * f['inside']:.0f} %" if "inside" in f else ""
            width = f"{f['width']:.3g}" if "width" in f else ""
            lines.append(
                f"| {row.what} ({row.unit}) | {row.n} | {f['mean']:.3g} | {f['bias']:+.2g} | "
                f"{f['worst']:.3g} | {inside} | {width} |"
            )
    lines += _beside(rows) + _targets(rows)
    lines += ["", "| order and kind | cases | right | |", "|---|---|---|---|"]
    lines += [
        f"| {row.what} | {row.n} | {100 * row.figures['right']:.0f} % | {row.note} |"
        for row in rows
        if row.measured and "right" in row.figures
    ]
    lines += [
        "",
        "Arithmetic (printed values of the same equation, within their rounding):",
        "",
        "| what | values | reproduced |",
        "|---|---|---|",
    ]
    lines += [
        f"| {row.what} | {row.n} | {round(row.figures['right'] * row.n)} |"
        for row in rows
        if not row.measured
    ]
    return "\n".join(lines)


def _beside(rows: Sequence[Row]) -> list[str]:
    """Return the model beside plain rules on the same points."""
    shown = [row for row in rows if row.beside]
    if not shown:
        return []
    names = list(shown[0].beside)
    lines = [
        "",
        "Mean error beside plain mixing rules on the same points, %:",
        "",
        f"| class | points | rule used | error | {' | '.join(names)} |",
        "|---|---|---|---|" + "---|" * len(names),
    ]
    for row in shown:
        others = " | ".join(f"{row.beside[name]:.3g}" for name in names)
        what = row.what.removeprefix("liquid mixture, ")
        lines.append(f"| {what} | {row.n} | {row.note} | {row.figures['mean']:.3g} | {others} |")
    return lines


def _targets(rows: Sequence[Row]) -> list[str]:
    """Return width and cover of the stated 90 % ranges, quantity by quantity."""
    lines = [
        "",
        "Stated 90 % ranges, all points of a quantity together:",
        "",
        "| quantity | points | half width aimed at | median half width | in range | |",
        "|---|---|---|---|---|---|",
    ]
    for row in rows:
        if row.key.startswith("target/"):
            f = row.figures
            aim = f"{f['target']:g}" if "target" in f else "none set"
            lines.append(
                f"| {row.what} ({row.unit}) | {row.n} | {aim} | {f['width']:.3g} | "
                f"{100 * f['inside']:.0f} % | {row.note} |"
            )
    return lines


def details(rows: Sequence[Row]) -> str:
    """Return what missed or cannot be told apart, row by row."""
    return "\n".join(f"{row.what}:\n  " + "\n  ".join(row.lines) for row in rows if row.lines)


def write_record(rows: Sequence[Row], path: Path) -> None:
    """Write the figures of all rows."""
    kept = {row.key: {"n": row.n, **row.figures} for row in rows}
    path.write_text(json.dumps(kept, indent=1, sort_keys=True) + "\n", encoding="utf-8")


def worse(rows: Sequence[Row], path: Path) -> list[str]:
    """Return the figures that are worse than on record."""
    record = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    found = [f"{key}: gone" for key in sorted(set(record) - {row.key for row in rows})]
    for row in rows:
        old = record.get(row.key)
        if old is None:
            found.append(f"{row.key}: not on record")
            continue
        if row.n < old["n"]:
            found.append(f"{row.key}: {row.n} points, {old['n']} on record")
        for name, way in row.better.items():
            was, now = old.get(name), row.figures[name]
            if was is not None and _is_worse(was, now, way, row.n):
                found.append(f"{row.key}: {name} {now:g}, {was:g} on record")
    return found


def _is_worse(was: float, now: float, way: str, n: int) -> bool:
    slack = _SLACK * abs(was)
    if way == "low":
        return now > was + slack
    if way == "high":
        return now < was - slack
    if n < _FEW:
        return now < was - 1e-9
    return _outside(now) > _outside(was) + 1e-9


def _outside(share: float) -> float:
    return max(COVER[0] - share, share - COVER[1], 0.0)
