"""Hold every model against what has been measured and published.

Prints a table: for each model and data set the number of points, mean absolute error, bias, worst
case, share inside the stated 90 % range and the median width of that range. Measured data count as
validation; printed values that the same equation gives are listed apart, they check the code alone.
Where parameters were set on the data, a source is left out and judged without it.

The exit code is 1 when a figure is worse than the recorded one (tests/validation/recorded.json).

Usage: python scripts/validate.py [--details] [--record] [--write]
"""

from __future__ import annotations

import argparse
import os
import re
import sys
import tempfile
from pathlib import Path

from validating import (
    changes,
    consistency,
    engine_sets,
    examples,
    liquids,
    mixtures,
    targets,
    water,
)
from validating.row import Row
from validating.table import details, text, worse, write_record

from kb.store.build import build
from kb.store.opening import open_snapshot
from kb.store.seed import seed_folder, seed_hash
from kb.store.snapshot import Snapshot

ROOT = Path(__file__).resolve().parent.parent
RECORD = ROOT / "tests" / "validation" / "recorded.json"
_MARKED = re.compile(r"(<!-- validation -->\n).*?(<!-- end -->)", re.S)


def all_rows(base: Snapshot) -> list[Row]:
    """Return every row of the table."""
    found = [
        *mixtures.rows(),
        *liquids.rows(),
        *engine_sets.rows(base),
        *water.rows(base),
        *consistency.rows(base),
        *changes.rows(base),
        *examples.rows(),
    ]
    return [*found, *targets.rows(found)]


def opened() -> Snapshot:
    """Return the base of the seed: KB_DATABASE when it is up to date, else a fresh one."""
    named = os.environ.get("KB_DATABASE")
    if named and Path(named).is_file():
        base = open_snapshot(Path(named))
        if base.build == seed_hash(seed_folder()):
            return base
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "kb.sqlite"
        build(seed_folder(), path)
        return open_snapshot(path)


def main(argv: list[str] | None = None) -> int:
    """Run the validation; see the module."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--details", action="store_true", help="list what missed")
    parser.add_argument("--record", action="store_true", help="record these figures")
    parser.add_argument("--write", action="store_true", help="record them and put them in README")
    asked = parser.parse_args(argv)
    rows = all_rows(opened())
    table = text(rows)
    print(table)
    if asked.details:
        print(details(rows))
    if asked.write:
        readme = ROOT / "README.md"
        old = readme.read_text(encoding="utf-8")
        if not _MARKED.search(old):
            print("README.md has no <!-- validation --> ... <!-- end -->", file=sys.stderr)
            return 1
        new = _MARKED.sub(lambda m: f"{m[1]}{table}\n{m[2]}", old)
        readme.write_text(new, encoding="utf-8")
    if asked.record or asked.write:
        write_record(rows, RECORD)
        return 0
    found = worse(rows, RECORD)
    for line in found:
        print(f"worse: {line}", file=sys.stderr)
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
