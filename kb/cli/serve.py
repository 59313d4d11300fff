"""The command that opens the bench in the browser: serve."""

from __future__ import annotations

from typing import Annotated

import typer

from kb.cli.helping import Command
from kb.cli.output import tell


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("serve", cls=Command)(serve)


def serve(
    port: Annotated[
        int, typer.Option(min=0, max=65535, metavar="N", help="Port; 0 takes a free one.")
    ] = 0,
    open_page: Annotated[bool, typer.Option("--open", help="Open the browser as well.")] = False,
) -> None:
    """Serve the bench as pages on this machine."""
    from importlib import import_module

    from kb.store.opening import ensure_file

    # The other face is started by its name, as a plugin is; neither face builds on the other.
    pages = import_module("kb.web.app")
    listener = pages.free_socket(port)
    app = pages.make_app(ensure_file())
    address = f"http://127.0.0.1:{listener.getsockname()[1]}/"
    print(address, flush=True)
    tell("Stop it with Ctrl-C.")
    if open_page:
        import webbrowser

        webbrowser.open(address)
    pages.serve(app, listener)
