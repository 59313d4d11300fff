"""A formula as a table: rows for CSV or a workbook, headings in five languages."""

from __future__ import annotations

import csv
import io
import re

from kb.formula.headers import is_heading, is_phase_sum, total_kind
from kb.formula.model import QS, Formula, Line
from kb.formula.table_head import head_rows
from kb.formula.toml_value import number_text

#: Headings by language: ingredient, percent, stage, role, active, locked, total, yes, no.
HEADINGS: dict[str, tuple[str, ...]] = {
    "en": ("ingredient", "percent", "stage", "role", "active", "locked", "Total", "yes", "no"),
    "de": ("Rohstoff", "Prozent", "Phase", "Funktion", "Wirkstoff", "fest", "Summe", "ja", "nein"),
    "fr": ("matiere", "pourcentage", "phase", "fonction", "actif", "bloque", "Total", "oui", "non"),
    "es": (
        *("ingrediente", "porcentaje", "fase", "funcion", "activo", "bloqueado"),
        *("Total", "si", "no"),
    ),
    "it": (
        *("ingrediente", "percentuale", "fase", "funzione", "attivo", "bloccato"),
        *("Totale", "si", "no"),
    ),
}
LANGUAGES = tuple(HEADINGS)
Cell = str | float


def formula_rows(formula: Formula, language: str = "en") -> list[list[Cell]]:
    """Return the rows of a formula: head, headings, lines, total; percents as numbers.

    A cell that could be read as something else, such as a sum or a heading, begins with an
    apostrophe, which the reader takes off.
    """
    words = HEADINGS[language]
    rows: list[list[Cell]] = [
        [row[0], _safe(row[1])]
        for row in head_rows(formula, language, comma=decimal_comma(language))
    ]
    rows.append(list(words[:6]))
    stage = ""
    for line in formula.lines:
        rows.append(_row(line, stage, words))
        stage = line.stage
    rows.append([words[6], formula.total])
    return rows


def heading_row(rows: list[list[Cell]]) -> int:
    """Return which row holds the headings: the first that is no remark."""
    return next(n for n, row in enumerate(rows) if not str(row[0]).startswith("#"))


def _row(line: Line, stage: str, words: tuple[str, ...]) -> list[Cell]:
    active = {True: words[7], False: words[8], None: ""}[line.active]
    # An empty stage is the one above it; a lone apostrophe says none.
    own_stage = _safe(line.stage) or ("'" if stage else "")
    return [
        _safe(line.given, name=True),
        QS if line.qs else line.percent,
        own_stage,
        _safe(line.role),
        active,
        words[7] if line.locked else "",
    ]


def _safe(text: str, *, name: bool = False) -> str:
    """Put an apostrophe before text that a spreadsheet or the reader would take for more."""
    misread = re.match(r"['=+@#-]", text) is not None
    if name and not misread:
        misread = bool(total_kind(text) or is_heading(text) or is_phase_sum(text))
    return f"'{text}" if misread else text


def decimal_comma(language: str) -> bool:
    """Tell whether a language writes 2,5."""
    return language != "en"


def to_csv(formula: Formula, language: str = "en") -> str:
    """Return the CSV text of a formula; decimal commas come with semicolons between the cells."""
    comma = decimal_comma(language)
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if comma else ",", lineterminator="\n")
    for row in formula_rows(formula, language):
        writer.writerow([_shown(cell, comma) for cell in row])
    return out.getvalue()


def _shown(cell: Cell, comma: bool) -> str:
    if isinstance(cell, str):
        return cell
    text = number_text(cell)
    return text.replace(".", ",") if comma else text
