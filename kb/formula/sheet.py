"""Read what people export from a spreadsheet: many headings, phases by letter, grams."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from kb.errors import FormulaError
from kb.formula.headers import NO, YES, is_heading, is_kilograms, is_phase_sum, total_kind
from kb.formula.layout import Layout, find_layout, mended, read_rows
from kb.formula.model import Formula, Line, Remark
from kb.formula.names import normalise
from kb.formula.numbers import MASSES, amount_in, balance_total, is_balance, read_percent, short
from kb.formula.table_head import read_head
from kb.formula.toml_text import head_of

#: A stated total is met within this, in percent.
_TOTAL_TOLERANCE = 0.05


@dataclass(frozen=True, slots=True)
class _Entry:
    """A line whose amount is still text."""

    line: Line
    amount: str


def read_sheet(text: str, origin: str) -> tuple[list[Line], Formula]:
    """Read CSV text into lines and head; the head carries no lines yet.

    Raises
    ------
    FormulaError
        No name and percent columns can be told, or a cell cannot be read.
    """
    layout = find_layout(text, origin)
    remarks: list[Remark] = []
    if layout.skipped:
        remarks.append(
            Remark("note", "unread-row", f"{origin}: {short(layout.skipped)} is read as a header.")
        )
    above = read_rows(text, layout.delimiter, origin, remarks=True)
    tree = read_head((row.cells[0], _plain((row.cells[1:] or [""])[0])) for row in above)
    entries, total = _entries(layout, origin, remarks)
    # A sheet without lines is refused by whoever asked for it, with its place.
    if entries and _in_grams(layout, entries):
        kilograms = is_kilograms(layout.headings.get("percent", ""))
        lines = _from_grams(entries, kilograms, remarks)
    else:
        lines = [_percent_line(entry) for entry in entries]
        lines = _looked_over(lines, total, remarks, shares="total" not in tree)
    return lines, head_of(tree, origin, remarks)


def _looked_over(
    lines: list[Line], total: float | None, remarks: list[Remark], *, shares: bool
) -> list[Line]:
    """Compare with the stated total, and tell shares of 1 from percents."""
    fixed = sum(line.percent for line in lines)
    if any(line.qs for line in lines):
        return lines
    if total is not None and abs(fixed - total) > _TOTAL_TOLERANCE:
        remarks.append(
            Remark(
                "problem",
                "stated-total",
                f"The file states a total of {total:g} %, the lines add up to {fixed:g} %.",
            )
        )
    if shares and len(lines) > 1 and abs(fixed - 1.0) <= 0.005:
        remarks.append(
            Remark("note", "fractions", "Amounts add up to 1 and are read as shares of 1.")
        )
        lines = [replace(line, percent=round(100.0 * line.percent, 9)) for line in lines]
    return lines


def _plain(cell: str) -> str:
    """Return a cell without the apostrophe that says: exactly what follows."""
    return cell[1:] if cell.startswith("'") else cell


def _entries(
    layout: Layout, origin: str, remarks: list[Remark]
) -> tuple[list[_Entry], float | None]:
    """Sort the rows into lines, headings and totals."""
    entries: list[_Entry] = []
    stage = ""
    stated: float | None = None
    unread: list[str] = []
    for row in layout.rows:
        place = f"{origin}:{row.number}"
        cells = mended(row, layout, origin)
        written = _cell(cells, layout, "name") or _cell(cells, layout, "other name")
        literal, name = written.startswith("'"), _plain(written)
        amount = _cell(cells, layout, "percent")
        if amount and _cell(cells, layout, "unit") and amount_in(amount)[1] == "":
            amount = _with_unit(amount, _cell(cells, layout, "unit"))
        label = name or next((c for c in cells if total_kind(c)), "")
        kind = "" if literal else total_kind(label)
        if kind or (amount and not literal and is_phase_sum(name)):
            number = amount_in(amount)[0]
            if kind == "total" and not math.isnan(number):
                stated = number
            elif not kind:
                remarks.append(
                    Remark("note", "unread-row", f"{place}: {name!r} is read as a phase heading.")
                )
                stage = name.strip(" :")
            continue
        given = _cell(cells, layout, "stage")
        stage = _plain(given) if given else stage
        if not name and not amount:
            continue
        if name and not amount:
            if is_heading(name):
                stage = name.strip(" :")
            elif stated is not None and entries:
                unread.append(f"{place} ({short(name)})")
            else:
                raise FormulaError(
                    f"{name!r} has no percent.", place, "Write a number such as 2.5, or q.s."
                )
            continue
        if not name:
            if entries and _is_sum(amount, entries):
                stated = amount_in(amount)[0]
                continue
            raise FormulaError(
                f"An amount ({amount}) stands without a name.", place, "Name the ingredient."
            )
        line = Line(
            name,
            0.0,
            stage,
            False,
            _plain(_cell(cells, layout, "role")),
            _flag(_cell(cells, layout, "active")),
            normalise(_cell(cells, layout, "locked")) in YES,
            place,
        )
        entries.append(_Entry(line, amount))
    if unread:
        remarks.append(
            Remark(
                "note",
                "unread-row",
                f"{len(unread)} rows below the total are not read, the first at {unread[0]}.",
            )
        )
    return entries, stated


def _flag(cell: str) -> bool | None:
    word = normalise(cell)
    return True if word in YES else False if word in NO else None


def _cell(cells: list[str], layout: Layout, kind: str) -> str:
    position = layout.columns.get(kind, -1)
    return cells[position] if 0 <= position < len(cells) else ""


def _with_unit(amount: str, unit: str) -> str:
    return amount if unit == "%" or balance_total(amount) is not None else f"{amount} {unit}"


def _is_sum(amount: str, entries: list[_Entry]) -> bool:
    number = amount_in(amount)[0]
    known = [amount_in(e.amount)[0] for e in entries]
    if any(math.isnan(n) for n in known):
        return number == 100.0
    return abs(sum(known) - number) <= _TOTAL_TOLERANCE


def _percent_line(entry: _Entry) -> Line:
    if is_balance(entry.amount):
        return replace(entry.line, qs=True)
    percent = read_percent(entry.amount, entry.line.place, entry.line.given)
    return replace(entry.line, percent=percent)


def _in_grams(layout: Layout, entries: list[_Entry]) -> bool:
    """Tell grams from percents by the heading, else by units or size of the amounts."""
    measure = layout.headings["measure"]
    if measure == "percent":
        return False
    if measure == "grams":
        return True
    totals = [balance_total(e.amount) for e in entries]
    amounts = [amount_in(e.amount) for e in entries]
    if any(t is not None and t not in {100.0, math.inf} for t in totals):
        return True
    if any(unit for _, unit in amounts):
        return True
    numbers = [n for n, _ in amounts if not math.isnan(n)]
    return len(numbers) > 1 and max(numbers) > 100.0 and sum(numbers) > 150.0


def _from_grams(entries: list[_Entry], kilograms: bool, remarks: list[Remark]) -> list[Line]:
    """Turn masses into percents; a line that fills up must name the total."""
    default = 1000.0 if kilograms else 1.0
    masses: list[float] = []
    fill: tuple[int, float] | None = None
    for index, entry in enumerate(entries):
        line, text = entry.line, entry.amount
        total = balance_total(text)
        if total is not None:
            if not math.isfinite(total) or fill:
                raise FormulaError(
                    f"{line.given!r} is {text!r} among amounts in grams.",
                    line.place,
                    "Give its grams, or on one line the total it fills up to: `ad 500`.",
                )
            fill = (index, total * default)
            masses.append(0.0)
            continue
        number, unit = amount_in(text)
        grams = number * (MASSES[unit] if unit else default)
        if not 0.0 <= grams < 1e9:
            raise FormulaError(
                f"The amount of {line.given!r} is {short(text)}.",
                line.place,
                "Write grams as a number that is not negative.",
            )
        masses.append(grams)
    if fill:
        left = fill[1] - sum(masses)
        if left < 0:
            line = entries[fill[0]].line
            raise FormulaError(
                f"The other lines weigh {sum(masses):g} g, so nothing of {fill[1]:g} g is left "
                f"for {line.given!r}.",
                line.place,
                "Lower another line, or give this one its grams.",
            )
        masses[fill[0]] = left
    total_mass = sum(masses)
    if total_mass <= 0:
        where = entries[0].line.place
        raise FormulaError("All amounts are zero.", where, "Give the grams of each line.")
    remarks.append(
        Remark("note", "grams", f"Amounts are read as grams, percent of {total_mass:g} g.")
    )
    return [
        replace(entry.line, percent=100.0 * grams / total_mass)
        for entry, grams in zip(entries, masses, strict=True)
    ]
