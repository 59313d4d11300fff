"""Measure what grows with the base, beside plain references that must give the same answers.

For each invented base of ``scripts/synthesise.py`` (600, 3,000 and 30,000 materials): opening the
file, scoring the whole base for a line, the ten best stand-ins through the full model, a whole swap
with ranges and trial cards. Beside the scoring stand the same figures one by one in plain Python;
beside the ordering by role a pandas merge-and-sort and SQL alone; beside the fewest materials every
choice there is. Answers are compared first: a ratio of unequal answers would mean nothing.

    scripts/bench.py FOLDER                # FOLDER holds 600, 3000, 30000; made when missing
    scripts/bench.py FOLDER --sizes 600 3000 --plot growth.svg

Times are processor time of this process in milliseconds, medians over the lines asked, everything
warm; the load of the machine is told beside them.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import sqlite3
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from kb.engine import candidates as plain
from kb.engine.context import Context
from kb.engine.opening import Opened, open_formula
from kb.engine.profile import make_profile
from kb.engine.roles import Here, roles_here
from kb.engine.scoreboard import scoreboard
from kb.engine.swap import search_for, swap
from kb.folder.cover import fewest
from kb.formula.reading import read_formula
from kb.store.build import build
from kb.store.opening import open_snapshot
from kb.store.snapshot import Snapshot

SIZES = (600, 3_000, 30_000)
_COMPARED = 200
#: Lines asked of each base; the slow references are asked the first of them alone.
_LINES, _SLOW = 24, 4


@dataclass
class Measured:
    """Medians of one base, ms, in the order they were taken."""

    materials: int
    times: dict[str, float] = field(default_factory=dict)
    file_mb: float = 0.0
    peak_mb: float = 0.0


@dataclass(frozen=True)
class Question:
    """A line of a formula, ready to be asked about."""

    opened: Opened
    place: int
    context: Context


def taken(call: Callable[[], Any]) -> tuple[float, Any]:
    """Return processor time in ms and the answer."""
    start = time.process_time()
    answer = call()
    return 1000.0 * (time.process_time() - start), answer


def made(folder: Path, size: int) -> Path:
    """Return the folder of an invented base with its file, made when missing."""
    place = folder / str(size)
    script = Path(__file__).with_name("synthesise.py")
    if not (place / "seed").is_dir():
        command = [sys.executable, str(script), str(place), "--materials", str(size)]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    if not (place / "kb.sqlite").is_file():
        build(place / "seed", place / "kb.sqlite")
    return place


def questions(place: Path, base: Snapshot) -> list[Question]:
    """Return lines of the first formulas, water apart."""
    found: list[Question] = []
    for path in sorted((place / "formulas").glob("*.toml")):
        opened = open_formula(read_formula(str(path)), base)
        before = make_profile(opened.batch, base)
        for n in range(0, len(opened.batch.items), 3):
            here = roles_here(opened.batch.items[n], before, base)
            if here and base.does(opened.batch.items[n].material, "water-phase-base") < 0.5:
                found.append(Question(opened, n, Context(base, before, n, here, [])))
        if len(found) >= _LINES:
            return found[:_LINES]
    return found


def one_by_one(q: Question) -> list[str]:
    """Score every INCI name in plain Python: the reference of the columns."""
    c = q.context
    best: dict[str, plain.Candidate] = {}
    for material in c.base.materials:
        name = material.split("--")[0]
        if name == c.original.split("--")[0]:
            continue
        found = plain.score_candidate(material, c.original, c.here, c.base, c.before.ph)
        if name not in best or found.score > plain.GRADE_BETTER * best[name].score:
            best[name] = found
    ranked = sorted(best.values(), key=lambda x: (-x.score, x.material))
    return [x.material for x in ranked[:_COMPARED]]


def in_columns(q: Question) -> list[str]:
    """Score every INCI name in columns."""
    c = q.context
    ranking = scoreboard(c.base).rank(c.original, c.here, c.base, c.before.ph)
    places = ranking.in_order()
    return [ranking.at(next(places)).material for _ in range(min(_COMPARED, len(ranking)))]


def scored(q: Question) -> Any:
    """Score every INCI name in columns and order them, naming none."""
    c = q.context
    return next(scoreboard(c.base).rank(c.original, c.here, c.base, c.before.ph).in_order())


# -- ordering by role alone, three ways --------------------------------------------------------


def alike(here: tuple[Here, ...], base: Snapshot) -> list[tuple[str, str, float, float]]:
    """Return wanted role, played role, likeness, share: what the references join with."""
    played = {p.role for m in base.materials for p in base.plays(m)}
    return [(h.role, r, plain.alike(h.role, r, base), h.share) for h in here for r in played]


def by_columns(q: Question) -> list[tuple[int, float]]:
    """Order by how well the roles of a line are played, in columns."""
    base, board = q.context.base, scoreboard(q.context.base)
    fit = np.zeros(len(board.ids))
    for h in q.context.here:
        best = board.best_plays(h.role, base)
        fit += np.where(best >= plain.LEAST_SIMILARITY, h.share * best, 0.0)
    order = np.lexsort((board.by_name, -np.round(fit, 6)))[:_COMPARED]
    return [(int(n), round(float(fit[n]), 6)) for n in order]


class Plays:
    """Who plays what, as a pandas table and as SQL."""

    def __init__(self, base: Snapshot) -> None:
        import pandas

        self.pandas = pandas
        board = scoreboard(base)
        rows = [
            (board.place[m], int(board.by_name[board.place[m]]), p.role, p.strength)
            for m in base.materials
            for p in base.plays(m)
        ]
        self.frame = pandas.DataFrame(rows, columns=["place", "name", "role", "strength"])
        self.frame["factor"] = (0.35 + 0.65 * self.frame.strength).clip(upper=1.0)
        self.sql = sqlite3.connect(":memory:")
        self.sql.execute("CREATE TABLE play (place INT, name INT, role TEXT, factor REAL)")
        table = self.frame[["place", "name", "role", "factor"]].itertuples(index=False)
        self.sql.executemany("INSERT INTO play VALUES (?, ?, ?, ?)", list(table))
        self.sql.execute("CREATE INDEX play_role ON play (role)")
        self.sql.execute("CREATE TEMP TABLE alike (wanted, role PRIMARY KEY, likeness, share)")

    def by_pandas(self, q: Question, table: list[tuple[str, str, float, float]]) -> Any:
        """Merge, take the best of each wanted role, sum, sort."""
        alike_to = self.pandas.DataFrame(table, columns=["wanted", "role", "likeness", "share"])
        merged = self.frame.merge(alike_to, on="role")
        merged["fit"] = merged.likeness * merged.factor
        best = merged.groupby(["place", "name", "wanted"], as_index=False).agg(
            fit=("fit", "max"), share=("share", "first")
        )
        best["fit"] = best.fit.where(best.fit >= plain.LEAST_SIMILARITY, 0.0) * best.share
        whole = best.groupby(["place", "name"], as_index=False).fit.sum()
        whole["fit"] = whole.fit.round(6)
        first = whole.sort_values(["fit", "name"], ascending=[False, True]).head(_COMPARED)
        return list(zip(first.place.tolist(), first.fit.tolist(), strict=True))

    def by_sql(self, q: Question, table: list[tuple[str, str, float, float]]) -> Any:
        """Ask SQLite for all of it."""
        self.sql.execute("DROP TABLE alike")
        self.sql.execute("CREATE TEMP TABLE alike (wanted TEXT, role TEXT, likeness, share)")
        self.sql.executemany("INSERT INTO alike VALUES (?, ?, ?, ?)", table)
        return self.sql.execute(
            "SELECT place, round(sum(CASE WHEN fit >= ? THEN fit * share ELSE 0 END), 6) AS whole"
            " FROM (SELECT place, name, wanted, share, max(likeness * factor) AS fit"
            "       FROM play JOIN alike USING (role) GROUP BY place, wanted)"
            " GROUP BY place ORDER BY whole DESC, name LIMIT ?",
            (plain.LEAST_SIMILARITY, _COMPARED),
        ).fetchall()


# -- the whole ---------------------------------------------------------------------------------


def measure(folder: Path, size: int) -> Measured:
    """Measure one base; raise where two ways to the same answer differ."""
    place = made(folder, size)
    found = Measured(size, file_mb=(place / "kb.sqlite").stat().st_size / 1e6)
    t = found.times
    t["open the file"], base = taken(lambda: open_snapshot(place / "kb.sqlite"))
    asked = questions(place, base)
    t["first swap, cold"], _ = taken(lambda: swap(asked[0].opened.batch, asked[0].place, base))
    plays = Plays(base)
    for q in asked:
        in_columns(q)
    for q in asked[:_SLOW]:
        table = alike(q.context.here, base)
        same(in_columns(q), one_by_one(q), "scores")
        same(by_columns(q), plays.by_pandas(q, table), "pandas")
        same(by_columns(q), plays.by_sql(q, table), "SQL")
    tables = {id(q): alike(q.context.here, base) for q in asked[:_SLOW]}
    t["score the base, columns"] = middle(scored, asked)
    t["score the base, plain Python"] = middle(one_by_one, asked[:_SLOW])
    t["order by role, columns"] = middle(by_columns, asked)
    t["order by role, pandas"] = middle(lambda q: plays.by_pandas(q, tables[id(q)]), asked[:_SLOW])
    t["order by role, SQL"] = middle(lambda q: plays.by_sql(q, tables[id(q)]), asked[:_SLOW])

    def ten_best(q: Question) -> Any:
        c = q.context
        fresh = Context(c.base, c.before, c.index, c.here, [])
        return search_for(fresh).best(10)

    t["ten best, full model"] = middle(ten_best, asked)
    t["one swap, all told"] = middle(lambda q: swap(q.opened.batch, q.place, base), asked)
    found.peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return found


def middle(call: Callable[[Question], Any], asked: list[Question]) -> float:
    """Return the median over questions."""
    return statistics.median(taken(lambda q=q: call(q))[0] for q in asked)


def same(ours: Any, theirs: Any, what: str) -> None:
    """Stop when two answers differ."""
    if ours != theirs:
        first = next((n for n, (a, b) in enumerate(zip(ours, theirs, strict=False)) if a != b), -1)
        raise SystemExit(f"The answers differ ({what}) at place {first}: no times are given.")


def covers(lots: random.Random) -> list[tuple[int, float, float]]:
    """Return materials, ms of the solver, ms of trying every choice, for growing folders."""
    rows = []
    for count in (8, 12, 16):
        names = [f"m{n}" for n in range(count)]
        needs = [dict.fromkeys(lots.sample(names, 3), 0.6) for _ in range(3 * count)]
        ours, cover = taken(lambda needs=needs: fewest(needs))
        sets = [set(need) for need in needs]
        theirs, size = taken(
            lambda names=names, sets=sets: next(
                k
                for k in range(len(names) + 1)
                if any(all(set(c) & s for s in sets) for c in combinations(names, k))
            )
        )
        same(len(cover.chosen), size, "fewest materials")
        rows.append((count, ours, theirs))
    return rows


def table_of(found: list[Measured], cover: list[tuple[int, float, float]]) -> list[str]:
    """Return the table as Markdown."""
    names = list(found[0].times)
    head = " | ".join(f"{m.materials:,} materials" for m in found)
    lines = [f"| processor time, ms | {head} |", "|---|" + "---:|" * len(found)]
    for name in names:
        cells = " | ".join(f"{m.times[name]:,.2f}".replace(".00", "") for m in found)
        lines.append(f"| {name} | {cells} |")
    lines.append(
        "| size of the file, MB | " + " | ".join(f"{m.file_mb:,.0f}" for m in found) + " |"
    )
    lines.append(
        "| peak memory so far, MB | " + " | ".join(f"{m.peak_mb:,.0f}" for m in found) + " |"
    )
    lines.append("")
    for count, ours, theirs in cover:
        lines.append(
            f"Fewest of {count} materials for {3 * count} needs: solver {ours:.1f} ms, "
            f"every choice {theirs:.1f} ms, the same number."
        )
    return lines


def draw(found: list[Measured], path: str) -> None:
    """Draw the growth on logarithmic axes."""
    import matplotlib as mpl

    mpl.use("Agg")
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(figsize=(7.2, 4.6))
    marks = "os^Dv<>px"
    for n, name in enumerate(found[0].times):
        values = [m.times[name] for m in found]
        axes.loglog([m.materials for m in found], values, marker=marks[n % 9], label=name)
    axes.set_xlabel("materials (invented)")
    axes.set_ylabel("processor time, ms")
    axes.grid(True, which="both", alpha=0.3)
    axes.legend(fontsize=7, loc="upper left", bbox_to_anchor=(1.0, 1.0))
    figure.savefig(path, bbox_inches="tight", metadata={"Date": None} if "svg" in path else None)


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("folder", type=Path)
    reader.add_argument("--sizes", type=int, nargs="+", default=list(SIZES))
    reader.add_argument("--plot", default="", help="draw the growth as .svg or .png")
    given = reader.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    found = [measure(given.folder, size) for size in given.sizes]
    load = ", ".join(f"{x:.1f}" for x in os.getloadavg())
    print("Invented bases (scripts/synthesise.py); medians of processor time.")
    print(f"{os.cpu_count()} processors, load over 1, 5, 15 min: {load}\n")
    print("\n".join(table_of(found, covers(random.Random(1)))))
    if given.plot:
        draw(found, given.plot)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
