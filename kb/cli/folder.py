"""Commands about a whole folder of formulas: outlook, event."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kb.cli.complete import policy_names
from kb.cli.helping import EXAMPLES, Command
from kb.cli.options import Force, Json, Name, Plot, joined
from kb.cli.output import show, tell, write_file
from kb.cli.pictures import check_plot
from kb.cli.running import ask_folder, check_results
from kb.errors import UsageError

if TYPE_CHECKING:
    from kb.store.snapshot import Snapshot

FormulaFolder = Annotated[
    str, typer.Argument(help="Folder of formula files.", metavar="FOLDER", show_default=False)
]
Policies = Annotated[
    list[str] | None,
    typer.Option(
        "--policy",
        metavar="POLICY",
        help="What the brand allows; may be repeated.",
        autocompletion=policy_names,
    ),
]
Good = Annotated[
    float | None,
    typer.Option(
        "--good", min=0.0, max=1.0, metavar="WORTH", help="From when a stand-in is good (0.5)."
    ),
]
Results = Annotated[
    str,
    typer.Option("-o", "--output", metavar="FILE", help="Write every line as .sqlite or .parquet."),
]
Workers = Annotated[
    int | None,
    typer.Option(min=1, max=1024, metavar="N", help="Processes; else one for each processor."),
]
Dask = Annotated[
    str, typer.Option(metavar="ADDRESS", help="Let the workers of this Dask scheduler do it.")
]
Fresh = Annotated[bool, typer.Option("--fresh", help="Forget what was answered before.")]
Kilograms = Annotated[
    float | None, typer.Option("--batch-kg", min=0.001, metavar="KG", help="Size of a batch (10).")
]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    EXAMPLES.update(
        {
            "outlook": (
                "kb outlook .",
                "kb outlook . --policy vegan -o lines.sqlite",
            ),
            "event": (
                "kb event . squalane --from 2030-01-31 --left 40",
                'kb event . "magnesium sulfate" --limit 0.5',
            ),
        }
    )
    app.command("outlook", cls=Command)(outlook)
    app.command("event", cls=Command)(event)


def outlook(
    folder: FormulaFolder,
    policy: Policies = None,
    good: Good = None,
    plot: Plot = "",
    output: Results = "",
    workers: Workers = None,
    dask: Dask = "",
    fresh: Fresh = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Find the raw materials a folder hangs on, and what to stock."""
    from kb.engine.policy import check_known
    from kb.folder.asking import Question
    from kb.folder.files import files_of
    from kb.folder.outlook import MOST
    from kb.folder.outlook import outlook as put_together
    from kb.folder.standing_in import GOOD
    from kb.own.world import open_world
    from kb.report.folder import outlook_tree
    from kb.report.folder_text import outlook_text

    _check(plot, output, force)
    files = files_of(folder)
    base = open_world()
    policies = [one.strip().lower() for one in policy or []]
    check_known(policies, base)
    worth = GOOD if good is None else good
    question = Question(worth, MOST, tuple(policies))
    answers = ask_folder(files, question, base, workers, dask, fresh=fresh)
    tree = outlook_tree(folder, put_together(answers), worth, policies, base)
    _write(output, answers, force=force)
    if plot:
        _draw(plot, tree, force=force)
    show(tree, base.build, outlook_text, as_json=json)


