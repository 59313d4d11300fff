"""A maker's day with the program, step by step: README shows it, a test looks at each step.

All figures of the two own materials, the stock and the measurement are invented for it.
"""

from __future__ import annotations

import contextlib
import io
import os
import shlex
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from kb.cli.main import run

ROOT = Path(__file__).resolve().parent.parent
FORMULA = ROOT / "seed_data" / "formulas" / "winter-hand-cream.toml"
#: What the maker types into the template: column to cell, for each of two materials.
MATERIALS: tuple[dict[str, str], ...] = (
    {
        "name": "Meadow butter",
        "inci": "Meadow Seed Butter",
        "origin": "plant",
        "form": "semisolid",
        "charge": "none",
        "phase": "oil",
        "roles": "butter 2-10",
        "source": "data sheet of the mill, 2025",
        "melting_point": "32-36",
    },
    {
        "name": "Valley beeswax",
        "inci": "Cera Alba",
        "source": "data sheet of the beekeeper, 2025",
        "melting_point": "62-65",
    },
)
SHELF = """\
Name;Bestand;Preis;Packung;Waehrung;Charge;Haltbar
Sheabutter;0;19,50;1 kg;EUR;24-101;2027-05-31
Meadow butter;800 g;16,00;1 kg;EUR;25-003;2028-03-31
Valley beeswax;1,5 kg;14,00;1 kg;EUR;25-011;2030-12-31
Jojobaöl;2 kg;29,00;1 kg;EUR;25-007;2028-06-30
"""


@dataclass(frozen=True)
class Step:
    """What is done, the command, and how many lines of its answer README shows."""

    why: str
    command: str
    head: int = 99


STEPS = (
    Step("An empty list for own materials, to fill in", "kb own template -o materials.xlsx"),
    Step("Two own materials, typed off their data sheets", "kb own add materials.xlsx"),
    Step("What is in stock, as the German spreadsheet says", "kb own shelf stock.csv"),
    Step(
        "The formula for the German spreadsheet",
        "kb convert cream.toml -o rezept.csv --language de",
    ),
    Step(
        "Shea butter is out: what on the shelf stands in, does it pay, take it",
        'kb swap rezept.csv "shea butter" --shelf --batch 2.5kg --tests 300 --labels 60 '
        "--top 3 --detail 1 -o winter-2.toml",
        34,
    ),
    Step("The sheet for the bench", "kb sheet winter-2.toml --batch 2.5kg", 22),
    Step(
        "What the batch gave after a night",
        'kb measured winter-2.toml --consistency 38000 --speed "10 1/s" --age 24h '
        "--temperature 22 --date 2026-02-03",
    ),
    Step(
        "The next question starts from what was measured",
        "kb swap winter-2.toml beeswax --top 3 --detail 0",
        14,
    ),
)


def fill_in(path: Path) -> None:
    """Type the two materials into the template, as one does in a spreadsheet program."""
    from openpyxl import load_workbook

    book = load_workbook(path)
    sheet = book.active
    columns = {cell.value: cell.column for cell in sheet[1]}
    first = sheet.max_row + 1
    for row, material in enumerate(MATERIALS, first):
        for name, value in material.items():
            sheet.cell(row, columns[name]).value = value
    book.save(path)


def play(folder: Path) -> Iterator[tuple[Step, int, str]]:
    """Run the day in an empty folder; yield each step with its exit code and what it said."""
    shutil.copy(FORMULA, folder / "cream.toml")
    (folder / "stock.csv").write_text(SHELF, encoding="utf-8")
    before, place = dict(os.environ), Path.cwd()
    os.environ["KB_OWN"] = str(folder / "mine" / "own.sqlite")
    os.chdir(folder)
    try:
        for step in STEPS:
            stream = io.StringIO()
            with contextlib.redirect_stdout(stream):
                code = run(shlex.split(step.command)[1:])
            if step.command.startswith("kb own template"):
                fill_in(folder / "materials.xlsx")
            yield step, code, stream.getvalue()
    finally:
        os.chdir(place)
        os.environ.clear()
        os.environ.update(before)


def shown(folder: Path) -> str:
    """Return the day as README shows it."""
    out = []
    for step, _, said in play(folder):
        lines = said.rstrip().splitlines()
        if len(lines) > step.head:
            lines = [*lines[: step.head], "..."]
        out += [f"# {step.why}", f"$ {step.command}", *lines, ""]
    return "\n".join(out).rstrip()
