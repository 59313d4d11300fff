"""The plugin of Datasette: which hooks it answers. Both 0.65 and the 1.0 pre-releases have them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

import datasette as _datasette

from kb.web.desk import Desk
from kb.web.gate import App, Gate
from kb.web.routes import refused, routes

F = TypeVar("F", bound=Callable[..., Any])

#: The name of the plugin, and of the database behind the pages.
NAME, DATABASE = "like-for-like", "graph"
_hook: Callable[[F], F] = _datasette.hookimpl
_desks: WeakKeyDictionary[Any, Desk] = WeakKeyDictionary()


def attach(datasette: Any, desk: Desk) -> None:
    """Give a Datasette the desk that its pages ask."""
    _desks[datasette] = desk


def desk_of(datasette: Any) -> Desk | None:
    """Return the desk of a Datasette: attached, or named by ``file`` in the plugin's settings."""
    found = _desks.get(datasette)
    if found is None:
        named = (datasette.plugin_config(NAME) or {}).get("file")
        if named:
            found = _desks[datasette] = Desk(Path(named))
    return found


@_hook
def register_routes(datasette: Any) -> list[tuple[str, Callable[..., Any]]]:
    """Return our pages; none where there is no desk to ask."""
    desk = desk_of(datasette)
    return [] if desk is None else routes(desk)


@_hook
def asgi_wrapper(datasette: Any) -> Callable[[App], App]:
    """Put the gate before everything that is served."""

    def wrap(app: App) -> App:
        return app if desk_of(datasette) is None else Gate(app)

    return wrap


@_hook
def handle_exception(datasette: Any, request: Any, exception: Exception) -> Any:
    """Answer for the tables behind as for our pages: what happened, what to do, nothing inner."""
    if desk_of(datasette) is None:
        return None
    return refused(request.path, int(getattr(exception, "status", 500)))


@_hook
def menu_links(datasette: Any) -> list[dict[str, str]]:
    """Lead back from Datasette's own tables."""
    if desk_of(datasette) is None:
        return []
    return [{"href": "/", "label": "Like for Like"}, {"href": "/bench", "label": "Bench"}]
