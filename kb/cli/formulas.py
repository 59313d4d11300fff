"""Commands about a formula: check, swap."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from kb.cli.anchoring import ModelOnly, experience_of
from kb.cli.complete import policy_names
from kb.cli.helping import BARE, Command
from kb.cli.money import BatchMass, Labels, Tests, add_money, batch_grams
from kb.cli.options import Force, FormulaFile, Json, Name, Plot, Strict, joined
from kb.cli.options import read as read_file
from kb.cli.output import check_target, show, tell, write_file
from kb.cli.pictures import check_plot, draw_check, draw_dose, draw_swap
from kb.cli.stock import KEPT, read_stocks
from kb.errors import UsageError

if TYPE_CHECKING:
    from kb.engine.batch import Batch
    from kb.store.snapshot import Snapshot

_NOTHING_ACCEPTABLE = 5


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("check", cls=Command)(check)
    app.command("swap", cls=Command)(swap)
    BARE["swap"] = dict.fromkeys(("--shelf", "--prefer-shelf"), KEPT)


def check(
    formula: FormulaFile,
    plot: Plot = "",
    force: Force = False,
    strict: Strict = False,
    model_only: ModelOnly = False,
    json: Json = False,
) -> None:
    """Predict how a formula behaves and say what is wrong with it."""
    from kb.engine.findings import find_all
    from kb.engine.opening import open_formula
    from kb.engine.profile import make_profile
    from kb.engine.swap import DRAWS
    from kb.own.world import open_world
    from kb.report.formula import check_tree
    from kb.report.formula_text import check_text

    if plot:
        check_plot(plot, force=force)
    read = read_file(formula)
    base = open_world()
    opened = open_formula(read, base, strict=strict)
    profile = make_profile(opened.batch, base, DRAWS)
    known = experience_of(opened, base, model_only=model_only)
    if known is not None:
        from kb.engine.anchoring import anchor_profile

        anchor_profile(profile, known, base)
    findings = find_all(opened.formula, opened.answers, profile, base)
    if plot:
        draw_check(plot, opened, profile, base, force=force)
    show(check_tree(opened, profile, findings, base), base.build, check_text, as_json=json)


def swap(
    formula: FormulaFile,
    name: Name,
    line: Annotated[
        int | None, typer.Option(metavar="N", help="Which line, when the name stands on two.")
    ] = None,
    policy: Annotated[
        list[str] | None,
        typer.Option(
            metavar="POLICY",
            help="What the brand allows; may be repeated.",
            autocompletion=policy_names,
        ),
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
    to: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME|FILE",
            help="Ask about this material, grade or specification file alone.",
        ),
    ] = None,
    present: Annotated[
        str, typer.Option(metavar="FILE", help="Specification of the lot in use now.")
    ] = "",
    as_role: Annotated[
        str, typer.Option("--as", metavar="ROLE", help="The role the line plays here.")
    ] = "",
    top: Annotated[int, typer.Option(min=1, max=100, metavar="N", help="How many to show.")] = 10,
    detail: Annotated[
        int, typer.Option(min=0, max=100, metavar="N", help="How many of them in full.")
    ] = 3,
    blend: Annotated[
        int,
        typer.Option(min=1, max=3, metavar="N", help="Most materials to stand in together."),
    ] = 1,
    strict: Strict = False,
    output: Annotated[
        str,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Write the first answer as a formula; - prints it alone.",
        ),
    ] = "",
    plot: Plot = "",
    dose_plot: Annotated[
        str,
        typer.Option(
            "--dose-plot",
            metavar="FILE",
            help="Draw the effect of the first answer against its level, as .svg or .png.",
        ),
    ] = "",
    batch_mass: BatchMass = "",
    tests: Tests = 0.0,
    labels: Labels = 0.0,
    model_only: ModelOnly = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Find what can stand in for one line, with its knock-on effects."""
    from kb.engine.accepting import accepted
    from kb.engine.cost import add_cost
    from kb.engine.opening import item_to_replace, open_formula
    from kb.engine.policy import check_known
    from kb.engine.swap import swap as find_swaps
    from kb.formula.writing import ending_of, written
    from kb.own.world import open_world
    from kb.report.formula import swap_tree
    from kb.report.formula_text import swap_text
    from kb.report.knowledge import role_id

    words = joined(name)
    if output == "-" and json:
        raise UsageError("-o - and --json both print.", "-o", "Leave one of them out.")
    ending = ending_of(output)
    if output and output != "-":
        check_target(output, force=force)
    for picture in filter(None, (plot, dose_plot)):
        check_plot(picture, force=force)
    if plot and plot == dose_plot:
        raise UsageError("Both pictures go to one file.", "--dose-plot", "Name another file.")
    read = read_file(formula)
    batch_g = batch_grams(batch_mass, tests, labels)
    base = open_world()
    policies = [one.strip().lower() for one in policy or []]
    check_known(policies, base)
    opened = open_formula(read, base, strict=strict)
    index = item_to_replace(opened, words, line, base)
    stocks = read_stocks(shelf, prefer_shelf, base)
    base, asked = _asked(to or [], base)
    base, batch = _in_use(present, opened.batch, index, base)
    role = role_id(as_role, base) if as_role else ""
    result = find_swaps(
        *(batch, index, base, policies, top),
        only=set(stocks.only) if stocks.only is not None else None,
        to=asked or None,
        as_role=role,
        preferred=set(stocks.preferred) if stocks.preferred is not None else None,
    )
    if blend > 1:
        from kb.adapt.blends import add_blends

        add_blends(
            *(result, policies, base, blend, top), only=stocks.only, preferred=stocks.preferred
        )
    known = experience_of(opened, base, model_only=model_only)
    if known is not None:
        from kb.engine.anchoring import anchor_swaps
        from kb.engine.swap import DRAWS

        anchor_swaps(result, known, base, DRAWS)
    add_cost(result, stocks.prices, stocks.currency)
    opened = replace(opened, batch=batch)
    if output and result.swaps:
        new = accepted(
            *(opened, result, result.swaps[0], base),
            because=_because(policies, shelf, prefer_shelf),
            date=datetime.date.today().isoformat(),
        )
        write_file(output, written(new, ending), force=force)
        if output != "-":
            tell(f"Wrote {output}.")
    if plot and result.swaps:
        draw_swap(plot, opened, result, base, force=force)
    if dose_plot and result.swaps:
        draw_dose(dose_plot, opened, result, base, force=force)
    if output != "-" or not result.swaps:
        tree = swap_tree(opened, result, base)
        add_money(tree, result, stocks.held, base, batch_g, tests + labels)
        show(tree, base.build, lambda t: swap_text(t, detail), as_json=json)
    if not result.swaps:
        if output or plot or dose_plot:
            tell("Nothing was written: nothing acceptable was found.")
        raise typer.Exit(_NOTHING_ACCEPTABLE)


