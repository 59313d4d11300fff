"""Commands about the base itself: build it, look over the seed text."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kb.cli.output import show, tell
from kb.errors import SeedError
from kb.report.tree import Tree

data_app = typer.Typer(
    name="data",
    help="Look over and tidy the seed text.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Folder = Annotated[str, typer.Option("--folder", help="Folder of the seed text.")]
Json = Annotated[bool, typer.Option("--json", help="One JSON object for machines.")]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("build")(build)
    app.add_typer(data_app)


def _folder(folder: str) -> Path:
    from kb.store.seed import seed_folder

    return Path(folder) if folder else seed_folder()


def build(
    output: Annotated[str, typer.Option("-o", "--output", help="Where the file goes.")] = "",
    folder: Folder = "",
    force: Annotated[bool, typer.Option(help="Replace an existing file.")] = False,
    json: Json = False,
) -> None:
    """Build the knowledge file from the seed text.

    Examples: kb build; kb build -o base.sqlite --force
    """
    from kb.store.build import build as build_file
    from kb.store.opening import default_path
    from kb.store.seed import seed_hash

    target = Path(output) if output else default_path()
    source = _folder(folder)
    counts = build_file(source, target, force=force)
    tree: Tree = {"path": str(target), "rows": counts}
    show(
        tree,
        seed_hash(source),
        lambda t: [
            f"Built {t['path']}: {t['rows']['material']} materials, {t['rows']['fact']} values, "
            f"{t['rows']['edge']} compatibilities."
        ],
        as_json=json,
    )


@data_app.command("lint")
def lint_command(folder: Folder = "", json: Json = False) -> None:
    """List every problem of the seed text at once.

    Examples: kb data lint; kb data lint --json
    """
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
    show(
        tree,
        seed_hash(source),
        lambda t: [str(p) for p in problems] or ["The seed text is clean."],
        as_json=json,
    )
    if problems:
        raise typer.Exit(SeedError.code)


@data_app.command("format")
def format_command(
    check: Annotated[bool, typer.Option(help="Only name the files that differ.")] = False,
    folder: Folder = "",
) -> None:
    """Bring the seed files to their one form.

    Examples: kb data format; kb data format --check
    """
    from kb.store.format import format_seed

    changed = format_seed(_folder(folder), check=check)
    for name in changed:
        print(name)
    if check and changed:
        tell(f"{len(changed)} files are not in form; run `kb data format`.")
        raise typer.Exit(SeedError.code)


@data_app.command("coverage")
def coverage_command(json: Json = False) -> None:
    """Count what the base holds and how complete the deciding traits are.

    Examples: kb data coverage; kb data coverage --json
    """
    from kb.report.data import coverage_text
    from kb.store.asking import coverage
    from kb.store.opening import connect, ensure_file

    connection = connect(ensure_file())
    try:
        tree = coverage(connection)
        build_hash = connection.execute("SELECT seed_hash FROM build").fetchone()[0]
    finally:
        connection.close()
    show(tree, build_hash, coverage_text, as_json=json)


@data_app.command("conflicts")
def conflicts_command(json: Json = False) -> None:
    """List facts of one material that disagree beyond tolerance.

    Examples: kb data conflicts; kb data conflicts --json
    """
    from kb.report.data import conflicts_text
    from kb.store.asking import conflicts
    from kb.store.opening import connect, ensure_file

    connection = connect(ensure_file())
    try:
        tree: Tree = {"conflicts": conflicts(connection)}
        build_hash = connection.execute("SELECT seed_hash FROM build").fetchone()[0]
    finally:
        connection.close()
    show(tree, build_hash, conflicts_text, as_json=json)
