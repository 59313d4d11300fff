"""The commands. Each reads its arguments, calls the engine once, and shows the result."""

from __future__ import annotations

import os
import sys
from typing import Annotated

os.environ.setdefault("TYPER_USE_RICH", "0")

import typer  # noqa: E402

from kb import __version__  # noqa: E402
from kb.cli.output import show, tell, write_file  # noqa: E402
from kb.errors import KbError  # noqa: E402
from kb.report.tree import to_json  # noqa: E402

app = typer.Typer(
    name="kb",
    help="What can stand in for a raw material of a cream or balm, and what follows from it.",
    no_args_is_help=True,
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

Json = Annotated[bool, typer.Option("--json", help="One JSON object for machines.")]
FormulaFile = Annotated[str, typer.Argument(help="Formula as TOML or CSV; - reads stdin.")]


@app.callback()
def about(
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    """Say the version when asked."""
    if version:
        print(f"kb {__version__}")
        raise typer.Exit


@app.command()
def find(
    text: Annotated[list[str], typer.Argument(help="Name, part of one, or registry number.")],
    limit: Annotated[int, typer.Option(min=1, max=200, help="How many.")] = 10,
    json: Json = False,
) -> None:
    """Find a raw material by any name.

    Examples: kb find beeswax; kb find "shea buter" --limit 3
    """
    from kb.report.knowledge import find_tree
    from kb.report.text import find_text
    from kb.store.opening import open_snapshot

    base = open_snapshot()
    words = " ".join(text)
    show(
        find_tree(words, base.names.search(words, limit), base), base.build, find_text, as_json=json
    )


@app.command("show")
def show_material(
    name: Annotated[str, typer.Argument(help="INCI, common or registry name.")],
    json: Json = False,
) -> None:
    """Show what is known of a raw material.

    Examples: kb show "zinc oxide"; kb show glyceryl-stearate--90-mono --json
    """
    from kb.engine.opening import resolve_material
    from kb.report.knowledge import show_tree
    from kb.report.text import show_text
    from kb.store.opening import connect, ensure_file, open_snapshot

    path = ensure_file()
    base = open_snapshot(path)
    material = resolve_material(name, base, near=False)
    connection = connect(path)
    try:
        tree = show_tree(material, base, connection)
    finally:
        connection.close()
    show(tree, base.build, show_text, as_json=json)


@app.command()
def roles(
    role: Annotated[str, typer.Argument(help="A role; none lists all.")] = "",
    json: Json = False,
) -> None:
    """Browse what ingredients do, and who plays a role.

    Examples: kb roles; kb roles light-ester
    """
    from kb.report.knowledge import role_id, role_tree, roles_tree
    from kb.report.text import role_text, roles_text
    from kb.store.opening import open_snapshot

    base = open_snapshot()
    if role:
        show(role_tree(role_id(role, base), base), base.build, role_text, as_json=json)
    else:
        show(roles_tree(base), base.build, roles_text, as_json=json)


@app.command()
def suits(
    name: Annotated[str, typer.Argument(help="Material to judge.")],
    system: Annotated[
        str, typer.Option(help="w/o, o/w, anhydrous, water gel, suspension or powder.")
    ] = "",
    formula: Annotated[str, typer.Option(help="Formula file to judge it in.")] = "",
    as_role: Annotated[
        str, typer.Option("--as", help="Role it is meant for; `present` for none.")
    ] = "",
    json: Json = False,
) -> None:
    """Judge a material in a kind of product or in a formula: works, careful, fails.

    Examples: kb suits "xanthan gum" --system w/o; kb suits carbomer --formula gel.toml
    """
    from kb.engine.opening import open_formula, resolve_material
    from kb.engine.profile import make_profile
    from kb.engine.suits import ALIASES, PRESENT, suits_formula, suits_system
    from kb.errors import UsageError
    from kb.formula.model import SYSTEMS
    from kb.formula.reading import read_formula
    from kb.report.knowledge import role_id, verdict_tree
    from kb.report.text import suits_text
    from kb.store.opening import open_snapshot

    if bool(system) == bool(formula):
        raise UsageError(
            "Name either a system or a formula.", "--system, --formula", "Add --system w/o."
        )
    kind = system.strip().lower()
    if kind and kind not in SYSTEMS:
        raise UsageError(
            f"There is no system {system!r}.", "--system", "Write one of " + ", ".join(SYSTEMS)
        )
    base = open_snapshot()
    material = resolve_material(name, base)
    wanted = as_role.strip().casefold()
    role = wanted if wanted == PRESENT or wanted in ALIASES else ""
    if wanted and not role:
        role = role_id(as_role, base)
    if kind:
        verdict = suits_system(material, kind, base, role)
        tree = verdict_tree(material, verdict, base, kind)
    else:
        opened = open_formula(read_formula(formula), base)
        profile = make_profile(opened.batch, base)
        verdict = suits_formula(material, profile, base, role)
        tree = verdict_tree(material, verdict, base, profile.system)
    show(tree, base.build, suits_text, as_json=json)


@app.command()
def check(
    formula: FormulaFile,
    strict: Annotated[bool, typer.Option(help="Stop at a line that is not known.")] = False,
    json: Json = False,
) -> None:
    """Predict how a formula behaves and say what is wrong with it.

    Examples: kb check cream.toml; kb check - --json < cream.csv
    """
    from kb.engine.findings import find_all
    from kb.engine.opening import open_formula
    from kb.engine.profile import make_profile
    from kb.engine.swap import DRAWS
    from kb.formula.reading import read_formula
    from kb.report.formula import check_tree
    from kb.report.text import check_text
    from kb.store.opening import open_snapshot

    read = read_formula(formula)
    base = open_snapshot()
    opened = open_formula(read, base, strict=strict)
    profile = make_profile(opened.batch, base, DRAWS)
    findings = find_all(opened.formula, opened.answers, profile, base)
    show(check_tree(opened, profile, findings, base), base.build, check_text, as_json=json)


@app.command()
def swap(
    formula: FormulaFile,
    name: Annotated[str, typer.Argument(help="Material on the line to replace.")],
    line: Annotated[
        int | None, typer.Option(help="Which line, when the name stands on two.")
    ] = None,
    policy: Annotated[
        list[str] | None, typer.Option(help="What the brand allows; may be repeated.")
    ] = None,
    shelf: Annotated[str, typer.Option(help="CSV of what is in stock: only that.")] = "",
    top: Annotated[int, typer.Option(min=1, max=100, help="How many to show.")] = 10,
    strict: Annotated[bool, typer.Option(help="Stop at a line that is not known.")] = False,
    output: Annotated[
        str, typer.Option("-o", "--output", help="Write the first answer as a formula.")
    ] = "",
    force: Annotated[bool, typer.Option(help="Replace an existing output file.")] = False,
    json: Json = False,
) -> None:
    """Find what can stand in for one line, with its knock-on effects.

    Examples: kb swap cream.toml beeswax; kb swap cream.toml "zinc oxide" --policy vegan
    """
    from kb.engine.opening import item_to_replace, open_formula
    from kb.engine.policy import check_known
    from kb.engine.swap import swap as find_swaps
    from kb.formula.reading import read_formula
    from kb.report.formula import swap_tree
    from kb.report.text import swap_text
    from kb.store.opening import open_snapshot

    read = read_formula(formula)
    base = open_snapshot()
    check_known(policy or [], base)
    opened = open_formula(read, base, strict=strict)
    index = item_to_replace(opened, name, line, base)
    only = _stock(shelf, base) if shelf else None
    result = find_swaps(opened.batch, index, base, policy or [], top, only)
    tree = swap_tree(opened, result, base)
    if output and result.swaps:
        write_file(output, _accepted(opened, result), force=force)
        tell(f"Wrote {output}.")
    show(tree, base.build, swap_text, as_json=json)
    if not result.swaps:
        raise typer.Exit(5)


def _stock(shelf: str, base: Snapshot) -> set[str]:
    """Resolve a stock list; unknown names are told, not fatal."""
    from kb.formula.shelf import read_shelf

    found: set[str] = set()
    for name in read_shelf(shelf):
        answer = base.names.resolve(name)
        if answer.match is None:
            tell(f"{shelf}: {name!r} is not known and is left out.")
        else:
            found.add(answer.match.material)
    return found


def _accepted(opened: Opened, result: SwapResult) -> str:
    """Return the first answer as formula text that says where it came from."""
    from dataclasses import replace

    from kb.formula.writing import to_toml

    best = result.swaps[0]
    lines = list(opened.formula.lines)
    for item in best.trial.batch.items:
        old = lines[item.line - 1]
        given = best.candidate.material if item.line == _line(opened, result) else old.given
        lines[item.line - 1] = replace(old, given=given, percent=round(item.percent, 4), qs=False)
    note = f"{best.candidate.material} instead of {opened.batch.items[result.index].material}."
    text = f"{opened.formula.note} {note}".strip()
    return to_toml(replace(opened.formula, lines=tuple(lines), note=text))


def _line(opened: Opened, result: SwapResult) -> int:
    return opened.batch.items[result.index].line


@app.command()
def why(
    words: Annotated[
        list[str], typer.Argument(help="NAME PROPERTY, or with --formula a QUANTITY.")
    ],
    formula: Annotated[str, typer.Option(help="Formula whose quantity is asked for.")] = "",
    json: Json = False,
) -> None:
    """Show where a value or a prediction comes from.

    Examples: kb why beeswax melting_point; kb why --formula cream.toml consistency_25c
    """
    from kb.engine.opening import open_formula, resolve_material
    from kb.engine.why import why_quantity
    from kb.errors import UsageError
    from kb.formula.reading import read_formula
    from kb.report.formula import reason_tree
    from kb.report.knowledge import fact_reason_tree
    from kb.report.text import why_fact_text, why_quantity_text
    from kb.store.asking import method_of
    from kb.store.opening import connect, ensure_file, open_snapshot

    if formula and len(words) != 1:
        raise UsageError(
            "With --formula one quantity is asked for.", " ".join(words), "Name one quantity."
        )
    if not formula and len(words) < 2:
        raise UsageError(
            "A name and a property are needed.", " ".join(words), "kb why beeswax melting_point"
        )
    path = ensure_file()
    base = open_snapshot(path)
    connection = connect(path)
    try:
        if formula:
            opened = open_formula(read_formula(formula), base)
            reason = why_quantity(opened.batch, words[0], base)
            tree = reason_tree(reason, method_of(connection, words[0]))
            show(tree, base.build, why_quantity_text, as_json=json)
        else:
            material = resolve_material(" ".join(words[:-1]), base)
            tree = fact_reason_tree(material, words[-1].replace("-", "_"), base, connection)
            show(tree, base.build, why_fact_text, as_json=json)
    finally:
        connection.close()


def run(arguments: list[str]) -> int:
    """Run the command line; return the exit code. Failures are told once, in one shape."""
    import click

    wants_json = "--json" in arguments
    try:
        code = app(args=arguments, prog_name="kb", standalone_mode=False)
        sys.stdout.flush()
        return int(code or 0)
    except KbError as error:
        return _fail(error, wants_json)
    except click.exceptions.NoArgsIsHelpError as error:
        print(error.format_message())
        return 0
    except click.exceptions.Exit as error:
        return error.exit_code
    except click.UsageError as error:
        from kb.errors import UsageError

        command = error.ctx.command_path if error.ctx is not None else "kb"
        return _fail(
            UsageError(error.format_message(), command, f"`{command} --help` shows the use."),
            wants_json,
        )
    except (KeyboardInterrupt, click.Abort):
        tell("Stopped.")
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _fail(error: KbError, wants_json: bool) -> int:
    if wants_json:
        print(to_json(error.as_json()))
    else:
        where = f"{error.where}: " if error.where else ""
        tell(f"{where}{error.message}")
        tell(f"  {error.fix}")
    return error.code


from kb.cli import data as _data  # noqa: E402
from kb.engine.opening import Opened  # noqa: E402
from kb.engine.swap import SwapResult  # noqa: E402
from kb.store.snapshot import Snapshot  # noqa: E402

_data.register(app)
