"""The command line as a whole: its commands, and how every way to fail is told."""

from __future__ import annotations

import os
import sys
from typing import Annotated, Any

os.environ.setdefault("TYPER_USE_RICH", "0")

import typer  # noqa: E402

from kb import __version__  # noqa: E402
from kb.cli import (  # noqa: E402
    adapting,
    data,
    folder,
    formulas,
    knowledge,
    making,
    own,
    serve,
)
from kb.cli.helping import Command, Group  # noqa: E402
from kb.cli.output import fail, tell  # noqa: E402
from kb.errors import KbError, UsageError  # noqa: E402

INTERRUPTED = 130
#: The parser's own error; the module it lives in differs between versions.
_BAD_USAGE: Any = typer.BadParameter.__mro__[1]

app = typer.Typer(
    name="kb",
    cls=Group,
    help="What can stand in for a raw material of a cream or balm, and what follows from it.",
    add_completion=True,
    invoke_without_command=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback()
def about(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
    debug: Annotated[
        bool, typer.Option("--debug", help="On a fault of the program show where it lies.")
    ] = False,
) -> None:
    """Say the version when asked, the help when nothing is asked."""
    if version:
        print(f"kb {__version__}")
    elif context.invoked_subcommand is None:
        print(context.get_help())


knowledge.register(app)
formulas.register(app)
adapting.register(app)
making.register(app)
folder.register(app)
own.register(app)
serve.register(app)
data.register(app)


@app.command("help", cls=Command)
def help_command(
    words: Annotated[list[str] | None, typer.Argument(help="A command.", metavar="COMMAND")] = None,
) -> None:
    """Show the help of a command."""
    app(args=[*(words or []), "--help"], prog_name="kb", standalone_mode=False)


def run(arguments: list[str]) -> int:
    """Run the command line; return the exit code. Failures are told once, in one shape."""
    options = arguments[: arguments.index("--")] if "--" in arguments else arguments
    as_json, debug = "--json" in options, "--debug" in options
    given = [a for n, a in enumerate(arguments) if a != "--debug" or n >= len(options)]
    _prepare_streams()
    try:
        try:
            code = _call(given)
        except KbError as error:
            code = fail(error, as_json=as_json)
        if sys.stdout is not None:
            sys.stdout.flush()
        return code
    except KeyboardInterrupt:
        tell("Stopped.")
        return INTERRUPTED
    except BrokenPipeError:
        _drop_output()
        return 0
    except Exception as error:
        if debug:
            raise
        return _unexpected(error, as_json)


def _call(arguments: list[str]) -> int:
    """Run a command and turn the parser's exceptions into a code or one of our errors."""
    try:
        code = app(args=arguments, prog_name="kb", standalone_mode=False)
    except typer.Exit as leaving:
        code = leaving.exit_code
    except typer.Abort:
        raise KeyboardInterrupt from None
    except _BAD_USAGE as error:
        command = error.ctx.command_path if error.ctx is not None else "kb"
        raise UsageError(_sentence(error), command, f"`{command} --help` shows the use.") from None
    except SystemExit as leaving:
        if isinstance(leaving.__context__, BrokenPipeError):
            raise leaving.__context__ from None
        code = leaving.code
    if code == INTERRUPTED:
        raise KeyboardInterrupt
    return code if isinstance(code, int) else 0


def _sentence(error: Any) -> str:
    """Return what the parser says as a sentence, with the option that was meant, if any."""
    near = getattr(error, "possibilities", None)
    if near:
        return f"{error.message.rstrip('.')}; did you mean {' or '.join(sorted(near))}?"
    return str(error.format_message()).rstrip(".") + "."


def _unexpected(error: Exception, as_json: bool) -> int:
    """Tell a fault of the program in one line; it is never the user's."""
    full = isinstance(error, OSError)
    if full:
        _drop_output()
    reason = f"{type(error).__name__}: {error}".splitlines()[0]
    return fail(
        KbError(
            f"Something went wrong that should not: {reason}",
            "",
            "The same command with --debug shows where; please report it.",
        ),
        as_json=as_json and not full,
    )


def _prepare_streams() -> None:
    """Write UTF-8 with line ends as they are; what a stream cannot hold never stops a run."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8", errors="backslashreplace")


def _drop_output() -> None:
    """Send what is still to be written nowhere, so that leaving does not fail again."""
    try:
        number = sys.stdout.fileno()
    except (OSError, ValueError, AttributeError):
        return
    os.dup2(os.open(os.devnull, os.O_WRONLY), number)
