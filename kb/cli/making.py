"""Commands about the making: the batch sheet, what was measured, two formulas compared."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kb.cli.anchoring import ModelOnly, experience_of
from kb.cli.helping import EXAMPLES, Command
from kb.cli.money import mass
from kb.cli.options import Force, FormulaFile, Json
from kb.cli.options import read as read_file
from kb.cli.output import check_target, show, tell, write_file
from kb.errors import UsageError
from kb.report.tree import Tree

if TYPE_CHECKING:
    from kb.engine.opening import Opened
    from kb.engine.profile import Profile
    from kb.store.snapshot import Snapshot

_FORMS = (".html", ".md", ".txt", ".xlsx")


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    EXAMPLES.update(
        {
            "sheet": (
                "kb sheet cream.toml --batch 2.5kg",
                "kb sheet cream.toml --batch 500g -o sheet.html",
            ),
            "measured": (
                "kb measured cream.toml --consistency 42000 --age 24h",
                "kb measured --list",
            ),
            "convert": (
                "kb convert cream.toml -o cream.xlsx",
                "kb convert cream.toml -o rezept.csv --language de",
            ),
            "compare": ("kb compare cream.toml lotion.toml", "kb compare cream.toml cream.toml"),
        }
    )
    app.command("sheet", cls=Command)(sheet)
    app.command("measured", cls=Command)(measured)
    app.command("compare", cls=Command)(compare)
    app.command("convert", cls=Command)(convert)


def _predicted(path: str, base: Snapshot, *, model_only: bool = False) -> tuple[Opened, Profile]:
    from kb.engine.opening import open_formula
    from kb.engine.profile import make_profile
    from kb.engine.swap import DRAWS

    opened = open_formula(read_file(path), base)
    profile = make_profile(opened.batch, base, DRAWS)
    known = experience_of(opened, base, model_only=model_only)
    if known is not None:
        from kb.engine.anchoring import anchor_profile

        anchor_profile(profile, known, base)
    return opened, profile


def sheet(
    formula: FormulaFile,
    batch: Annotated[
        str, typer.Option(metavar="MASS", help="How much to make, such as 2.5kg or 500g.")
    ],
    balance: Annotated[
        str, typer.Option(metavar="MASS", help="What the balance shows, such as 0.1g.")
    ] = "",
    output: Annotated[
        str,
        typer.Option(
            "-o", "--output", metavar="FILE", help="Write it as .html, .xlsx, .md or .txt."
        ),
    ] = "",
    model_only: ModelOnly = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Write the sheet to make a batch by: grams, steps, checks."""
    from kb.engine.findings import find_all
    from kb.engine.sheet import make_sheet
    from kb.own.world import open_world
    from kb.report.sheet import sheet_html, sheet_markdown, sheet_text, sheet_tree
    from kb.report.sheet_book import sheet_workbook

    grams = mass(batch, "--batch")
    step = mass(balance, "--balance") if balance else None
    if step is not None and step > grams / 10.0:
        raise UsageError(
            "The balance is too coarse for this batch.", "--balance", "Name a finer one."
        )
    ending = Path(output).suffix.lower()
    if output and ending not in _FORMS:
        raise UsageError(
            "The form of the sheet is not known.", output, f"End it in {', '.join(_FORMS)}."
        )
    if output:
        check_target(output, force=force)
    base = open_world()
    opened, profile = _predicted(formula, base, model_only=model_only)
    findings = find_all(opened.formula, opened.answers, profile, base)
    made = make_sheet(opened, profile, base, grams, step)
    tree = sheet_tree(opened, made, profile.system, findings, base)
    tree["money"] = _money(opened, base, made.batch_g)
    if output:
        forms: dict[str, Callable[[Tree], str | bytes]] = {
            ".html": sheet_html,
            ".md": sheet_markdown,
            ".xlsx": sheet_workbook,
            ".txt": lambda t: "\n".join(sheet_text(t)) + "\n",
        }
        write_file(output, forms[ending](tree), force=force)
        tell(f"Wrote {output}.")
    if not output or json:
        show(tree, base.build, sheet_text, as_json=json)
    elif output:
        print(f"{tree['batch_g']:,g} g in {len(tree['steps'])} steps.")


def _money(opened: Opened, base: Snapshot, batch_g: float) -> Tree | None:
    """Return what the batch costs and takes from the kept shelf, if there is one."""
    from kb.own.file import holds_something, own_path

    if not holds_something(own_path()):
        return None
    from kb.engine.stock import held, money_of
    from kb.own.shelf import kept_stock
    from kb.report.money import money_tree

    stock = kept_stock()
    names = dict.fromkeys([*stock.names, *stock.grams])
    found = {name: m.material for name in names if (m := base.names.resolve(name).match)}
    if not found:
        return None
    return money_tree(money_of(held(stock, found), opened.batch.by_material(), batch_g), base)


