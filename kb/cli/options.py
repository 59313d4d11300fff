"""Arguments and options that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer

from kb.cli.complete import material_names
from kb.errors import UsageError

Json = Annotated[bool, typer.Option("--json", help="One JSON object for machines.")]
FormulaFile = Annotated[
    str, typer.Argument(help="Formula as TOML or CSV; - reads standard input.", metavar="FORMULA")
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
