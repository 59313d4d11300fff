"""Commands that ask the base: find, show, roles, suits, why."""

from __future__ import annotations

from typing import Annotated

import typer

from kb.cli.complete import role_names, system_names
from kb.cli.helping import Command
from kb.cli.options import Json, Name, joined
from kb.cli.options import read as read_file
from kb.cli.output import show
from kb.errors import UsageError


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("find", cls=Command)(find)
    app.command("show", cls=Command)(show_material)
    app.command("roles", cls=Command)(roles)
    app.command("suits", cls=Command)(suits)
    app.command("why", cls=Command)(why)


def find(
    text: Annotated[
        list[str], typer.Argument(help="Name, part of one, or registry number.", metavar="TEXT")
    ],
    limit: Annotated[int, typer.Option(min=1, max=200, metavar="N", help="How many.")] = 10,
    json: Json = False,
) -> None:
    """Find a raw material by any name."""
    from kb.own.world import open_own_names
    from kb.report.finding import find_text, find_tree

    words = joined(text)
    names = open_own_names()
    tree = find_tree(words, names.index.search(words, limit), names.inci)
    show(tree, names.build, find_text, as_json=json)


def show_material(name: Name, json: Json = False) -> None:
    """Show what is known of a raw material."""
    from kb.engine.opening import resolve_material
    from kb.own.world import open_world
    from kb.report.knowledge import show_tree
    from kb.report.knowledge_text import show_text
    from kb.store.opening import connect, ensure_file

    words = joined(name)
    path = ensure_file()
    base = open_world(path)
    material = resolve_material(words, base, near=False)
    connection = connect(path)
    try:
        tree = show_tree(material, base, connection)
    finally:
        connection.close()
    show(tree, base.build, show_text, as_json=json)


def roles(
    role: Annotated[
        list[str] | None,
        typer.Argument(help="A role; none lists all.", metavar="ROLE", autocompletion=role_names),
    ] = None,
    json: Json = False,
) -> None:
    """Browse what ingredients do, and who plays a role."""
    from kb.own.world import open_world
    from kb.report.knowledge import role_id, role_tree, roles_tree
    from kb.report.knowledge_text import role_text, roles_text

    base = open_world()
    if role:
        tree = role_tree(role_id(" ".join(role), base), base)
        show(tree, base.build, role_text, as_json=json)
    else:
        show(roles_tree(base), base.build, roles_text, as_json=json)


def suits(
    name: Name,
    system: Annotated[
        str,
        typer.Option(
            help="w/o, o/w, anhydrous, water gel, suspension or powder.",
            metavar="SYSTEM",
            autocompletion=system_names,
        ),
    ] = "",
    formula: Annotated[str, typer.Option(help="Formula file to judge it in.", metavar="FILE")] = "",
    as_role: Annotated[
        str,
        typer.Option(
            "--as",
            help="Role it is meant for; `present` for none.",
            metavar="ROLE",
            autocompletion=role_names,
        ),
    ] = "",
    json: Json = False,
) -> None:
    """Judge whether a material works in a kind of product or a formula."""
    from kb.engine.opening import open_formula, resolve_material
    from kb.engine.profile import make_profile
    from kb.engine.suits import ALIASES, PRESENT, suits_formula, suits_system
    from kb.formula.model import SYSTEMS
    from kb.own.world import open_world
    from kb.report.knowledge import role_id, verdict_tree
    from kb.report.knowledge_text import suits_text

    if bool(system) == bool(formula):
        raise UsageError(
            "Name either a system or a formula.", "--system, --formula", "Add --system w/o."
        )
    kind = " ".join(system.split()).lower()
    if system and kind not in SYSTEMS:
        raise UsageError(
            f"There is no system {system!r}.", "--system", f"Write one of {', '.join(SYSTEMS)}."
        )
    words = joined(name)
    read = read_file(formula) if formula else None
    base = open_world()
    material = resolve_material(words, base)
    wanted = as_role.strip().casefold()
    role = wanted if wanted == PRESENT or wanted in ALIASES else ""
    if wanted and not role:
        role = role_id(as_role, base)
    if read is None:
        verdict = suits_system(material, kind, base, role)
        tree = verdict_tree(material, verdict, base, kind)
    else:
        profile = make_profile(open_formula(read, base).batch, base)
        verdict = suits_formula(material, profile, base, role)
        tree = verdict_tree(material, verdict, base, profile.system)
    show(tree, base.build, suits_text, as_json=json)


def why(
    words: Annotated[
        list[str],
        typer.Argument(
            help="NAME PROPERTY, or with --formula one QUANTITY.", metavar="NAME PROPERTY"
        ),
    ],
    formula: Annotated[
        str, typer.Option(help="Formula whose quantity is asked for.", metavar="FILE")
    ] = "",
    json: Json = False,
) -> None:
    """Show where a value or a prediction comes from."""
    if formula:
        _why_quantity(formula, words, json)
    else:
        _why_fact(words, json)


def _why_fact(words: list[str], json: bool) -> None:
    from kb.engine.opening import resolve_material
    from kb.own.world import open_world
    from kb.report.knowledge import fact_reason_tree
    from kb.report.knowledge_text import why_fact_text
    from kb.store.opening import connect, ensure_file

    if len(words) < 2:
        raise UsageError(
            "A name and a property are needed.",
            " ".join(words),
            "Write for example `kb why beeswax melting_point`.",
        )
    path = ensure_file()
    base = open_world(path)
    connection = connect(path)
    try:
        material = resolve_material(joined(words[:-1]), base)
        name = words[-1].strip().lower().replace("-", "_").replace(" ", "_")
        tree = fact_reason_tree(material, name, base, connection)
    finally:
        connection.close()
    show(tree, base.build, why_fact_text, as_json=json)


def _why_quantity(formula: str, words: list[str], json: bool) -> None:
    from kb.engine.opening import open_formula
    from kb.engine.why import why_quantity
    from kb.own.world import open_world
    from kb.report.formula import reason_tree
    from kb.report.formula_text import why_quantity_text
    from kb.store.asking import method_of
    from kb.store.opening import connect, ensure_file

    if len(words) != 1:
        raise UsageError(
            "With --formula one quantity is asked for.",
            " ".join(words),
            "Name one, such as consistency_25c.",
        )
    name = words[0].strip().lower().replace("-", "_").replace(" ", "_")
    read = read_file(formula)
    path = ensure_file()
    base = open_world(path)
    reason = why_quantity(open_formula(read, base).batch, name, base)
    connection = connect(path)
    try:
        tree = reason_tree(reason, method_of(connection, name))
    finally:
        connection.close()
    show(tree, base.build, why_quantity_text, as_json=json)
