"""Where results go: text or JSON to standard output, messages to standard error."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TextIO

from kb.errors import KbError, UsageError
from kb.report.paper import Alarm, Heading, printable, wrap
from kb.report.tree import Tree, envelope, to_json

_BOLD, _ACCENT, _PLAIN = "\x1b[1m", "\x1b[33m", "\x1b[0m"


def show(tree: Tree, build: str, text: Callable[[Tree], list[str]], *, as_json: bool) -> None:
    """Print a result as JSON or as text."""
    if as_json:
        print(to_json(envelope(build, tree)))
        return
    styled = may_style(sys.stdout)
    for line in text(tree):
        print(_styled(line) if styled else printable(line))


def may_style(stream: TextIO | None) -> bool:
    """Tell whether a stream is a terminal that may show bold and colour."""
    return bool(
        stream is not None
        and stream.isatty()
        and not os.environ.get("NO_COLOR")
        and os.environ.get("TERM") != "dumb"
    )


def _styled(line: str) -> str:
    seen = printable(line)
    if seen and isinstance(line, Heading):
        return f"{_BOLD}{seen}{_PLAIN}"
    if seen and isinstance(line, Alarm):
        return f"{_ACCENT}{seen}{_PLAIN}"
    return seen


def fail(error: KbError, *, as_json: bool) -> int:
    """Tell a failure once, in the one shape; return its exit code."""
    if as_json:
        print(to_json(error.as_json()))
    else:
        where = f"{error.where}: " if error.where else ""
        for part in f"{where}{error.message}".splitlines():
            tell(part)
        tell(f"  {error.fix}")
    return error.code


def tell(message: str) -> None:
    """Say something on standard error, within the width; nowhere when that is closed."""
    if sys.stderr is None:
        return
    indent = " " * (len(message) - len(message.lstrip()))
    for line in wrap(message, indent):
        print(line, file=sys.stderr)


def check_target(path: str, *, force: bool) -> None:
    """Raise early when a file to be written exists already or has no folder.

    Raises
    ------
    UsageError
        It exists and may not be replaced, is a folder, or its folder is missing.
    """
    target = Path(path)
    if "\0" in path:
        raise UsageError("The path holds a null character.", path, "Check the path.")
    if target.is_dir():
        raise UsageError("This is a folder, not a file.", path, "Name a file in it.")
    if target.exists() and not target.is_file():
        raise UsageError("This is a device, not a file.", path, "Name a file; - prints.")
    if target.exists() and not force:
        raise UsageError("The file exists already.", path, "Add --force to replace it.")
    if not target.parent.is_dir():
        raise UsageError("There is no such folder.", str(target.parent), "Make it first.")


def write_file(path: str, content: str | bytes, *, force: bool) -> None:
    """Write a file by rename; an existing one stays unless ``force``. ``-`` is standard output.

    Raises
    ------
    UsageError
        It exists, or cannot be written.
    """
    if path == "-":
        print(content if isinstance(content, str) else content.decode(), end="")
        return
    check_target(path, force=force)
    target = Path(path).resolve()
    draft = target.with_name(f".{target.name[:200]}.{os.getpid()}.part")
    try:
        draft.write_bytes(content.encode() if isinstance(content, str) else content)
        if target.exists():
            draft.chmod(target.stat().st_mode & 0o777)
        os.replace(draft, target)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or "no usable path"
        raise UsageError(
            f"The file cannot be written: {reason}.", path, "Check the folder."
        ) from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)
