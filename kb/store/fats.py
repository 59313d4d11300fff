"""What the fatty acids of a fat must look like in the seed text."""

from __future__ import annotations

import re

from kb.store.seed import Problem, Row, Seed

_ACID = re.compile(r"\d{1,2}:\d(-OH)?|unsaponifiable")
_NUMBER = re.compile(r"\d+(\.\d+)?")
#: Shares as printed miss 100 % by this much: minor acids left out, ends rounded.
_LEAST, _MOST = 90.0, 102.0


def fatty_acid_problems(seed: Seed) -> list[Problem]:
    """Find acids that are none, and fats whose shares cannot add up to a whole."""
    problems = []
    totals: dict[str, tuple[Row, float, float]] = {}
    for row in seed.tables["fatty_acids"]:
        acid, low, high = row["acid"], row["low"], row["high"]
        if acid and not _ACID.fullmatch(acid):
            wanted = "an acid such as 18:1 or 18:1-OH, or unsaponifiable"
            problems.append(Problem(row.file, row.line, "acid", acid, wanted))
        if not (_NUMBER.fullmatch(low) and _NUMBER.fullmatch(high)):
            continue
        if acid != "unsaponifiable":
            first, least, most = totals.get(row["material"], (row, 0.0, 0.0))
            totals[row["material"]] = first, least + float(low), most + float(high)
    for first, least, most in totals.values():
        if least > _MOST or most < _LEAST:
            read = f"{least:g} to {most:g} % in all"
            problems.append(
                Problem(first.file, first.line, "high", read, "shares that can make 100 %")
            )
    return problems
