"""Arguments and options that several commands share."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from kb.cli.complete import material_names
from kb.errors import UsageError

if TYPE_CHECKING:
    from kb.formula.model import Formula

Json = Annotated[bool, typer.Option("--json", help="One JSON object for machines.")]
FormulaFile = Annotated[
    str, typer.Argument(help="Formula: TOML, CSV, XLSX; - is standard input.", metavar="FORMULA")
]
Name = Annotated[
    list[str],
    typer.Argument(
        help="INCI, common or registry name.",
        metavar="NAME",
        autocompletion=material_names,
    ),
]
Strict = Annotated[bool, typer.Option("--strict", help="Stop at a line that is not known.")]
Plot = Annotated[
    str, typer.Option("--plot", metavar="FILE", help="Draw it as well, as .svg or .png.")
]
Force = Annotated[bool, typer.Option("--force", help="Replace an existing file.")]


def joined(words: list[str]) -> str:
    """Return a name given as one word or as several.

    Raises
    ------
    UsageError
        It is blank.
    """
    name = " ".join(words).strip()
    if not name:
        raise UsageError("The name is empty.", "NAME", "Name a material, such as beeswax.")
    return name


def read(path: str) -> Formula:
    """Read a formula; a terminal as standard input is refused rather than waited for.

    Raises
    ------
    UsageError
        Nothing is piped in.
    """
    from kb.formula.reading import read_formula

    if path == "-" and sys.stdin is not None and sys.stdin.isatty():
        raise UsageError(
            "Standard input is a terminal.", "-", "Pipe a formula in: `kb check - < cream.toml`."
        )
    return read_formula(path)
