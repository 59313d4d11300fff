"""Commands about the base itself: build it, look over the seed text."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kb.cli.helping import Command, Group
from kb.cli.options import Force, Json
from kb.cli.output import check_target, show, tell
from kb.errors import SeedError, UsageError
from kb.report.tree import Tree

data_app = typer.Typer(
    name="data",
    cls=Group,
    help="Look over and tidy the seed text.",
    invoke_without_command=True,
    rich_markup_mode=None,
)

Folder = Annotated[str, typer.Option(metavar="FOLDER", help="Folder of the seed text.")]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("build", cls=Command)(build)
    app.add_typer(data_app)


@data_app.callback()
def about(context: typer.Context) -> None:
    """Show the help when nothing is asked."""
    if context.invoked_subcommand is None:
        print(context.get_help())


def _folder(folder: str) -> Path:
    from kb.store.seed import seed_folder

    if not folder:
        return seed_folder()
    if not Path(folder).is_dir():
        raise UsageError("There is no such folder.", folder, "Name the folder of the seed text.")
    return Path(folder)


def build(
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="FILE", help="Where the file goes.")
    ] = "",
    folder: Folder = "",
    force: Force = False,
    json: Json = False,
) -> None:
    """Build the knowledge file from the seed text."""
    from kb.report.data import build_text
    from kb.store.build import build as build_file
    from kb.store.opening import default_path
    from kb.store.seed import seed_hash

    target = Path(output) if output else default_path()
    source = _folder(folder)
    if output:
        check_target(output, force=force)
        if target.exists() and not _may_replace(target):
            raise UsageError("This file is no knowledge file; it stays.", output, "Name another.")
    elif target.exists() and not force:
        raise UsageError("The file exists already.", str(target), "Add --force to replace it.")
    tree: Tree = {"path": str(target), "rows": build_file(source, target, force=force)}
    show(tree, seed_hash(source), build_text, as_json=json)


def _may_replace(target: Path) -> bool:
    """Tell whether a file is empty or a database, so that no formula is lost by a slip."""
    with target.open("rb") as stream:
        start = stream.read(16)
    return start in {b"", b"SQLite format 3\0"}


@data_app.command("lint", cls=Command)
def lint_command(folder: Folder = "", json: Json = False) -> None:
    """List every problem of the seed text at once."""
    from kb.report.data import lint_text
    from kb.store.lint import lint
    from kb.store.seed import read_seed, seed_hash

    source = _folder(folder)
    problems = lint(read_seed(source))
    tree: Tree = {
        "problems": [
            {"file": p.file, "line": p.line, "column": p.column, "read": p.read, "wanted": p.wanted}
            for p in problems
        ]
    }
    show(tree, seed_hash(source), lint_text, as_json=json)
    if problems:
        raise typer.Exit(SeedError.code)


@data_app.command("format", cls=Command)
def format_command(
    check: Annotated[
        bool, typer.Option("--check", help="Only name the files that differ.")
    ] = False,
    folder: Folder = "",
) -> None:
    """Bring the seed files to their one form."""
    from kb.report.paper import printable
    from kb.store.format import format_seed

    changed = format_seed(_folder(folder), check=check)
    for name in changed:
        print(printable(name))
    if not changed:
        print("Every file is in form.")
    if check and changed:
        tell(f"{len(changed)} files are not in form; run `kb data format`.")
        raise typer.Exit(SeedError.code)


@data_app.command("coverage", cls=Command)
def coverage_command(json: Json = False) -> None:
    """Count what the base holds and which traits are known."""
    from kb.report.data import coverage_text
    from kb.store.asking import build_of, coverage
    from kb.store.opening import connect, ensure_file

    connection = connect(ensure_file())
    try:
        tree = coverage(connection)
        build_hash = build_of(connection)
    finally:
        connection.close()
    show(tree, build_hash, coverage_text, as_json=json)


@data_app.command("conflicts", cls=Command)
def conflicts_command(json: Json = False) -> None:
    """List values that disagree beyond tolerance."""
    from kb.report.data import conflicts_text
    from kb.store.asking import build_of, conflicts
    from kb.store.opening import connect, ensure_file

    connection = connect(ensure_file())
    try:
        tree: Tree = {"conflicts": conflicts(connection)}
        build_hash = build_of(connection)
    finally:
        connection.close()
    show(tree, build_hash, conflicts_text, as_json=json)
