"""The desk behind the pages: the base opened once, a few workers, a deadline, answers kept."""

from __future__ import annotations

import asyncio
import sqlite3
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar, cast

from kb.store.opening import connect, open_snapshot
from kb.store.snapshot import Snapshot
from kb.web.faults import PageError

T = TypeVar("T")

WORKERS = 2
#: Questions that may wait beside those being worked on.
QUEUE = 40
DEADLINE_S = 10.0
KEPT = 64


class Desk:
    """Answers questions in threads of its own; never in the threads that run SQL for tables.

    Parameters
    ----------
    path : Path
        The knowledge file.
    deadline_s : float
        Seconds after which a question is given up.
    """

    def __init__(self, path: Path, deadline_s: float = DEADLINE_S) -> None:
        self.path = path
        self.deadline_s = deadline_s
        self.base: Snapshot = open_snapshot(path)
        # Pages that only look things up never wait behind a long question.
        self._pools = {
            heavy: ThreadPoolExecutor(WORKERS, "kb-desk" if heavy else "kb-shelf")
            for heavy in (False, True)
        }
        self._open = 0
        self._count = threading.Lock()
        self._own = threading.local()
        self._answers: OrderedDict[Hashable, object] = OrderedDict()
        self._keeping = threading.Lock()

    async def ask(self, work: Callable[[], T], *, heavy: bool = True) -> T:
        """Run work in a worker; what only looks things up is not ``heavy``.

        Raises
        ------
        PageError
            Too many questions wait, or the deadline has passed.
        """
        with self._count:
            if self._open >= WORKERS + QUEUE:
                raise PageError(
                    503, "Too many questions are waiting.", "", "Wait a moment, then ask again."
                )
            self._open += 1
        future = self._pools[heavy].submit(work)
        future.add_done_callback(self._closed)
        try:
            return await asyncio.wait_for(asyncio.wrap_future(future), self.deadline_s)
        except TimeoutError:
            raise PageError(
                503,
                f"No answer within {self.deadline_s:g} seconds.",
                "",
                "Ask again with fewer lines, or use the command line, which waits.",
            ) from None

    def _closed(self, _: Future[T]) -> None:
        with self._count:
            self._open -= 1

    def kept(self, key: Hashable, work: Callable[[], T]) -> T:
        """Return the answer to a question asked before, or work it out and keep it.

        The base never changes while it is open, so an answer stays right.
        """
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
        """Return the worker's own connection to the file."""
        found: sqlite3.Connection | None = getattr(self._own, "connection", None)
        if found is None:
            found = self._own.connection = connect(self.path)
        return found

    def close(self) -> None:
        """Let the workers go."""
        for pool in self._pools.values():
            pool.shutdown(wait=False, cancel_futures=True)
