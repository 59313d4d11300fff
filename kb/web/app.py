"""The application that is served: Datasette with the knowledge file and our pages before it."""

from __future__ import annotations

import inspect
import socket
from pathlib import Path
from typing import Any

from kb.errors import UsageError

_SETTINGS = {
    "default_allow_sql": False,
    "allow_download": False,
    "suggest_facets": False,
    "sql_time_limit_ms": 1000,
    "max_returned_rows": 1000,
}


def make_app(path: Path, deadline_s: float | None = None, own: Path | None = None) -> Any:
    """Return a Datasette that serves our pages and, behind them, the tables of the file.

    Parameters
    ----------
    path : Path
        The knowledge file; it is opened read-only.
    deadline_s : float, optional
        Seconds after which a question is given up.
    own : Path, optional
        The user's file; the usual one when left out.
    """
    from datasette.app import Datasette
    from datasette.database import Database
    from datasette.plugins import pm

    from kb.web import plugin
    from kb.web.crew import DEADLINE_S, Crew

    if not pm.is_registered(plugin):
        pm.register(plugin, name=plugin.NAME)
    hidden = {"databases": {plugin.DATABASE: {"tables": {"snapshot": {"hidden": True}}}}}
    with_config = "config" in inspect.signature(Datasette.__init__).parameters
    found = Datasette(
        [],
        settings=_SETTINGS,
        **({"config": hidden} if with_config else {"metadata": hidden}),
    )
    if "_memory" in found.databases:
        found.remove_database("_memory")
    file = Database(found, path=str(path), is_mutable=False)
    found.add_database(file, name=plugin.DATABASE)
    plugin.attach(found, Crew(path, DEADLINE_S if deadline_s is None else deadline_s, own))
    # The client inside was made before there was a crew, and knows none of our pages.
    found.client = type(found.client)(found)
    return found


def free_socket(port: int = 0) -> socket.socket:
    """Return a listening socket on this machine alone; port 0 takes any that is free.

    Raises
    ------
    UsageError
        The port is taken or not allowed.
    """
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind(("127.0.0.1", port))
    except OSError as error:
        found.close()
        raise UsageError(
            f"Port {port} cannot be used: {error.strerror}.",
            "--port",
            "Leave --port out and a free one is taken.",
        ) from None
    found.listen(64)
    return found


def serve(app: Any, listener: socket.socket) -> None:
    """Serve until interrupted."""
    import uvicorn

    from kb.web.plugin import crew_of

    crew = crew_of(app)
    if crew is not None:
        crew.warm()
    settings = uvicorn.Config(
        app.app(), log_level="error", access_log=False, lifespan="on", server_header=False
    )
    try:
        uvicorn.Server(settings).run([listener])
    finally:
        if crew is not None:
            crew.close()