def measured(
    formula: Annotated[
        str, typer.Argument(help="Formula that was made: TOML, CSV, XLSX.", metavar="FORMULA")
    ] = "",
    consistency: Annotated[
        float | None, typer.Option(metavar="MPAS", help="Consistency, mPa.s.")
    ] = None,
    ph: Annotated[float | None, typer.Option(metavar="PH", help="pH.")] = None,
    melting: Annotated[
        float | None, typer.Option(metavar="DEGC", help="Melting or drop point, degC.")
    ] = None,
    separation: Annotated[
        float | None, typer.Option(metavar="PERCENT", help="Liquid that came off, %.")
    ] = None,
    instrument: Annotated[str, typer.Option(metavar="TEXT", help="What measured it.")] = "",
    spindle: Annotated[str, typer.Option(metavar="TEXT", help="Spindle.")] = "",
    speed: Annotated[str, typer.Option(metavar="TEXT", help="Speed, with its unit.")] = "",
    age: Annotated[str, typer.Option(metavar="AGE", help="Age of the batch: 24h, 2d.")] = "",
    temperature: Annotated[
        float | None, typer.Option(metavar="DEGC", help="Temperature, degC.")
    ] = None,
    date: Annotated[str, typer.Option(metavar="DATE", help="Year-month-day; else today.")] = "",
    note: Annotated[str, typer.Option(metavar="TEXT", help="A remark.")] = "",
    listing: Annotated[bool, typer.Option("--list", help="Show what was logged.")] = False,
    output: Annotated[
        str,
        typer.Option("-o", "--output", metavar="FILE", help="With --list: write .csv or .xlsx."),
    ] = "",
    force: Force = False,
    json: Json = False,
) -> None:
    """Log what a batch gave, or show what was logged."""
    from kb.engine.accepting import key_of
    from kb.engine.anchoring import process_of, recipes_of
    from kb.formula.clean import one_line
    from kb.formula.workbook_out import Page, table_csv, to_workbook
    from kb.formula.writing import to_toml
    from kb.own.file import own_path
    from kb.own.measured import hours_in, log, logged
    from kb.own.world import open_world
    from kb.report.log_table import log_rows
    from kb.report.making import measured_text, measured_tree

    given = {
        name: value
        for name, value in (
            ("consistency", consistency),
            ("ph", ph),
            ("melting", melting),
            ("separation", separation),
        )
        if value is not None
    }
    if listing and given:
        raise UsageError("--list shows and does not log.", "--list", "Leave one of them out.")
    if not listing and not formula:
        raise UsageError("A formula is needed.", "FORMULA", "Name its file, or add --list.")
    if output:
        _check_log(output, listing=listing, force=force)
    path = own_path()
    base = open_world()
    key, name, recipe, profile = "", "", "", None
    if formula:
        opened, profile = _predicted(formula, base, model_only=True)
        recipe = to_toml(replace(opened.formula, measured={}, versions=(), note=""))
        key, name = key_of(opened), opened.formula.name or Path(formula).stem
    if listing:
        rows = logged(path, key)
    else:
        how = {
            "instrument": one_line(instrument),
            "spindle": one_line(spindle),
            "speed": one_line(speed),
            "age_h": hours_in(age) if age else None,
            "temperature_c": temperature,
            "note": one_line(note),
        }
        rows = log(path, key, name, given, how, date, recipe)
    if output:
        table = log_rows(rows, recipes_of(rows, base))
        book = output.lower().endswith(".xlsx")
        pages = [Page("Log", table, frozenset({0}))]
        write_file(output, to_workbook(pages) if book else table_csv(table), force=force)
        tell(f"Wrote {output}.")
    process = process_of(logged(path), base)
    show(measured_tree(rows, profile, process), base.build, measured_text, as_json=json)


def _check_log(output: str, *, listing: bool, force: bool) -> None:
    if not listing:
        raise UsageError("-o writes the log.", "-o", "Add --list.")
    if not output.lower().endswith((".csv", ".xlsx")):
        raise UsageError("The log is CSV or XLSX.", output, "Let the name end in .csv or .xlsx.")
    check_target(output, force=force)


def compare(
    first: Annotated[str, typer.Argument(help="Formula: TOML, CSV or XLSX.", metavar="BEFORE")],
    second: Annotated[str, typer.Argument(help="The other one.", metavar="AFTER")],
    model_only: ModelOnly = False,
    json: Json = False,
) -> None:
    """Compare two formulas: lines, predictions, findings, label."""
    from kb.engine.accepting import VERSION_KEYS
    from kb.engine.comparing import compare as compare_both
    from kb.own.world import open_world
    from kb.report.making import compare_text, compare_tree

    if first == second == "-":
        raise UsageError("Standard input holds one formula.", "-", "Name a file for the other.")
    base = open_world()
    one, before = _predicted(first, base, model_only=model_only)
    two, after = _predicted(second, base, model_only=model_only)
    found = compare_both(one, two, before, after, base)
    tree = compare_tree(found, (first, second))
    tree["versions"] = [
        {key: str(version[key]) for key in VERSION_KEYS if key in version}
        for version in two.formula.versions
    ]
    costs = [_money(opened, base, 1000.0) for opened in (one, two)]
    tree["cost_per_kg"] = None if None in costs else {"before": costs[0], "after": costs[1]}
    show(tree, base.build, compare_text, as_json=json)


def convert(
    formula: FormulaFile,
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="FILE", help="Write .toml, .csv or .xlsx.")
    ] = "-",
    language: Annotated[
        str,
        typer.Option(metavar="LANG", help="Headings of a table: en, de, fr, es or it."),
    ] = "",
    force: Force = False,
) -> None:
    """Write a formula as TOML, CSV or a workbook."""
    from kb.formula.table import LANGUAGES
    from kb.formula.writing import ending_of, written

    ending = ending_of(output)
    if language and language not in LANGUAGES:
        known = ", ".join(LANGUAGES)
        raise UsageError(f"There is no language {language!r}.", "--language", f"Write {known}.")
    if language and ending == ".toml":
        raise UsageError(
            "TOML has no headings.", "--language", "Leave it out, or write a .csv or .xlsx."
        )
    if output != "-":
        check_target(output, force=force)
    read = read_file(formula)
    for remark in read.remarks:
        tell(remark.message)
    write_file(output, written(read, ending, language or "en"), force=force)
    if output != "-":
        tell(f"Wrote {output}.")
        print(f"{len(read.lines)} lines, {read.total:.6g} %.")
