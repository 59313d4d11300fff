"""Commands about the user's own world: materials, values, shelf, copies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kb.cli.helping import EXAMPLES, Command, Group
from kb.cli.options import Force, Json, joined
from kb.cli.output import check_target, show, write_file
from kb.errors import UsageError
from kb.report.paper import printable

own_app = typer.Typer(
    name="own",
    cls=Group,
    help="Keep materials, values and stock of your own.",
    invoke_without_command=True,
    rich_markup_mode=None,
)
_LISTS = ("materials", "facts", "edges", "limits", "shelf")
OwnName = Annotated[list[str], typer.Argument(help="As you named it.", metavar="NAME")]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    EXAMPLES.update(
        {
            "own": ("kb own list", "kb own template"),
            "own template": ("kb own template", "kb own template --of shelf -o shelf.xlsx"),
            "own add": ("kb own add materials.csv", "kb own add materials.csv --json"),
            "own list": ("kb own list", "kb own list --json"),
            "own show": ('kb own show "valley beeswax"', 'kb own show "valley beeswax" --json'),
            "own remove": ('kb own remove "valley beeswax"', "kb own remove cera-alba"),
            "own undo": ("kb own undo", "kb own undo --json"),
            "own export": ("kb own export", "kb own export -o mine.toml"),
            "own backup": ("kb own backup mine.sqlite", "kb own backup mine.sqlite --force"),
            "own restore": ("kb own restore copy.sqlite", "kb own restore copy.sqlite --json"),
            "own shelf": ("kb own shelf", "kb own shelf stock.csv"),
        }
    )
    app.add_typer(own_app)


@own_app.callback()
def about(context: typer.Context) -> None:
    """Show the help when nothing is asked."""
    if context.invoked_subcommand is None:
        print(context.get_help())


@own_app.command("template", cls=Command)
def template_command(
    of: Annotated[
        str, typer.Option("--of", metavar="LIST", help="materials, facts, edges, limits or shelf.")
    ] = "materials",
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="FILE", help="Write it there.")
    ] = "-",
    force: Force = False,
) -> None:
    """Show the columns of a list to fill in."""
    from kb.own.template import template, template_book

    if of not in _LISTS:
        raise UsageError(f"There is no list {of!r}.", "--of", f"Write one of {', '.join(_LISTS)}.")
    ending = Path(output).suffix.lower() if output != "-" else ".csv"
    if ending not in {".csv", ".xlsx"}:
        raise UsageError("A list is CSV or XLSX.", output, "Let the name end in .csv or .xlsx.")
    write_file(output, template_book(of) if ending == ".xlsx" else template(of), force=force)
    if output != "-":
        print(printable(f"Wrote {output}."))


@own_app.command("add", cls=Command)
def add_command(
    file: Annotated[
        str, typer.Argument(help="CSV or XLSX list, or exported TOML.", metavar="FILE")
    ],
    json: Json = False,
) -> None:
    """Take over your own materials, values, rules or limits."""
    from kb.own.adding import add_file
    from kb.own.file import own_path
    from kb.own.world import open_world
    from kb.report.own import change_tree
    from kb.report.own_text import change_text

    path = own_path()
    world = open_world()
    added = add_file(file, path, lambda: world)
    tree = change_tree(f"Took over {file}.", path, added.counts, added.materials, added.remarks)
    show(tree, world.build, change_text, as_json=json)


@own_app.command("list", cls=Command)
def list_command(json: Json = False) -> None:
    """List all that is your own."""
    from kb.own.content import last_changes, read_content
    from kb.own.file import own_path
    from kb.own.world import overlaid
    from kb.report.own import list_tree
    from kb.report.own_text import list_text
    from kb.store.opening import open_snapshot

    path = own_path()
    content = read_content(path)
    base = open_snapshot()
    world, unread = overlaid(content, base)
    tree = list_tree(content, world, base, path, last_changes(path), unread)
    show(tree, base.build, list_text, as_json=json)


@own_app.command("show", cls=Command)
def show_command(name: OwnName, json: Json = False) -> None:
    """Show one of your own materials, or your values for one of ours."""
    from kb.own.content import read_content
    from kb.own.file import own_path
    from kb.own.world import overlaid
    from kb.report.own import own_tree
    from kb.report.own_text import own_text
    from kb.store.opening import open_snapshot

    words = joined(name)
    content = read_content(own_path())
    base = open_snapshot()
    world, _ = overlaid(content, base)
    show(own_tree(words, content, world, base), base.build, own_text, as_json=json)


@own_app.command("remove", cls=Command)
def remove_command(name: OwnName, json: Json = False) -> None:
    """Remove one of your own materials, or your values for one of ours."""
    from kb.own.adding import find_own, remove_material
    from kb.own.content import read_content
    from kb.own.file import own_path
    from kb.report.own import change_tree
    from kb.report.own_text import change_text
    from kb.store.opening import open_snapshot

    words, path = joined(name), own_path()
    base = open_snapshot()
    material = find_own(words, read_content(path), base)
    counts = remove_material(material, path)
    tree = change_tree(f"Removed {material}; `kb own undo` brings it back.", path, counts)
    show(tree, base.build, change_text, as_json=json)


@own_app.command("undo", cls=Command)
def undo_command(json: Json = False) -> None:
    """Take the last change back."""
    from kb.own.content import undo
    from kb.own.file import own_path
    from kb.report.own import change_tree
    from kb.report.own_text import change_text
    from kb.store.opening import open_snapshot

    path = own_path()
    base = open_snapshot()
    tree = change_tree(f"Took back: {undo(path)}.", path)
    show(tree, base.build, change_text, as_json=json)


@own_app.command("export", cls=Command)
def export_command(
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="FILE", help="Write it there.")
    ] = "-",
    force: Force = False,
) -> None:
    """Write all that is your own as text that reads in again."""
    from kb.own.content import read_content
    from kb.own.file import own_path
    from kb.own.text import to_text

    if output != "-" and not output.lower().endswith(".toml"):
        raise UsageError("The text is TOML.", output, "Let the name end in .toml.")
    write_file(output, to_text(read_content(own_path())), force=force)
    if output != "-":
        print(printable(f"Wrote {output}."))


@own_app.command("backup", cls=Command)
def backup_command(
    file: Annotated[str, typer.Argument(help="Where the copy goes.", metavar="FILE")],
    force: Force = False,
    json: Json = False,
) -> None:
    """Write a whole copy of your own file."""
    from kb.own.copies import backup
    from kb.own.file import own_path
    from kb.report.own import change_tree
    from kb.report.own_text import change_text
    from kb.store.opening import open_snapshot

    check_target(file, force=force)
    path = own_path()
    if path.exists() and Path(file).exists() and path.samefile(file):
        raise UsageError("This is your own file itself.", file, "Name another.")
    base = open_snapshot()
    backup(path, Path(file).absolute())
    tree = change_tree(f"Wrote a copy to {file}.", path)
    show(tree, base.build, change_text, as_json=json)


@own_app.command("restore", cls=Command)
def restore_command(
    file: Annotated[str, typer.Argument(help="A copy of `kb own backup`.", metavar="FILE")],
    json: Json = False,
) -> None:
    """Bring back a copy; what was there can be had back with undo."""
    from kb.own.copies import restore
    from kb.own.file import own_path
    from kb.report.own import change_tree
    from kb.report.own_text import change_text
    from kb.store.opening import open_snapshot

    path = own_path()
    base = open_snapshot()
    aside = restore(path, Path(file))
    kept = [f"The damaged file is kept as {aside}."] if aside is not None else []
    tree = change_tree(f"Brought back {file}.", path, remarks=kept)
    show(tree, base.build, change_text, as_json=json)


@own_app.command("shelf", cls=Command)
def shelf_command(
    file: Annotated[
        str, typer.Argument(help="CSV or XLSX of what is in stock; none shows.", metavar="FILE")
    ] = "",
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="FILE", help="Write it as .csv or .xlsx.")
    ] = "",
    force: Force = False,
    json: Json = False,
) -> None:
    """Keep what is in stock: amounts, prices, lots."""
    from kb.own.content import read_content
    from kb.own.file import own_path
    from kb.own.shelf import take_shelf
    from kb.own.world import overlaid
    from kb.report.own import shelf_tree
    from kb.report.own_text import shelf_text
    from kb.store.opening import open_snapshot

    path = own_path()
    ending = Path(output).suffix.lower()
    if output and ending not in {".csv", ".xlsx"}:
        raise UsageError("A list is CSV or XLSX.", output, "Let the name end in .csv or .xlsx.")
    if output:
        check_target(output, force=force)
    base = open_snapshot()
    if file:
        take_shelf(file, path)
    content = read_content(path)
    world, _ = overlaid(content, base)
    if output:
        from kb.formula.workbook_out import Page, table_csv, to_workbook
        from kb.own.shelf import shelf_table

        table = shelf_table(content["shelf"])
        book = to_workbook([Page("Shelf", table, frozenset({0}))]) if ending == ".xlsx" else ""
        write_file(output, book or table_csv(table), force=force)
    show(shelf_tree(content, world, path), base.build, shelf_text, as_json=json)
