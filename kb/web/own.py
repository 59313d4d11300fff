"""What is the user's own: shown from their file, changed only when a form says so."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from kb.engine.stock import Held, held
from kb.errors import UsageError
from kb.formula.reading import decode
from kb.own.adding import add_text, find_own, remove_material
from kb.own.content import last_changes, undo
from kb.own.lists import parse_table
from kb.own.measured import logged
from kb.own.shelf import keep_shelf, usable
from kb.own.template import template, template_book
from kb.own.text import to_text
from kb.report.making import measured_tree
from kb.report.own import list_tree
from kb.web.answer import FILE_TYPES, Answer, Asked
from kb.web.desk import Desk
from kb.web.fields import Fields

_LISTS = ("materials", "facts", "edges", "limits", "shelf")


def overview(desk: Desk, asked: Asked) -> Answer:
    """Return all that is the user's own."""
    tree = list_tree(
        desk.content, desk.base, desk.ours, desk.own, last_changes(desk.own), desk.unread
    )
    if asked.as_json:
        return Answer(tree)
    context = {
        "tree": tree,
        "token": asked.token,
        "measured": measured_tree(logged(desk.own), None)["measured"][:40],
        "lists": _LISTS,
        "inci": {
            v["ingredient"]: desk.base.materials[v["ingredient"]].inci for v in tree["values"]
        },
        "labels": {r.id: r.label for r in desk.base.roles.values()},
    }
    return Answer(tree, "own.html", context)


def change(desk: Desk, asked: Asked) -> Answer:
    """Change the user's file as a form says, and go back to what it holds now."""
    deed = asked.parts["deed"]
    if deed == "undo":
        undo(desk.own)
    elif deed == "remove":
        remove_material(find_own(asked.fields.get("name"), desk.content, desk.ours), desk.own)
    else:
        text, name = _list(asked.fields)
        if deed == "shelf":
            keep_shelf(parse_table(text, name), desk.own)
        else:
            add_text(text, name, desk.own, lambda: desk.base)
    return Answer(place="/own#last")


def _list(fields: Fields) -> tuple[str, str]:
    """Return the list that was sent as a file or pasted, and what to call it."""
    if fields.file is not None and (fields.file or fields.file_name):
        name = fields.file_name or "upload"
        return decode(fields.file, name), name
    text = fields.get("list").strip("\r\n")
    if not text.strip():
        raise UsageError("There is no list in the form.", "list", "Paste one, or choose a file.")
    return text, "pasted list" + (".toml" if text.lstrip().startswith(("[[", "form =")) else ".csv")


def take(desk: Desk, asked: Asked) -> Answer:
    """Return the user's own as a text that reads in again, or a list to fill in."""
    of = asked.fields.get("of")
    if not of:
        content = to_text(desk.content).encode()
        return Answer(file=content, file_name="my-own.toml", kind=FILE_TYPES["toml"])
    if of not in _LISTS:
        raise UsageError(
            f"There is no list {of[:40]!r}.", "of", f"Choose one of {', '.join(_LISTS)}."
        )
    ending = asked.fields.get("as") or "csv"
    if ending not in {"csv", "xlsx"}:
        raise UsageError(f"There is no kind of file {ending[:20]!r}.", "as", "Choose csv or xlsx.")
    file = template_book(of) if ending == "xlsx" else template(of).encode()
    return Answer(file=file, file_name=f"{of}.{ending}", kind=FILE_TYPES[ending])


@dataclass(frozen=True, slots=True)
class Shelf:
    """The materials in stock and usable today, and what is held of which at what price."""

    materials: frozenset[str] = frozenset()
    held: Held = field(default_factory=Held)

    def holds(self, name: str) -> bool:
        """Tell whether a material, or the plain one it is a grade of, is in stock."""
        return bool({name, name.split("--")[0]} & self.materials)


def shelf_of(desk: Desk) -> Shelf:
    """Return the user's shelf; a name that leads to no material is left out."""
    stock = usable(desk.content.get("shelf", []), datetime.date.today())
    answers = {n: desk.base.names.resolve(n).match for n in [*stock.names, *stock.prices]}
    known = {name: match.material for name, match in answers.items() if match is not None}
    # What is used up has a price and is still not there.
    there = frozenset(known[name] for name in stock.names if name in known)
    return Shelf(there, held(stock, known))