def _asked(names: list[str], base: Snapshot) -> tuple[Snapshot, list[str]]:
    """Resolve what is asked about; a specification file becomes a grade of its material."""
    from kb.engine.lots import lay_over
    from kb.engine.opening import resolve_material
    from kb.formula.specification import looks_like_file, read_specification

    found = []
    for name in names:
        if looks_like_file(name):
            base, material = lay_over(read_specification(name), base)
        else:
            material = resolve_material(name, base)
        found.append(material)
    return base, found


def _in_use(present: str, batch: Batch, index: int, base: Snapshot) -> tuple[Snapshot, Batch]:
    """Put the specified lot in use on its line."""
    from kb.engine.lots import lay_over
    from kb.formula.specification import read_specification

    if not present:
        return base, batch
    base, material = lay_over(read_specification(present), base)
    item = batch.items[index]
    if material.split("--")[0] != item.material.split("--")[0]:
        raise UsageError(
            f"The specification is of {base.materials[material].inci}, the line holds "
            f"{base.materials[item.material].inci}.",
            "--present",
            "Give the specification of the material on the line.",
        )
    items = list(batch.items)
    items[index] = item.of(material, item.percent)
    return base, batch.with_items(items)


def _because(policies: list[str], shelf: str, prefer_shelf: str) -> str:
    """Return what was asked for, as the new version tells it."""
    said = [f"policy {policy}" for policy in policies]
    said += [f"from {name}" for name in (shelf, prefer_shelf) if name]
    return ", ".join(said)
