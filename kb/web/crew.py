"""The crew behind the pages: threads that look things up, processes that can be stopped.

Looking up takes milliseconds and shares one desk. Working out a formula may take seconds, and no
thread can be stopped; so that is done by processes with a desk of their own. When the deadline
passes the process is ended, another one starts, and the machine is free again.
"""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import secrets
import signal
import sys
import threading
import time
import traceback
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, TypeVar

from kb.errors import KbError
from kb.web.desk import Desk
from kb.web.faults import PageError, program_fault

T = TypeVar("T")

WORKERS = 2
#: Questions that may wait beside those being worked on.
QUEUE = 40
DEADLINE_S = 10.0
#: A process that has not read the base by then has failed; this is no part of the deadline.
START_S = 60.0
_SPAWN = multiprocessing.get_context("spawn")


class Crew:
    """Answers questions with a deadline; never in the threads that run SQL for the tables.

    Parameters
    ----------
    path : Path
        The knowledge file.
    deadline_s : float
        Seconds after which a question is given up.
    own : Path, optional
        The user's file.
    """

    def __init__(self, path: Path, deadline_s: float = DEADLINE_S, own: Path | None = None) -> None:
        self.desk = Desk(path, own)
        self.deadline_s = deadline_s
        #: Stands in a page where the token of its form belongs; nobody can guess it.
        self.token_mark = secrets.token_hex(16)
        self._open = 0
        self._count = threading.Lock()
        self._hand = threading.local()
        self._hands: list[_Hand] = []
        self._threads = ThreadPoolExecutor(WORKERS, "kb-look")
        self._benches = ThreadPoolExecutor(WORKERS, "kb-bench")
        # What may take a minute never holds up the bench.
        self._long = ThreadPoolExecutor(1, "kb-long")

    async def look_up(self, work: Callable[[Desk], T]) -> T:
        """Ask a thread; what it does must be short.

        Raises
        ------
        PageError
            Too many questions wait, or the deadline has passed.
        """

        def looked() -> T:
            self.desk.look_again()
            return work(self.desk)

        return await self._asked(self._threads, looked, self.deadline_s)

    async def work_out(self, work: Callable[..., T], *args: Any, longest_s: float = 0.0) -> T:
        """Ask a process, which is ended when the deadline passes.

        Parameters
        ----------
        work : callable
            A function of a module; it gets a desk, then ``args``. All of them are sent across.
        longest_s : float
            A deadline of its own, for work that is longer than the rest; it goes to a process
            of its own then.

        Raises
        ------
        PageError
            Too many questions wait, the deadline has passed, or the process has died.
        """
        seconds = longest_s or self.deadline_s
        pool = self._long if longest_s else self._benches
        end = time.monotonic() + seconds
        return await self._asked(pool, lambda: self._mine().ask(work, args, end), seconds)

    async def _asked(self, pool: ThreadPoolExecutor, work: Callable[[], T], seconds: float) -> T:
        with self._count:
            if self._open >= WORKERS + QUEUE:
                raise PageError(
                    503, "Too many questions are waiting.", "", "Wait a moment, then ask again."
                )
            self._open += 1
        future = pool.submit(work)
        future.add_done_callback(self._closed)
        try:
            # A process that is late is ended by its thread; this is for the threads themselves.
            return await asyncio.wait_for(asyncio.wrap_future(future), seconds + START_S)
        except (TimeoutError, _LateError):
            raise late(seconds) from None

    def _closed(self, _: Future[Any]) -> None:
        with self._count:
            self._open -= 1

    def _mine(self) -> _Hand:
        """Return the process of this thread."""
        found: _Hand | None = getattr(self._hand, "process", None)
        if found is None:
            found = self._hand.process = _Hand(self.desk.path, self.desk.own)
            self._hands.append(found)
        return found

    def warm(self) -> None:
        """Start the processes before they are asked."""
        for _ in range(WORKERS):
            self._benches.submit(self._warmed)

    def _warmed(self) -> None:
        with contextlib.suppress(OSError, EOFError):
            self._mine().ready()

    def close(self) -> None:
        """Let everybody go."""
        for pool in (self._threads, self._benches, self._long):
            pool.shutdown(wait=False, cancel_futures=True)
        for hand in self._hands:
            hand.stop()


def late(seconds: float) -> PageError:
    """Return the error for a question that took too long."""
    return PageError(
        503,
        f"No answer within {seconds:g} seconds; the work was stopped.",
        "",
        "Ask again with fewer lines, or use the command line, which waits.",
    )


class _LateError(Exception):
    """The deadline has passed."""


class _Hand:
    """One process that answers one question at a time and can be ended."""

    def __init__(self, path: Path, own: Path) -> None:
        self._files = path, own
        self._process: Any = None
        self._line: Connection | None = None

    def ask(self, work: Callable[..., T], args: tuple[Any, ...], end: float) -> T:
        """Return what the process answers before the end, else end the process."""
        try:
            began = time.monotonic()
            line = self.ready()
            end += time.monotonic() - began
            line.send((work, args))
            if not line.poll(max(end - time.monotonic(), 0.0)):
                raise _LateError
            good, answer = line.recv()
        except _LateError:
            self.stop()
            raise
        except (EOFError, OSError):  # it died, for want of memory perhaps
            self.stop()
            raise program_fault() from None
        if not good:
            raise answer
        found: T = answer
        return found

    def ready(self) -> Connection:
        """Return the line to the process once that has read the base; it is started if need be.

        Raises
        ------
        OSError
            It did not start.
        """
        if self._line is not None and self._process is not None and self._process.is_alive():
            return self._line
        line = self._start()
        if not line.poll(START_S):
            raise TimeoutError
        line.recv()
        return line

    def _start(self) -> Connection:
        self.stop()
        ours, theirs = _SPAWN.Pipe()
        process = _SPAWN.Process(target=_serve, args=(theirs, *self._files), daemon=True)
        process.start()
        theirs.close()
        self._process, self._line = process, ours
        return ours

    def stop(self) -> None:
        """End the process, whatever it is doing."""
        line, self._line = self._line, None
        process, self._process = self._process, None
        if line is not None:
            line.close()
        if process is not None:
            process.kill()
            process.join()
            process.close()


def _serve(line: Connection, path: Path, own: Path) -> None:
    """Answer questions until nobody is at the other end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    desk = Desk(path, own)
    line.send("ready")
    while True:
        try:
            work, args = line.recv()
        except (EOFError, OSError):
            return
        try:
            desk.look_again()
            answer = True, work(desk, *args)
        except KbError as error:
            answer = False, error
        except Exception:
            traceback.print_exc(file=sys.stderr)
            answer = False, program_fault()
        try:
            line.send(answer)
        except OSError:
            return
