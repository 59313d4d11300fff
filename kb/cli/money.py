"""Stock, prices and batches on the command line; shared by swap and sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kb.errors import UsageError

if TYPE_CHECKING:
    from kb.engine.answers import SwapResult
    from kb.engine.stock import Held
    from kb.report.tree import Tree
    from kb.store.snapshot import Snapshot

BatchMass = Annotated[
    str, typer.Option("--batch", metavar="MASS", help="Money for this batch, such as 2.5kg.")
]
Tests = Annotated[
    float, typer.Option(min=0.0, metavar="MONEY", help="What the tests of the change cost.")
]
Labels = Annotated[
    float, typer.Option(min=0.0, metavar="MONEY", help="What new labels and artwork cost.")
]


def mass(text: str, option: str) -> float:
    """Read a mass in grams.

    Raises
    ------
    UsageError
        It is none.
    """
    from kb.own.shelf import grams_in

    grams = grams_in(text)
    if grams is None or not 0.001 <= grams <= 1e7:
        raise UsageError(f"{text!r} is no mass.", option, "Write for example 2.5kg or 500g.")
    return grams


def batch_grams(text: str, tests: float, labels: float) -> float | None:
    """Return the mass of a batch, g, if one is named; costs of a change need one."""
    if text:
        return mass(text, "--batch")
    if tests or labels:
        raise UsageError(
            "How many batches pay for the change depends on their size.",
            "--batch",
            "Add for example --batch 2.5kg.",
        )
    return None


def add_money(
    tree: Tree,
    result: SwapResult,
    store: Held,
    base: Snapshot,
    batch_g: float | None,
    once: float,
) -> None:
    """Put what each stand-in does to the money into the tree of a swap, where a batch is named."""
    from kb.engine.stock import worth_of
    from kb.report.money import worth_tree

    for shown, one in zip(tree["swaps"], result.swaps, strict=True):
        shown["money"] = (
            None
            if batch_g is None
            else worth_tree(worth_of(result, one, store, batch_g, once), base)
        )
