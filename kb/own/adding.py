"""Take over what the user gives, after the lint; nothing is taken when anything is wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from kb.errors import FormulaError, SeedError, UnknownNameError
from kb.formula.names import normalise
from kb.formula.reading import decode, read_bytes
from kb.own.checking import problems_of
from kb.own.content import Change, Content, changing, read_content
from kb.own.given import PLACE, Batch, from_sheet
from kb.own.lists import parse_table
from kb.own.tables import OF_SEED
from kb.own.text import from_text
from kb.store.seed import Problem
from kb.store.snapshot import Snapshot


class OwnProblemsError(SeedError):
    """What the user gave has faults; all are in it."""

    def __init__(self, problems: list[Problem], origin: str) -> None:
        shown = "\n".join(f"  {problem}" for problem in problems[:20])
        more = f"\n  and {len(problems) - 20} more" if len(problems) > 20 else ""
        super().__init__(
            f"{len(problems)} problem{'s' if len(problems) != 1 else ''}; nothing was taken:\n"
            f"{shown}{more}",
            origin,
            "Mend these lines; `kb own template` shows the columns.",
        )
        self.problems = problems


@dataclass(slots=True)
class Added:
    """What was taken over: rows by table, materials, and what the user should know."""

    counts: dict[str, int]
    materials: list[str]
    remarks: list[str] = field(default_factory=list)


def add_file(name: str, path: Path, world: Callable[[], Snapshot]) -> Added:
    """Add a CSV list or a text of ``kb own export`` to the user's file.

    Raises
    ------
    FormulaError
        The file cannot be read.
    OwnProblemsError
        It has faults; nothing was taken.
    """
    return add_text(decode(read_bytes(name, "list"), name), name, path, world)


def add_text(text: str, name: str, path: Path, world: Callable[[], Snapshot]) -> Added:
    """Add the text of such a file; its name says which kind it is, and stands in messages.

    Raises
    ------
    FormulaError
        It is no such text.
    OwnProblemsError
        It has faults; nothing was taken.
    """
    rest: Content = {}
    if name.lower().endswith(".toml"):
        batch, rest = from_text(text.removeprefix("\ufeff"), name)
    else:
        batch = from_sheet(parse_table(text, name), world())
    if not batch.rows and not any(rest.values()) and not batch.problems:
        raise FormulaError("There is nothing in it.", name, "Give a file with rows.")
    while True:
        stored = read_content(path)
        problems = problems_of(batch, stored)
        if problems:
            raise OwnProblemsError(problems, name)
        with changing(path, f"added {Path(name).name}") as change:
            if change.content() == stored:
                _write(batch, rest, change)
                break
        # Another process wrote in between: look at it all again.
    counts = Counter(OF_SEED[given.table] for given in batch.rows if given.table != "sources")
    counts.update({table: len(rows) for table, rows in rest.items() if rows})
    return Added(dict(sorted(counts.items())), batch.anew, batch.remarks)


def _write(batch: Batch, rest: Content, change: Change) -> None:
    for material in batch.anew:
        for table in ("material", "name", "composition", "play"):
            change.drop(table, material=material)
        change.drop("fact", material=material, place=PLACE)
    for given in batch.rows:
        change.put(OF_SEED[given.table], given.cells)
    for table, rows in rest.items():
        for row in rows:
            change.put(table, row)


def find_own(name: str, content: Content, base: Snapshot) -> str:
    """Return the id of an own material, or of one of ours that bears own values.

    Raises
    ------
    UnknownNameError
        No own material has that name.
    """
    key = normalise(name)
    ids: set[str] = {row["material"] for row in content["material"]}
    known: dict[str, str] = {normalise(i): i for i in ids}
    known |= {normalise(row["inci"]): row["material"] for row in content["material"]}
    known |= {normalise(row["name"]): row["material"] for row in content["name"]}
    if key in known:
        return known[key]
    ours = base.names.resolve(name).match
    touched = {row["material"] for table in ("fact", "limit_rule") for row in content[table]}
    if ours is not None and ours.by != "near" and ours.material in touched:
        return ours.material
    names = sorted({row["name"] for row in content["name"]} | ids)
    from rapidfuzz import process

    near = tuple(n for n, score, _ in process.extract(name, names, limit=3) if score > 50)
    raise UnknownNameError(
        f"{name!r} is none of your own materials, nor one with values of yours.",
        "",
        "Did you mean " + ", ".join(near) + "?" if near else "`kb own list` shows them.",
        near,
    )


def remove_material(material: str, path: Path) -> dict[str, int]:
    """Remove an own material, or the user's own values of one of ours; return rows by table."""
    counts: Counter[str] = Counter()
    with changing(path, f"removed {material}") as change:
        for table in ("material", "name", "composition", "play", "fact", "limit_rule"):
            counts[table] += change.drop(table, material=material)
        for side in ("subject", "object"):
            counts["edge"] += change.drop("edge", **{side: f"material:{material}"})
    return {table: number for table, number in counts.items() if number}
