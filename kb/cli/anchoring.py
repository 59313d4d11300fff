"""What the user measured, fetched for a formula; shared by the commands that predict."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from kb.engine.anchoring import Experience
    from kb.engine.opening import Opened
    from kb.store.snapshot import Snapshot

ModelOnly = Annotated[
    bool, typer.Option("--model-only", help="Leave out what you measured: the model alone.")
]


def experience_of(opened: Opened, base: Snapshot, *, model_only: bool) -> Experience | None:
    """Return what was measured of a formula and its like; nothing when there is nothing."""
    from kb.own.file import holds_something, own_path

    path = own_path()
    if model_only or not (opened.formula.measured or holds_something(path)):
        return None
    from kb.engine.anchoring import experience
    from kb.own.content import read_content

    return experience(opened, base, read_content(path)["measurement"])
