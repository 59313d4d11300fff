"""Write a formula as TOML, CSV or a workbook that reads back the same."""

from __future__ import annotations

from pathlib import Path

from kb.errors import UsageError
from kb.formula.model import QS, Formula
from kb.formula.toml_value import key_text, number_text, quoted, value_text

ENDINGS = (".toml", ".csv", ".xlsx")


def to_toml(formula: Formula) -> str:
    """Return the TOML text of a formula.

    A percent is written with six digits where that is the same number within a part in 1e9, in
    full otherwise.
    """
    out: list[str] = []
    for key, text in (("name", formula.name), ("system", formula.system)):
        if text:
            out.append(f"{key} = {quoted(text)}")
    if formula.ph is not None:
        out.append(f"ph = {number_text(formula.ph)}")
    if formula.note:
        out.append(f"note = {quoted(formula.note)}")
    blocks = [("[product]", formula.product), ("[measured]", formula.measured)]
    blocks += [("[[version]]", one) for one in formula.versions]
    for head, block in blocks:
        if block:
            out += ["", head] + [f"{key_text(k)} = {value_text(v)}" for k, v in block.items()]
    for line in formula.lines:
        out += ["", "[[line]]", f"ingredient = {quoted(line.given)}"]
        out.append(f'percent = "{QS}"' if line.qs else f"percent = {number_text(line.percent)}")
        if line.stage:
            out.append(f"stage = {quoted(line.stage)}")
        if line.role:
            out.append(f"role = {quoted(line.role)}")
        if line.active is not None:
            out.append(f"active = {str(line.active).lower()}")
        if line.locked:
            out.append("locked = true")
    return "\n".join(out).strip() + "\n"


def written(formula: Formula, ending: str, language: str = "en") -> str | bytes:
    """Return a formula as the file that an ending stands for: ``.toml``, ``.csv`` or ``.xlsx``.

    Parameters
    ----------
    formula : Formula
    ending : str
        One of `ENDINGS`.
    language : str
        Of the headings, for tables; any but English brings decimal commas to CSV.
    """
    if ending == ".toml":
        return to_toml(formula)
    from kb.formula.table import formula_rows, heading_row, to_csv

    if ending == ".csv":
        return to_csv(formula, language)
    from kb.formula.workbook_out import Page, to_workbook

    rows = formula_rows(formula, language)
    heading = frozenset({heading_row(rows), len(rows) - 1})
    return to_workbook([Page(formula.name or "Formula", rows, heading)])


def ending_of(path: str) -> str:
    """Return the ending that says how a formula is written; TOML where there is none.

    Raises
    ------
    UsageError
        It is none that a formula is written in.
    """
    ending = Path(path).suffix.lower() if path != "-" else ""
    if ending and ending not in ENDINGS:
        raise UsageError(
            f"A formula is not written as {ending}.", path, f"End the name in {', '.join(ENDINGS)}."
        )
    return ending or ".toml"