def event(
    folder: FormulaFolder,
    name: Name,
    limit: Annotated[
        float | None,
        typer.Option(
            min=0.0, max=100.0, metavar="PERCENT", help="No more of it than this is allowed."
        ),
    ] = None,
    price: Annotated[
        float | None, typer.Option(min=0.0, metavar="PRICE", help="A kilogram costs this.")
    ] = None,
    was: Annotated[
        float | None, typer.Option(min=0.0, metavar="PRICE", help="A kilogram cost this before.")
    ] = None,
    start: Annotated[
        str, typer.Option("--from", metavar="DATE", help="Year-month-day; else today.")
    ] = "",
    left: Annotated[
        float, typer.Option(min=0.0, metavar="KG", help="Kilograms there on that day.")
    ] = 0.0,
    batches: Annotated[
        float | None, typer.Option(min=0.001, metavar="N", help="Batches a month of each (1).")
    ] = None,
    batch_kg: Kilograms = None,
    shelf: Annotated[
        str, typer.Option(metavar="FILE", help="CSV of what is in stock: not new.")
    ] = "",
    today: Annotated[
        str, typer.Option(metavar="DATE", help="Count from this day instead of today.")
    ] = "",
    policy: Policies = None,
    good: Good = None,
    output: Results = "",
    workers: Workers = None,
    dask: Dask = "",
    fresh: Fresh = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Say which formulas an event hits, by when, and what mends them all."""
    from kb.engine.opening import resolve_material
    from kb.engine.policy import check_known
    from kb.folder.asking import Question
    from kb.folder.event import BATCH_KG, Event, outcome
    from kb.folder.files import files_of
    from kb.folder.standing_in import GOOD
    from kb.own.world import open_world
    from kb.report.folder import event_tree
    from kb.report.folder_text import event_text

    kind, figure = _kind(limit, price, was)
    now = _day(today, "--today", date.today())
    words = joined(name)
    _check("", output, force)
    files = files_of(folder)
    base = open_world()
    policies = [one.strip().lower() for one in policy or []]
    check_known(policies, base)
    happens = Event(
        kind,
        resolve_material(words, base),
        _day(start, "--from", now),
        now,
        left,
        BATCH_KG if batch_kg is None else batch_kg,
        1.0 if batches is None else batches,
        figure,
        was,
    )
    stock = _stock(shelf, base)
    worth = GOOD if good is None else good
    question = Question(worth, None, tuple(policies), happens.material, limit)
    answers = ask_folder(files, question, base, workers, dask, fresh=fresh)
    found = outcome(answers, happens, stock)
    _write(output, answers, force=force)
    show(event_tree(folder, found, worth, base), base.build, event_text, as_json=json)


def _kind(limit: float | None, price: float | None, was: float | None) -> tuple[str, float | None]:
    """Return what happens, and the figure that goes with it."""
    from kb.folder.event import ENDS, LIMIT, PRICE

    if limit is not None and price is not None:
        raise UsageError("--limit and --price are two events.", "--price", "Ask one at a time.")
    if was is not None and price is None:
        raise UsageError("--was needs the new price.", "--was", "Add --price.")
    if limit is not None:
        return LIMIT, limit
    return (PRICE, price) if price is not None else (ENDS, None)


def _day(text: str, option: str, otherwise: date) -> date:
    if not text:
        return otherwise
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise UsageError(
            f"{text!r} is no date.", option, "Write year-month-day, such as 2030-01-31."
        ) from None


def _stock(shelf: str, base: Snapshot) -> frozenset[str]:
    """Return the generic ids of what is in stock; unknown names are told, not fatal."""
    if not shelf:
        return frozenset()
    from kb.formula.shelf import read_shelf

    found = set()
    for name in read_shelf(shelf):
        answer = base.names.resolve(name)
        if answer.match is None:
            tell(f"{shelf}: {name!r} is not known and is left out.")
        else:
            found.add(answer.match.material.split("--")[0])
    return frozenset(found)


def _check(plot: str, output: str, force: bool) -> None:
    if plot:
        check_plot(plot, force=force)
    if output:
        check_results(output, force=force)


def _write(output: str, answers: list[dict[str, Any]], *, force: bool) -> None:
    if output:
        from kb.cli.output import check_target
        from kb.report.folder import COLUMNS, rows_of
        from kb.store.results import write_rows

        check_target(output, force=force)
        write_rows(output, COLUMNS, rows_of(answers))
        tell(f"Wrote {output}.")


def _draw(plot: str, tree: dict[str, Any], *, force: bool) -> None:
    from kb.report.folder_plot import outlook_figure
    from kb.report.plots import rendered

    title = f"{tree['folder']}: {tree['formulas']} formulas"
    write_file(plot, rendered(outlook_figure(tree, title), plot), force=force)
    tell(f"Wrote {plot}.")
