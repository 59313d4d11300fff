"""Where results go: text or JSON to standard output, messages to standard error."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

from kb.errors import UsageError
from kb.report.tree import Tree, envelope, to_json


def show(tree: Tree, build: str, text: Callable[[Tree], list[str]], *, as_json: bool) -> None:
    """Print a result as JSON or as text."""
    if as_json:
        print(to_json(envelope(build, tree)))
        return
    for line in text(tree):
        print(line)


def write_file(path: str, content: str, *, force: bool) -> None:
    """Write a file by rename; an existing one stays unless ``force``.

    Raises
    ------
    UsageError
        It exists, or cannot be written.
    """
    target = Path(path)
    if target.exists() and not force:
        raise UsageError("The file exists already.", path, "Add --force to replace it.")
    draft = target.with_name(f".{target.name}.part")
    try:
        draft.write_text(content, encoding="utf-8", newline="\n")
        os.replace(draft, target)
    except OSError as error:
        draft.unlink(missing_ok=True)
        raise UsageError(
            f"The file cannot be written: {error.strerror}.", path, "Check the folder."
        ) from None


def tell(message: str) -> None:
    """Say something on standard error."""
    print(message, file=sys.stderr)
