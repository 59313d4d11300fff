"""Roles: the tree of what ingredients do, and the players of one role compared."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kb.engine.policy import judge
from kb.errors import UsageError
from kb.report.knowledge import role_id, role_tree, roles_tree
from kb.report.tree import Tree
from kb.store.snapshot import Snapshot
from kb.web.answer import Answer, Asked
from kb.web.desk import Desk
from kb.web.fields import Fields
from kb.web.knowledge import LONGEST, policies
from kb.web.own import Shelf, shelf_of
from kb.web.pictures import scatter, strips
from kb.web.words import query, quoted

#: Players on one page of a role.
PAGE = 60
_TRAITS_SHOWN = 5
_UP, _DOWN = "up", "down"
_WORDS = ("name", "origin", "form")


def roles(desk: Desk, asked: Asked) -> Answer:
    """Return the tree of roles with how many play each."""
    tree = roles_tree(desk.base)
    counts = {r["role"]: r["players"] for r in tree["roles"]}
    top = [r for r in desk.base.roles.values() if r.parents == ("ingredient",)]
    context = {"top": top, "roles": desk.base.roles, "counts": counts}
    return Answer(tree, "roles.html", context)


def role(desk: Desk, asked: Asked) -> Answer:
    """Return a role with its players, compared on what decides."""
    base, fields = desk.base, asked.fields
    name = role_id(asked.parts["name"][:LONGEST], base)
    if name != asked.parts["name"]:
        ending = ".json" if asked.as_json else ""
        return Answer(place=f"/roles/{quoted(name)}{ending}")
    tree = role_tree(name, base)
    wanted = _wanted(fields, base)
    shelf = shelf_of(desk)
    players = [p for p in tree["players"] if _passes(p["ingredient"], wanted, shelf, base)]
    tree = {**tree, "players": players}
    traits = sorted(tree["traits"], key=lambda t: (not t["decisive"], -t["weight"]))
    names = list(dict.fromkeys(t["property"] for t in traits))[:_TRAITS_SHOWN]
    sort, order = _order(fields, names)
    if asked.as_json:
        return Answer(tree)
    if sort:
        players = _sorted(players, _key(sort, base), order == _DOWN)
    start = min(fields.number("from") or 0, max(len(players) - 1, 0)) // PAGE * PAGE
    shown = players[start : start + PAGE]
    sorting = {"sort": sort, "order": order}
    plot = scatter(shown, names[:2], base) if len(names) > 1 else None
    context = {
        "tree": tree,
        "traits": [t for t in traits if t["property"] in names],
        "columns": [(t, base.records.units.get(t, "")) for t in names],
        "table": [_row(p, names, shelf, base) for p in shown],
        "roles": base.roles,
        "policies": policies(base),
        "origins": sorted({m.origin for m in base.materials.values()}),
        "forms": sorted({m.form for m in base.materials.values()}),
        "has_shelf": bool(shelf.materials) or bool(wanted["shelf"]),
        "wanted": wanted,
        "sort": sort,
        "order": order,
        "heads": _heads(("name", "level", *names, "origin", "form"), sort, order, wanted),
        "start": start,
        "page": PAGE,
        "back": query({**wanted, **sorting, "from": max(start - PAGE, 0) or ""}),
        "on": query({**wanted, **sorting, "from": start + PAGE}),
        "scatter": plot,
        "strips": strips(shown, names[2:] if plot else names, base) if len(shown) > 1 else [],
    }
    return Answer(tree, "role.html", context)


def _wanted(fields: Fields, base: Snapshot) -> dict[str, str]:
    """Return the filters of a request.

    Raises
    ------
    UsageError
        One of them is none of those the page offers.
    """
    wanted = {key: fields.get(key).strip() for key in ("policy", "origin", "form", "shelf")}
    known = {
        "policy": set(base.records.policies),
        "origin": {m.origin for m in base.materials.values()},
        "form": {m.form for m in base.materials.values()},
        "shelf": {"only"},
    }
    for key, value in wanted.items():
        if value and value not in known[key]:
            raise UsageError(
                f"There is no {key} {value[:60]!r}.", key, "Choose one from the list of the page."
            )
    return wanted


def _passes(name: str, wanted: dict[str, str], shelf: Shelf, base: Snapshot) -> bool:
    about = base.materials[name]
    if wanted["origin"] and about.origin != wanted["origin"]:
        return False
    if wanted["form"] and about.form != wanted["form"]:
        return False
    if wanted["shelf"] and not shelf.holds(name):
        return False
    return not wanted["policy"] or judge(name, [wanted["policy"]], base).answer != "no"


def _order(fields: Fields, names: list[str]) -> tuple[str, str]:
    """Return the column to sort by and the direction; nothing for strongest first."""
    sort, order = fields.get("sort").strip(), fields.get("order").strip() or _UP
    if sort and sort not in {*_WORDS, "level", *names}:
        raise UsageError(
            f"There is no column {sort[:60]!r} to sort by.", "sort", "Use the links of the table."
        )
    if order not in {_UP, _DOWN}:
        raise UsageError(f"There is no order {order[:60]!r}.", "order", "Write up or down.")
    return sort, order if sort else ""


def _key(sort: str, base: Snapshot) -> Callable[[Tree], Any]:
    """Return what gives the value of a player in a column, None where it is not known."""

    def key(player: Tree) -> Any:
        about = base.materials[player["ingredient"]]
        if sort == "name":
            return player["inci"].casefold()
        if sort in _WORDS:
            return getattr(about, sort)
        if sort == "level":
            return player["low"] if player["low"] is not None else player["high"]
        known = base.known(player["ingredient"], sort)
        return None if known is None else known.value

    return key


def _sorted(players: list[Tree], key: Callable[[Tree], Any], down: bool) -> list[Tree]:
    """Return players in order; what is not known comes last either way."""
    known = [p for p in players if key(p) is not None]
    known.sort(key=key, reverse=down)
    return known + [p for p in players if key(p) is None]


def _heads(
    columns: tuple[str, ...], sort: str, order: str, wanted: dict[str, str]
) -> dict[str, Tree]:
    """Return for each column where its heading leads, and how it is sorted now."""
    heads = {}
    for column in columns:
        turned = _DOWN if column == sort and order == _UP else _UP
        now = {_UP: "ascending", _DOWN: "descending"}[order] if column == sort else ""
        link = query({**wanted, "sort": column, "order": turned})
        heads[column] = {"link": f"{link}#players", "now": now}
    return heads


def _row(player: Tree, names: list[str], shelf: Shelf, base: Snapshot) -> Tree:
    about = base.materials[player["ingredient"]]
    return {
        **player,
        "about": about,
        "stocked": shelf.holds(player["ingredient"]),
        "values": [base.known(player["ingredient"], t) for t in names],
    }
