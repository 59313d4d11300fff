"""The desk: our base with the user's own world over it, and answers kept while neither changes."""

from __future__ import annotations

import sqlite3
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from pathlib import Path
from typing import TypeVar, cast

from kb.own.content import Content, read_content
from kb.own.file import fault, own_path
from kb.own.world import overlaid
from kb.store.opening import connect, open_snapshot
from kb.store.snapshot import Snapshot

T = TypeVar("T")

KEPT = 64
#: SQLite counts the changes of a file in its first bytes.
_COUNTED = slice(24, 28)


class Desk:
    """What a view asks: the base, what is the user's, a connection, answers worked out before.

    Parameters
    ----------
    path : Path
        The knowledge file.
    own : Path, optional
        The user's file; the usual one when left out. It need not exist.

    Attributes
    ----------
    ours : Snapshot
        The base alone.
    base : Snapshot
        The base with the user's records over it; what every page answers from.
    content : Content
        What the user's file holds.
    unread : list of str
        What of it this base cannot take.
    """

    def __init__(self, path: Path, own: Path | None = None) -> None:
        self.path = path
        self.own = own or own_path()
        self.ours: Snapshot = open_snapshot(path)
        self.base = self.ours
        self.content: Content = {}
        self.unread: list[str] = []
        self._seen: object = None
        self._threads = threading.local()
        self._answers: OrderedDict[Hashable, object] = OrderedDict()
        self._keeping = threading.Lock()
        self._looking = threading.Lock()

    def look_again(self) -> None:
        """Read the user's file again if it has changed, whoever changed it.

        Raises
        ------
        DatabaseError
            The user's file cannot be read.
        """
        with self._looking:
            seen = self._mark()
            if seen == self._seen:
                return
            content = read_content(self.own)
            self.base, self.unread = overlaid(content, self.ours, self.path)
            self.content, self._seen = content, seen
            with self._keeping:
                self._answers.clear()

    def _mark(self) -> object:
        try:
            with self.own.open("rb") as stream:
                return self.own.stat().st_mtime_ns, stream.read(_COUNTED.stop)[_COUNTED]
        except (FileNotFoundError, NotADirectoryError):
            return "nothing"
        except (OSError, ValueError) as error:
            raise fault(error, self.own) from None

    def kept(self, key: Hashable, work: Callable[[], T]) -> T:
        """Return the answer to a question asked before, or work it out and keep it."""
        with self._keeping:
            if key in self._answers:
                self._answers.move_to_end(key)
                return cast(T, self._answers[key])
        answer = work()
        with self._keeping:
            self._answers[key] = answer
            while len(self._answers) > KEPT:
                self._answers.popitem(last=False)
        return answer

    def connection(self) -> sqlite3.Connection:
        """Return the thread's own connection to the knowledge file."""
        found: sqlite3.Connection | None = getattr(self._threads, "connection", None)
        if found is None:
            found = self._threads.connection = connect(self.path)
        return found
