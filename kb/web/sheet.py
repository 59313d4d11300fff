"""The state of a bench: a formula, how it came to be, all carried by the address itself."""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from dataclasses import dataclass, replace
from functools import lru_cache

from kb.errors import FormulaError
from kb.formula.model import QS, Formula, Line
from kb.formula.numbers import is_balance, read_percent
from kb.formula.reading import MAX_BYTES, parse_formula
from kb.formula.writing import to_toml

#: Steps that can be taken back.
STEPS = 20
#: A packed state longer than this goes in the body of a form, not in an address.
LONGEST_LINK = 6_000
_LONGEST_PACKED = 200_000
_LONGEST_STEP = 200


@dataclass(frozen=True, slots=True)
class Step:
    """One change: what was done, and the formula text before it."""

    what: str
    text: str
    origin: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A formula text with its past, oldest step first."""

    text: str
    origin: str = "formula"
    past: tuple[Step, ...] = ()

    @property
    def formula(self) -> Formula:
        """The formula the text holds."""
        return _parsed(self.text, self.origin)

    def changed(self, formula: Formula, what: str) -> Sheet:
        """Return the sheet after a change; a formula that stays the same adds no step."""
        text = to_toml(formula)
        _parsed(text, "formula")
        if text == to_toml(replace(self.formula, remarks=())):
            return self
        step = Step(what[:_LONGEST_STEP], self.text, self.origin)
        return Sheet(text, "formula", (*self.past, step)[-STEPS:])

    def undone(self) -> Sheet:
        """Return the sheet before its last step."""
        if not self.past:
            return self
        last = self.past[-1]
        return Sheet(last.text, last.origin, self.past[:-1])


@lru_cache(maxsize=64)
def _parsed(text: str, origin: str) -> Formula:
    return parse_formula(text, origin)


def pack(sheet: Sheet) -> str:
    """Return a sheet as characters that an address can carry.

    Examples
    --------
    >>> unpack(pack(Sheet("Glycerin,10"))).text
    'Glycerin,10'
    """
    tree = [sheet.text, sheet.origin, [[s.what, s.text, s.origin] for s in sheet.past]]
    raw = json.dumps(tree, ensure_ascii=False, separators=(",", ":")).encode()
    return base64.urlsafe_b64encode(zlib.compress(raw, 9)).decode().rstrip("=")


def unpack(packed: str) -> Sheet:
    """Return the sheet an address carries.

    Raises
    ------
    FormulaError
        The characters are cut, damaged, or unpack to more than a formula.
    """
    fault = FormulaError(
        "This link is cut or damaged.", "s", "Start again from the bench, or paste the formula."
    )
    if len(packed) > _LONGEST_PACKED:
        raise fault
    try:
        squeezed = base64.b64decode(packed + "=" * (-len(packed) % 4), b"-_", validate=True)
        opener = zlib.decompressobj()
        raw = opener.decompress(squeezed, MAX_BYTES)
        if opener.unconsumed_tail or not opener.eof:
            raise fault
        text, origin, past = json.loads(raw)
        steps = tuple(Step(str(w)[:_LONGEST_STEP], str(t), str(o)[:120]) for w, t, o in past)
        if not isinstance(text, str) or not isinstance(origin, str):
            raise fault
        text.encode()
    except (binascii.Error, zlib.error, ValueError, TypeError, RecursionError):
        raise fault from None
    return Sheet(text, origin[:120], steps[-STEPS:])


@dataclass(frozen=True, slots=True)
class Edit:
    """What one row of the form says: the line it stands for (0 is a new one), and its cells."""

    line: int
    given: str
    percent: str
    stage: str

    @property
    def blank(self) -> bool:
        """True when nothing at all stands in the row."""
        return not (self.given.strip() or self.percent.strip())


@dataclass(frozen=True, slots=True)
class Mistake:
    """A cell that cannot be read: the row of the form, the cell, why, and what to do."""

    row: int
    cell: str
    message: str
    fix: str


def edited(sheet: Sheet, edits: list[Edit]) -> tuple[Sheet, list[Mistake]]:
    """Apply the rows of the form to a sheet; with mistakes the sheet stays as it was."""
    old = sheet.formula.lines
    lines: list[Line] = []
    mistakes: list[Mistake] = []
    said: list[str] = []
    for row, edit in enumerate(edits):
        before = old[edit.line - 1] if 1 <= edit.line <= len(old) else None
        if not edit.given.strip():
            if before is not None:
                said.append(f"{before.given} taken out")
            elif edit.percent.strip():
                mistakes.append(Mistake(row, "name", "A percent without a name.", "Name it."))
            continue
        percent, qs = 0.0, is_balance(edit.percent)
        if before is not None and edit.percent.strip() == shown_percent(before):
            percent, qs = before.percent, before.qs
        elif not qs:
            try:
                percent = read_percent(edit.percent, "", edit.given)
            except FormulaError as error:
                mistakes.append(Mistake(row, "percent", error.message, error.fix))
                continue
        given, stage = " ".join(edit.given.split()), " ".join(edit.stage.split())
        if before is None:
            lines.append(Line(given, percent, stage, qs))
            said.append(f"{given} added")
            continue
        now = replace(before, given=given, percent=percent, stage=stage, qs=qs)
        if now != before:
            said.append(_difference(before, now))
        lines.append(now)
    if mistakes:
        return sheet, mistakes
    formula = replace(sheet.formula, lines=tuple(lines), remarks=())
    if tuple(lines) == old:
        return sheet, []
    return sheet.changed(formula, "; ".join(said)), []


def _difference(before: Line, now: Line) -> str:
    name = now.given if now.given == before.given else f"{before.given} to {now.given}"
    amounts = shown_percent(before), shown_percent(now)
    if amounts[0] == amounts[1]:
        return name if now.given != before.given else f"{name}: stage {now.stage or 'none'}"
    return f"{name} {amounts[0]} to {amounts[1]}"


def shown_percent(line: Line) -> str:
    """Return the percent of a line as the form shows it."""
    if line.qs:
        return QS
    brief = f"{line.percent:.6g}"
    return brief if "e" not in brief else f"{line.percent:.9f}".rstrip("0").rstrip(".")
