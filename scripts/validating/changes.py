"""Published changes of a formula: does the consistency move the way it is said to?"""

from __future__ import annotations

from collections.abc import Iterator

from kb.store.snapshot import Snapshot

from .consistency import published, run
from .row import Row, read, share_row

#: Two products that are called alike lie within this factor of each other.
_ALIKE = 2.5


def rows(base: Snapshot) -> Iterator[Row]:
    """Yield one row: direction of published changes."""
    formulas = published("published_formulas")
    making = {r["formula"]: r["making"] for r in read("consistency_words")}
    changes = read("changes")
    right, lines = 0, []
    for r in changes:
        before, after = (
            run(name, formulas[name], base, making.get(name, "")).value("consistency_25c")
            for name in (r["before"], r["after"])
        )
        assert before is not None and after is not None
        ratio = after / before
        met = {
            "stiffer": ratio > 1.0,
            "softer": ratio < 1.0,
            "alike": 1.0 / _ALIKE <= ratio <= _ALIKE,
        }[r["becomes"]]
        right += met
        missed = "" if met else ": missed"
        lines.append(f"{r['before']} -> {r['after']}: {r['becomes']}, x {ratio:.2g}{missed}")
    row = share_row(
        "consistency/changes",
        "direction of published changes",
        right,
        len(changes),
        "alike counts within a factor 2.5",
    )
    row.lines = lines
    yield row
