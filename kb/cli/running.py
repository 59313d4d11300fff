"""A long run over a folder from the command line: where it is kept, how far it is."""

from __future__ import annotations

import hashlib
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from kb.cli.output import check_target, tell
from kb.errors import UsageError

if TYPE_CHECKING:
    from kb.folder.asking import Answer, Question
    from kb.folder.files import File
    from kb.store.snapshot import Snapshot

#: Packages whose code decides an answer; another code is another run.
_DECIDE = ("engine", "folder", "formula", "own", "science", "store")
_BAR = 30
_EVERY_S = 0.2


def check_results(path: str, *, force: bool) -> None:
    """Raise before any work is done when results cannot be written there."""
    from kb.store.results import check_ending

    if path == "-":
        raise UsageError("A table of results is no text to print.", "-o", "Name a file.")
    check_ending(path)
    check_target(path, force=force)


def ask_folder(
    files: list[File],
    question: Question,
    base: Snapshot,
    workers: int | None,
    dask: str,
    *,
    fresh: bool,
) -> list[Answer]:
    """Put a question to every file, with a bar on the terminal; a stopped run is taken up again."""
    from platformdirs import user_cache_dir

    from kb.folder.spreading import ask_all, check_dask
    from kb.store.ledger import Ledger

    if dask:
        check_dask()
    run = "\n".join((base.build, _code(), _own(), question.key()))
    ledger = Ledger(Path(user_cache_dir("like-for-like")) / "runs", run, fresh=fresh)
    bar = _Bar()
    try:
        return ask_all(files, question, base, ledger, workers, dask, bar)
    except KeyboardInterrupt:
        bar.end()
        tell(f"{bar.done} of {len(files)} are done and kept; the same command goes on from there.")
        raise
    finally:
        bar.end()


class _Bar:
    """How far a run is, on standard error and only on a terminal."""

    def __init__(self) -> None:
        self.done = 0
        self._start = time.monotonic()
        self._first: int | None = None
        self._told = 0.0
        self._open = False
        self._shown = sys.stderr is not None and sys.stderr.isatty()

    def __call__(self, done: int, of: int) -> None:
        """Show how many are done."""
        self.done = done
        if self._first is None:
            self._first = done
            if done > 0:
                tell(f"{done} of {of} were answered before and are taken from there.")
        now = time.monotonic()
        if not self._shown or (now - self._told < _EVERY_S and done < of):
            return
        self._told, self._open = now, True
        filled = _BAR * done // max(of, 1)
        fresh = done - self._first
        left = (now - self._start) / fresh * (of - done) if fresh else 0.0
        wait = f", {left / 60:.0f} min left" if left >= 90 else f", {left:.0f} s left"
        text = f"[{'#' * filled}{'.' * (_BAR - filled)}] {done:,} of {of:,}{wait if fresh else ''}"
        print(f"\r{text:<78}", end="", file=sys.stderr, flush=True)

    def end(self) -> None:
        """Leave the line."""
        if self._open:
            self._open = False
            print(file=sys.stderr)


def _code() -> str:
    """Hash of the program text that decides an answer."""
    package = Path(__file__).parent.parent
    whole = hashlib.sha256()
    for folder in _DECIDE:
        for path in sorted((package / folder).rglob("*.py")):
            whole.update(path.read_bytes())
    return whole.hexdigest()


def _own() -> str:
    """Hash of the user's own file, whose materials count as well."""
    from kb.own.file import holds_something, own_path

    path = own_path()
    if not holds_something(path):
        return ""
    return hashlib.sha256(path.read_bytes()).hexdigest()
