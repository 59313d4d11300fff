"""From a formula as read to a batch the engine can work on."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.batch import Batch, make_batch
from kb.errors import FormulaError, UnknownNameError, UsageError
from kb.formula.model import SYSTEMS, Formula
from kb.formula.names import Resolution
from kb.store.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Opened:
    """A formula with the answers to its names, and the batch made of it."""

    formula: Formula
    answers: list[Resolution]
    batch: Batch


def open_formula(formula: Formula, base: Snapshot, *, strict: bool = False) -> Opened:
    """Resolve every line of a formula.

    Raises
    ------
    FormulaError
        The stated system is none of ours, or no line at all is known.
    UnknownNameError
        With ``strict``, a line is not resolved for certain.
    """
    if formula.system and formula.system not in SYSTEMS:
        raise FormulaError(
            f"`system` is {formula.system!r}.",
            formula.origin,
            "Write one of " + ", ".join(SYSTEMS) + ", or leave it out.",
        )
    answers = [base.names.resolve(line.given) for line in formula.lines]
    for line, answer in zip(formula.lines, answers, strict=True):
        if strict and answer.match is None:
            raise unknown_name(line.given, answer, line.place)
    if all(answer.match is None for answer in answers):
        raise FormulaError(
            "None of the lines is a known material.",
            formula.origin,
            "Use INCI, common or registry names; `kb find TEXT` helps.",
        )
    return Opened(formula, answers, make_batch(formula, answers))


def unknown_name(name: str, answer: Resolution, place: str = "") -> UnknownNameError:
    """Return the error for a name that is not certain, with the three nearest."""
    near = tuple(m.matched for m in answer.nearest[:3])
    return UnknownNameError(
        f"{name!r} is not known for certain.",
        place,
        "Did you mean " + ", ".join(near) + "?" if near else "Try `kb find` with part of the name.",
        near,
    )


def resolve_material(name: str, base: Snapshot, *, near: bool = True) -> str:
    """Return the material a name on the command line means, or raise with the nearest."""
    answer = base.names.resolve(name)
    if answer.match is None or (not near and answer.match.by == "near"):
        raise unknown_name(name, answer)
    return answer.match.material


def item_to_replace(opened: Opened, name: str, line: int | None, base: Snapshot) -> int:
    """Return the place in the batch of the line to replace.

    Raises
    ------
    UnknownNameError
        The name is not certain, not in the formula, or stands on several lines.
    FormulaError
        The line is locked.
    UsageError
        There is no such line.
    """
    if line is not None and not 1 <= line <= len(opened.formula.lines):
        raise UsageError(
            f"There is no line {line}; the formula has {len(opened.formula.lines)}.",
            "--line",
            "Count the ingredient lines from 1.",
        )
    wanted = name.strip().casefold()
    numbers = [n for n, one in enumerate(opened.formula.lines, 1) if one.given.casefold() == wanted]
    if not numbers or (line is not None and line not in numbers):
        material = resolve_material(name, base)
        generic = material.split("--")[0]
        numbers = [
            n
            for n, answer in enumerate(opened.answers, 1)
            if answer.match is not None
            and (answer.match.material == material or answer.match.material == generic)
        ] or [
            n
            for n, answer in enumerate(opened.answers, 1)
            if answer.match is not None and answer.match.material.split("--")[0] == generic
        ]
    if line is not None:
        if numbers and line not in numbers:
            raise UsageError(
                f"Line {line} is {opened.formula.lines[line - 1].given!r}, not {name!r}.",
                "--line",
                f"{name!r} stands on line " + " and ".join(str(n) for n in numbers) + ".",
            )
        numbers = [line]
    if not numbers:
        listed = ", ".join(one.given for one in opened.formula.lines[:12])
        raise UnknownNameError(
            f"{name!r} is not in this formula.", opened.formula.origin, f"Its lines are: {listed}."
        )
    if len(numbers) > 1:
        where = " and ".join(str(n) for n in numbers)
        raise UnknownNameError(
            f"{name!r} stands on lines {where}.", opened.formula.origin, "Add --line N."
        )
    found = next((n for n, i in enumerate(opened.batch.items) if i.line == numbers[0]), None)
    if found is None:
        given = opened.formula.lines[numbers[0] - 1]
        raise unknown_name(given.given, opened.answers[numbers[0] - 1], given.place)
    if opened.batch.items[found].locked:
        raise FormulaError(
            f"Line {numbers[0]} ({name}) is locked.",
            opened.formula.lines[numbers[0] - 1].place,
            "Take `locked = true` off to replace it.",
        )
    return found
