"""Time the adaptation of whole formulas with five lines forbidden at once, over seeded instances.

    scripts/bench_adapt.py FOLDER [--database FILE] [--instances N] [--seconds S] [--seed N]

FOLDER holds formulas; those with a known kind and at least six lines are drawn from. The base is
the user's own unless a file is given. Prints a line an instance, then median and 90th percentile.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import statistics
import sys
import time
from pathlib import Path
from typing import Any

from kb.adapt.adapting import adapt
from kb.adapt.wish import Wish
from kb.engine.opening import Opened, open_formula
from kb.engine.profile import make_profile
from kb.errors import KbError
from kb.formula.reading import read_formula
from kb.own.world import open_world
from kb.store.snapshot import Snapshot

_FORBIDDEN = 5


def drawn(folder: Path, base: Snapshot, lots: random.Random) -> tuple[str, Opened, frozenset[str]]:
    """Draw a formula and five of its materials, water apart."""
    paths = sorted(folder.rglob("*.toml"))
    while True:
        path = lots.choice(paths)
        try:
            opened = open_formula(read_formula(str(path)), base)
        except KbError:
            continue
        mine = sorted(
            {i.material for i in opened.batch.items if base.does(i.material, "solvent") < 0.5}
        )
        if len(mine) > _FORBIDDEN and make_profile(opened.batch, base).system:
            return path.stem, opened, frozenset(lots.sample(mine, _FORBIDDEN))


def main() -> int:
    """Read the options, adapt every instance, print the times."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("folder", type=Path)
    reader.add_argument("--database", default="")
    reader.add_argument("--instances", type=int, default=30)
    reader.add_argument("--seconds", type=float, default=15.0)
    reader.add_argument("--seed", type=int, default=1)
    asked = reader.parse_args()
    if asked.database:
        os.environ["KB_DATABASE"] = asked.database
    base = open_world()
    if not any(asked.folder.rglob("*.toml")):
        print(f"{asked.folder} holds no formula", file=sys.stderr)
        return 2
    lots = random.Random(asked.seed)
    rows: list[tuple[float, Any]] = []
    for n in range(asked.instances):
        name, opened, forbidden = drawn(asked.folder, base, lots)
        start = time.perf_counter()
        found = adapt(opened.batch, base, Wish(forbid=forbidden, seconds=asked.seconds), why=False)
        took = time.perf_counter() - start
        rows.append((took, found))
        gap = found.solutions[0].proof.gap if found.solutions else float("nan")
        print(f"{n + 1:3}  {took:6.2f} s  {found.status:11}  gap {gap:.3g}  {name}", flush=True)
    times = sorted(took for took, _ in rows)
    tenth = times[min(len(times) - 1, round(0.9 * len(times)) - 1)]
    proven = sum(f.status == "solved" and f.solutions[0].proof.gap == 0.0 for _, f in rows)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"{len(base.materials)} materials, {len(rows)} instances, {proven} proven")
    print(f"median {statistics.median(times):.2f} s, 90th percentile {tenth:.2f} s, {peak:.0f} MB")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
