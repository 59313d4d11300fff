"""What the reading of the file shows: totals, names, repeats."""

from __future__ import annotations

from kb.engine.findings.finding import Finding
from kb.formula.model import Formula
from kb.formula.names import Resolution

TOTAL_TOLERANCE = 0.05


def of_reading(formula: Formula, answers: list[Resolution]) -> list[Finding]:
    """Return what the reader of the file should know."""
    found = [Finding(r.level, r.rule, r.message, r.lines) for r in formula.remarks]
    off = formula.total - 100.0
    if abs(off) > TOTAL_TOLERANCE:
        found.append(
            Finding(
                "problem",
                "total",
                f"The lines add up to {formula.total:.4g} %, {abs(off):.3g} % "
                f"{'too much' if off > 0 else 'short'}; predictions are scaled to 100 %.",
            )
        )
    places: dict[str, list[int]] = {}
    for number, (line, answer) in enumerate(zip(formula.lines, answers, strict=True), 1):
        if answer.match is None:
            near = ", ".join(m.matched for m in answer.nearest[:3])
            hint = f" Nearest: {near}." if near else ""
            found.append(
                Finding(
                    "problem",
                    "unknown-material",
                    f"{line.given!r} ({line.percent:.3g} %) is not known; it counts in the total "
                    f"and in no prediction.{hint}",
                    (number,),
                )
            )
            continue
        if answer.match.by not in {"id", "inci", "synonym", "registry"}:
            found.append(
                Finding(
                    "note",
                    "near-name",
                    f"{line.given!r} is read as {answer.match.matched} "
                    f"({answer.match.by}, {answer.match.score:.0f} of 100).",
                    (number,),
                )
            )
        places.setdefault(answer.match.material, []).append(number)
        if line.percent <= 0:
            found.append(
                Finding("caution", "zero-level", f"{line.given!r} stands at 0 %.", (number,))
            )
    for numbers in places.values():
        if len(numbers) > 1:
            names = formula.lines[numbers[0] - 1].given
            found.append(
                Finding(
                    "note",
                    "twice",
                    f"{names} stands on {len(numbers)} lines; they are added up.",
                    tuple(numbers),
                )
            )
    return found
