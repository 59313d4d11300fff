"""The lint of our seed text, over the user's rows: the same rules, the user's lines and columns."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from kb.own.content import Content
from kb.own.given import Batch, Given
from kb.own.tables import OF_SEED, TABLES
from kb.store.lint import lint
from kb.store.seed import Problem, Row, Seed, read_seed, seed_folder
from kb.store.tables import DATA_SHEET, EVIDENCE

#: Lines of our own files stay below this, so a number above it names a row of the user.
_FIRST = 900_000_000
_MINE = re.compile(r"\b(?:own:|line )?(9\d{8})\b")


def problems_of(batch: Batch, stored: Content) -> list[Problem]:
    """Return every fault of what is given, as the lint of our own text finds it.

    Parameters
    ----------
    batch : Batch
        What is to be taken over.
    stored : Content
        What the user's file holds already; what the batch replaces is left out.
    """
    seed = read_seed(seed_folder())
    seed.problems.clear()
    _lay_under(seed, batch, stored)
    serial: dict[int, Given] = {}
    for number, given in enumerate(batch.rows, _FIRST):
        serial[number] = given
        file = f"facts/{given.cells['property']}.csv" if given.table == "facts" else "own"
        seed.tables[given.table].append(Row(file, number, _seen_by_us(given.cells)))
    found = [
        _told(problem, serial, batch.origin) for problem in lint(seed) if problem.line in serial
    ]
    # A role that could not be read is no missing role.
    unread = {p.line for p in batch.problems if p.column == "roles"}
    found = [p for p in found if not (p.line in unread and p.column == "roles")]
    # A value that could not be read is no missing value.
    read = {(p.line, p.column) for p in found if p.read}
    found = [p for p in found if p.read or (p.line, p.column) not in read]
    both = {(p.line, p.column, p.read): p for p in [*found, *batch.problems]}
    return sorted(both.values(), key=lambda p: (p.line, p.column, p.wanted))


def _lay_under(seed: Seed, batch: Batch, stored: Content) -> None:
    """Add what is stored already, except what the batch brings anew."""
    anew = set(batch.anew)
    keys = {table.name: table.key for table in TABLES}
    coming = {(OF_SEED[g.table], *(g.cells[k] for k in keys[OF_SEED[g.table]])) for g in batch.rows}
    for table in TABLES:
        if not table.seed:
            continue
        for row in stored[table.name]:
            if (table.name, *(row[k] for k in table.key)) in coming:
                continue
            if row.get("material") in anew and table.name in {"name", "composition", "play"}:
                continue
            file = f"facts/{row['property']}.csv" if table.seed == "facts" else "stored"
            seed.tables[table.seed].append(Row(file, 0, _seen_by_us(row)))


def _seen_by_us(cells: Mapping[str, str]) -> dict[str, str]:
    """Return a row as our own lint can read it: it knows no data sheets of users."""
    row = dict(cells)
    if row.get("evidence") == DATA_SHEET:
        row["evidence"] = EVIDENCE[0]
    return row


def _told(problem: Problem, serial: dict[int, Given], origin: str) -> Problem:
    """Return a fault with the user's file, line and column."""
    given = serial[problem.line]

    def back(match: re.Match[str]) -> str:
        other = serial.get(int(match[1]))
        return match[0] if other is None else f"line {other.line}"

    wanted = _MINE.sub(back, problem.wanted)
    wanted = wanted.replace("an id that stands in roles.csv", "a role of `kb roles`")
    wanted = wanted.replace("a role in plays/", "a role, such as emollient 2-10 (`kb roles`)")
    column = given.columns.get(problem.column, problem.column)
    if "a role, such as" in wanted and "name" in given.columns.values():
        column = "roles"
    return replace(problem, file=origin, line=given.line, column=column, wanted=wanted)
