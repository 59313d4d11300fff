"""The plugin of Datasette: which hooks it answers. Both 0.65 and the 1.0 pre-releases have them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

import datasette as _datasette

from kb.web.crew import Crew
from kb.web.gate import App, Gate
from kb.web.routes import refused, routes

F = TypeVar("F", bound=Callable[..., Any])

#: The name of the plugin, and of the database behind the pages.
NAME, DATABASE = "like-for-like", "graph"
_hook: Callable[[F], F] = _datasette.hookimpl
_crews: WeakKeyDictionary[Any, Crew] = WeakKeyDictionary()


def attach(datasette: Any, crew: Crew) -> None:
    """Give a Datasette the crew that its pages ask."""
    _crews[datasette] = crew


def crew_of(datasette: Any) -> Crew | None:
    """Return the crew of a Datasette: attached, or for the ``file`` of the plugin's settings."""
    found = _crews.get(datasette)
    if found is None:
        named = (datasette.plugin_config(NAME) or {}).get("file")
        if named:
            found = _crews[datasette] = Crew(Path(named))
    return found


@_hook
def register_routes(datasette: Any) -> list[tuple[str, Callable[..., Any]]]:
    """Return our pages; none where there is nobody to ask."""
    crew = crew_of(datasette)
    return [] if crew is None else routes(crew)


@_hook
def asgi_wrapper(datasette: Any) -> Callable[[App], App]:
    """Put the gate before everything that is served."""

    def wrap(app: App) -> App:
        return app if crew_of(datasette) is None else Gate(app)

    return wrap


@_hook
def handle_exception(datasette: Any, request: Any, exception: Exception) -> Any:
    """Answer for the tables behind as for our pages: what happened, what to do, nothing inner."""
    if crew_of(datasette) is None:
        return None
    return refused(request.path, int(getattr(exception, "status", 500)))


@_hook
def menu_links(datasette: Any) -> list[dict[str, str]]:
    """Lead back from Datasette's own tables."""
    if crew_of(datasette) is None:
        return []
    return [{"href": "/", "label": "Like for Like"}, {"href": "/bench", "label": "Bench"}]
