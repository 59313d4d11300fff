"""The command that brings a whole formula in line with a policy."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from kb.cli.complete import policy_names
from kb.cli.helping import BARE, EXAMPLES, Command
from kb.cli.options import Force, FormulaFile, Json, Strict
from kb.cli.options import read as read_file
from kb.cli.output import check_target, show, tell, write_file
from kb.cli.stock import KEPT, Stocks, read_stocks
from kb.errors import UnknownNameError, UsageError

if TYPE_CHECKING:
    from kb.adapt.answers import Adaptation
    from kb.adapt.wish import Wish
    from kb.engine.opening import Opened
    from kb.store.snapshot import Snapshot

_NOTHING_ACCEPTABLE = 5
_FILE = "FILE"


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    EXAMPLES["adapt"] = (
        "kb adapt cream.toml --policy vegan",
        "kb adapt cream.toml --policy natural-only --keep beeswax -o natural.toml",
    )
    app.command("adapt", cls=Command)(adapt)
    BARE["adapt"] = dict.fromkeys(("--shelf", "--prefer-shelf"), KEPT)


def adapt(
    formula: FormulaFile,
    policy: Annotated[
        list[str] | None,
        typer.Option(
            metavar="POLICY",
            help="What the brand allows; may be repeated.",
            autocompletion=policy_names,
        ),
    ] = None,
    keep: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Leave this line as it is.")
    ] = None,
    forbid: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Do without this material.")
    ] = None,
    max_changes: Annotated[
        int | None, typer.Option(min=0, metavar="N", help="Most materials to bring in.")
    ] = None,
    shelf: Annotated[
        str,
        typer.Option(metavar="[FILE]", help="Only what is in stock: this list, or the kept shelf."),
    ] = "",
    prefer_shelf: Annotated[
        str,
        typer.Option(
            "--prefer-shelf", metavar="[FILE]", help="What is in stock first, at equal worth."
        ),
    ] = "",
    cost_cap: Annotated[
        float | None,
        typer.Option(metavar="PRICE", help="Most a kilogram may cost, by the prices in stock."),
    ] = None,
    blend: Annotated[
        int, typer.Option(min=1, max=2, metavar="N", help="Most materials for one line.")
    ] = 2,
    without: Annotated[
        list[str] | None,
        typer.Option(metavar="RULE", help="Leave out a rule, as named where there is no answer."),
    ] = None,
    top: Annotated[
        int, typer.Option(min=1, max=10, metavar="N", help="Answers, different in kind.")
    ] = 1,
    time_limit: Annotated[
        float, typer.Option(min=1.0, metavar="SECONDS", help="How long to look.")
    ] = 30.0,
    strict: Strict = False,
    output: Annotated[
        str,
        typer.Option(
            "-o",
            "--output",
            metavar=_FILE,
            help="Write the first answer as a formula; - prints it alone.",
        ),
    ] = "",
    force: Force = False,
    json: Json = False,
) -> None:
    """Replace all that a policy forbids, as near to the original as can be."""
    from kb.adapt.adapting import adapt as adapt_formula
    from kb.engine.opening import open_formula
    from kb.engine.policy import check_known
    from kb.formula.writing import ending_of
    from kb.own.world import open_world
    from kb.report.adapting import adapt_tree
    from kb.report.adapting_text import adapt_text

    if not policy and not forbid:
        raise UsageError("Nothing is asked for.", "adapt", "Add --policy POLICY or --forbid NAME.")
    if output == "-" and json:
        raise UsageError("-o - and --json both print.", "-o", "Leave one of them out.")
    ending = ending_of(output)
    if output and output != "-":
        check_target(output, force=force)
    read = read_file(formula)
    base = open_world()
    policies = [one.strip().lower() for one in policy or []]
    check_known(policies, base)
    opened = open_formula(read, base, strict=strict)
    stocks = read_stocks(shelf, prefer_shelf, base)
    wish = _wish(
        opened,
        base,
        stocks,
        policies=tuple(dict.fromkeys(policies)),
        keep=keep or [],
        forbid=forbid or [],
        max_changes=max_changes,
        cost_cap=cost_cap,
        blend=blend,
        without=without or [],
        top=top,
        seconds=time_limit,
    )
    result = adapt_formula(opened.batch, base, wish, _progress())
    tree = adapt_tree(opened, result, base)
    if output and result.solutions:
        write_file(output, _adopted(opened, result, base, ending), force=force)
        if output != "-":
            tell(f"Wrote {output}.")
    if output != "-" or not result.solutions:
        show(tree, base.build, adapt_text, as_json=json)
    if result.status != "unchanged" and not result.solutions:
        if output:
            tell("Nothing was written: nothing acceptable was found.")
        raise typer.Exit(_NOTHING_ACCEPTABLE)


def _wish(
    opened: Opened,
    base: Snapshot,
    stocks: Stocks,
    *,
    policies: tuple[str, ...],
    keep: list[str],
    forbid: list[str],
    max_changes: int | None,
    cost_cap: float | None,
    blend: int,
    without: list[str],
    top: int,
    seconds: float,
) -> Wish:
    from kb.adapt.wish import Wish
    from kb.engine.opening import resolve_material

    wish = Wish(
        policies,
        frozenset(n for name in keep for n in _kept(name, opened, base)),
        frozenset(resolve_material(name, base, near=False) for name in forbid),
        max_changes,
        stocks.only,
        stocks.preferred,
        stocks.prices,
        cost_cap,
        blend,
        top,
        seconds,
        frozenset(one.strip() for one in without),
        stocks.currency,
    )
    if cost_cap is not None:
        _check_prices(opened, wish, base)
    return wish


def _kept(name: str, opened: Opened, base: Snapshot) -> list[int]:
    """Return the places of the lines that a name to be kept means."""
    from kb.engine.opening import resolve_material

    wanted = name.strip().casefold()
    named = {n for n, line in enumerate(opened.formula.lines, 1) if line.given.casefold() == wanted}
    items = opened.batch.items
    found = [n for n, item in enumerate(items) if item.line in named]
    if not found:
        generic = resolve_material(name, base, near=False).split("--")[0]
        found = [n for n, item in enumerate(items) if item.material.split("--")[0] == generic]
    if not found:
        listed = ", ".join(line.given for line in opened.formula.lines[:12])
        raise UnknownNameError(
            f"{name!r} is not in this formula.", "--keep", f"Its lines are: {listed}."
        )
    return found


def _check_prices(opened: Opened, wish: Wish, base: Snapshot) -> None:
    """A cap on the cost needs the price of every line that stays; water counts as free."""
    from kb.adapt.layout import NO_PRICE, price_of

    bare = [
        base.materials[m].inci for m in opened.batch.by_material() if price_of(m, wish) >= NO_PRICE
    ]
    if bare:
        raise UsageError(
            f"No price is known for {', '.join(bare)}.",
            "--cost-cap",
            "Give a stock list with prices by --shelf or --prefer-shelf.",
        )


def _adopted(opened: Opened, result: Adaptation, base: Snapshot, ending: str) -> str | bytes:
    from kb.engine.accepting import adopted
    from kb.formula.writing import written

    best = result.solutions[0]
    new = adopted(
        opened,
        best.batch,
        {change.index: change.to for change in best.changes},
        base,
        because=", ".join(f"policy {policy}" for policy in result.wish.policies),
        date=datetime.date.today().isoformat(),
    )
    return written(new, ending)


def _progress() -> Callable[[str], None] | None:
    """Tell of progress on a terminal alone."""
    return tell if sys.stderr is not None and sys.stderr.isatty() else None
