"""What a view is asked and what it answers, before and after it is HTML, JSON or a file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from kb.report.tree import Tree
from kb.web.fields import Fields

#: The types of the files that are taken away, by their ending.
FILE_TYPES = {
    "toml": "application/toml; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """One request: the fields, the parts of the address, and whether JSON is wanted.

    ``token`` stands for the token of a form of POST; the real one is put in on the way out.
    """

    fields: Fields
    parts: dict[str, str] = field(default_factory=dict)
    as_json: bool = False
    token: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What goes back: a tree for the twin, a template with its context, another place, or a file.

    ``tree`` goes into the envelope every command puts around its JSON.
    """

    tree: Tree | None = None
    template: str = ""
    context: dict[str, Any] = field(default_factory=dict)
    status: int = 200
    place: str = ""
    file: bytes | None = None
    file_name: str = ""
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer as it is sent."""

    status: int
    headers: dict[str, str]
    body: bytes = b""
    kind: str = "text/plain; charset=utf-8"
