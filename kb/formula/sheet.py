"""Read what people export from a spreadsheet: many header spellings, phases by letter."""

from __future__ import annotations

import csv
import io
import re

from kb.errors import FormulaError
from kb.formula.model import Line, Remark
from kb.formula.names import normalise
from kb.formula.numbers import is_balance, read_percent

HEADERS: dict[str, tuple[str, ...]] = {
    "name": tuple(
        "ingredient ingredients name material raw inci component substance rohstoff rohstoffe "
        "inhaltsstoff inhaltsstoffe zutat zutaten bestandteil stoff bezeichnung matiere composant "
        "ingrediente ingredientes materia nombre".split()
    ),
    "percent": tuple(
        "percent % percentage pct amount quantity qty share anteil menge prozent gehalt gew masse "
        "pourcentage quantite taux porcentaje cantidad level".split()
    ),
    "grams": tuple("g gram grams gramm grammes gramos weight gewicht poids peso mass".split()),
    "stage": tuple("phase stage part step teil phasen etape fase etapa".split()),
    "role": tuple("role function funktion fonction funcion".split()),
    "active": ("active", "wirkstoff", "actif", "activo"),
    "locked": ("locked", "keep", "fest"),
}
_TOTAL = {"total", "sum", "summe", "gesamt", "somme", "suma", "totale", "insgesamt"}
_YES = {"yes", "y", "true", "1", "x", "ja", "oui", "si"}


def read_sheet(
    text: str, origin: str
) -> tuple[list[Line], list[Remark], dict[str, object]]:
    """Read CSV text into lines, remarks and an empty head.

    Raises
    ------
    FormulaError
        No name and percent columns can be told, or a cell cannot be read.
    """
    rows = _rows(text, origin)
    start, columns = _columns(rows, origin)
    lines: list[Line] = []
    remarks: list[Remark] = []
    stage = ""
    stated_total: float | None = None
    for number, cells in rows[start:]:
        place = f"{origin}:{number}"
        name = _cell(cells, columns, "name")
        amount_kind = "percent" if "percent" in columns else "grams"
        amount = _cell(cells, columns, amount_kind)
        own_stage = _cell(cells, columns, "stage")
        if own_stage:
            stage = own_stage
        if normalise(name).split(" ")[0:1] and normalise(name).split(" ")[0] in _TOTAL:
            if amount and not is_balance(amount):
                stated_total = _total_amount(amount)
            continue
        if name and not amount and _is_heading(name):
            stage = name.strip(" :")
            continue
        if not name and not amount:
            continue
        if not name:
            raise FormulaError(
                f"An amount ({amount}) stands without a name.", place, "Name the ingredient."
            )
        if not amount:
            raise FormulaError(
                f"{name!r} has no percent.", place, "Write a number such as 2.5, or q.s."
            )
        qs = is_balance(amount)
        value = 0.0
        if not qs:
            value = (
                read_percent(amount, place, name)
                if amount_kind == "percent"
                else _grams(amount, place, name)
            )
        lines.append(
            Line(
                name,
                value,
                stage,
                qs,
                _cell(cells, columns, "role"),
                normalise(_cell(cells, columns, "active")) in _YES or None,
                normalise(_cell(cells, columns, "locked")) in _YES,
                place,
            )
        )
    if "percent" not in columns:
        lines = _from_grams(lines, remarks, origin)
    if stated_total is not None and "percent" in columns:
        found = sum(line.percent for line in lines)
        if not any(line.qs for line in lines) and abs(found - stated_total) > 0.05:
            remarks.append(
                Remark(
                    "problem",
                    "total",
                    f"The file states a total of {stated_total:g} %, the lines add up to "
                    f"{found:g} %.",
                )
            )
    return lines, remarks, {}


def _rows(text: str, origin: str) -> list[tuple[int, list[str]]]:
    sample = [line for line in text.splitlines() if line.strip()][:12]
    counts = {d: sum(line.count(d) for line in sample) for d in ";\t|,"}
    delimiter = next((d for d in ";\t|" if counts[d] >= max(1, len(sample) // 2)), ",")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    try:
        rows = [
            (reader.line_num, [c.strip().strip("\ufeff") for c in cells]) for cells in reader
        ]
    except csv.Error as error:
        raise FormulaError(
            f"The table cannot be read: {error}.", origin, "Export the sheet as plain CSV."
        ) from None
    return [(n, cells) for n, cells in rows if any(cells) and not cells[0].startswith("#")]


def _columns(
    rows: list[tuple[int, list[str]]], origin: str
) -> tuple[int, dict[str, int]]:
    """Find the header row, or take name and percent by position when there is none."""
    for index, (_, cells) in enumerate(rows[:10]):
        columns: dict[str, int] = {}
        for position, cell in enumerate(cells):
            kind = _header_kind(cell)
            if kind and kind not in columns:
                columns[kind] = position
        if "name" in columns and ("percent" in columns or "grams" in columns):
            return index + 1, columns
    if rows and len(rows[0][1]) >= 2:
        for name, amount in ((0, 1), (1, 2)):
            numbers = [
                cells[amount]
                for _, cells in rows
                if len(cells) > amount and re.search(r"\d", cells[amount])
            ]
            if len(numbers) >= max(1, len(rows) // 2):
                columns = {"name": name, "percent": amount}
                if name == 1:
                    columns["stage"] = 0
                return 0, columns
    read = " | ".join(rows[0][1][:6]) if rows else ""
    raise FormulaError(
        f"No name and percent columns were found; the first line reads {read[:80]!r}.",
        f"{origin}:{rows[0][0]}" if rows else origin,
        "Head the columns `ingredient` and `percent` (German, French and Spanish words do too).",
    )


def _header_kind(cell: str) -> str:
    word = cell.casefold().strip()
    if re.fullmatch(r"(gew\.?-?\s*)?%.*|.*\(\s*%\s*\)|.*\bw/w\b.*|.*[-\s]%", word):
        return "percent"
    key = normalise(cell)
    for kind, words in HEADERS.items():
        if key in words or any(key.startswith(f"{w} ") for w in words if len(w) > 3):
            return kind
    return ""


def _cell(cells: list[str], columns: dict[str, int], kind: str) -> str:
    position = columns.get(kind, -1)
    return cells[position] if 0 <= position < len(cells) else ""


def _is_heading(name: str) -> bool:
    key = normalise(name)
    return bool(re.fullmatch(r"(phase|fase|teil|part) .{1,20}|.{1,20} (phase|fase)|[a-f]", key)) or (
        key.endswith("phase")
    )


def _total_amount(text: str) -> float | None:
    try:
        return read_percent(text, "", "total")
    except FormulaError:
        return None


def _grams(text: str, place: str, name: str) -> float:
    from kb.formula.numbers import _from_text

    grams = _from_text(text)
    if not 0 <= grams < 1e9:
        raise FormulaError(f"The amount of {name!r} is {text!r}.", place, "Write grams as a number.")
    return grams


def _from_grams(lines: list[Line], remarks: list[Remark], origin: str) -> list[Line]:
    if any(line.qs for line in lines):
        raise FormulaError(
            "A q.s. line needs percents, the file gives grams.", origin, "Give percents."
        )
    total = sum(line.percent for line in lines)
    if total <= 0:
        raise FormulaError("All amounts are zero.", origin, "Give the grams of each line.")
    remarks.append(
        Remark("note", "grams", f"Amounts read as grams and turned into percent of {total:g} g.")
    )
    return [
        Line(
            line.given,
            100.0 * line.percent / total,
            line.stage,
            False,
            line.role,
            line.active,
            line.locked,
            line.place,
        )
        for line in lines
    ]
