"""What a view is asked and what it answers, before it is HTML, JSON or a file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from kb.report.tree import Tree
from kb.web.fields import Fields


@dataclass(frozen=True, slots=True)
class Asked:
    """One request: the fields, the parts of the address, and whether JSON is wanted."""

    fields: Fields
    parts: dict[str, str] = field(default_factory=dict)
    as_json: bool = False
    token: Callable[[], str] = lambda: ""


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
