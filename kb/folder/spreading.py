"""The question put to a whole folder: over all processors, or over the workers of a Dask cluster.

What is answered is kept as it comes, by the hash of the base and of the file; a run that was
stopped goes on where it was, and a file that did not change is not asked again.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from contextlib import contextmanager
from importlib.util import find_spec
from multiprocessing import get_context
from typing import Any

from kb.errors import UsageError
from kb.folder.asking import Answer, Question, answer_of, answers
from kb.folder.files import File
from kb.store.ledger import Ledger
from kb.store.snapshot import Snapshot

#: Formulas in one part: few enough to lose little, many enough to be worth the sending.
PART = 8
#: Parts under way at once for each worker.
_AHEAD = 4

Tell = Callable[[int, int], None]


def ask_all(
    files: list[File],
    question: Question,
    base: Snapshot,
    ledger: Ledger | None = None,
    workers: int | None = None,
    dask: str = "",
    tell: Tell | None = None,
) -> list[Answer]:
    """Put one question to every file; the answers come in the order of the files.

    Parameters
    ----------
    files : list of File
    question : Question
    base : Snapshot
        Worked on in this process; every other worker opens its own, of the same build.
    ledger : Ledger, optional
        Where answers are kept and found again.
    workers : int, optional
        Processes; none takes one for each processor, 1 stays in this process.
    dask : str
        Address of a Dask scheduler whose workers do it instead.
    tell : callable, optional
        Called with the number of files done and of all.
    """
    known = ledger.known() if ledger is not None else {}
    found = {file.digest: known[file.digest] for file in files if file.digest in known}
    open_ones = [file for file in files if file.digest not in found]
    parts = [open_ones[n : n + PART] for n in range(0, len(open_ones), PART)]
    say = tell or (lambda done, of: None)
    say(len(found), len(files))
    if parts:
        for part, answered in _spread(parts, question, base, workers, dask):
            pairs = [(file.digest, one) for file, one in zip(part, answered, strict=True)]
            found.update(pairs)
            if ledger is not None:
                ledger.add(pairs)
            say(len(found), len(files))
    return [found[file.digest] for file in files]


Answered = Iterator[tuple[list[File], list[Answer]]]


def _spread(
    parts: list[list[File]], question: Question, base: Snapshot, workers: int | None, dask: str
) -> Answered:
    if dask:
        return _on_dask(parts, question, base.build, dask)
    count = min(workers or processors(), len(parts))
    if count <= 1:
        return ((part, [answer_of(file, question, base) for file in part]) for part in parts)
    return _on_processes(parts, question, base.build, count)


def processors() -> int:
    """Return how many processors this program may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _on_processes(parts: list[list[File]], question: Question, build: str, count: int) -> Answered:
    waiting = iter(parts)
    running: dict[Any, list[File]] = {}
    # Started anew rather than forked: the same on every system, and no lock is copied.
    pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"))
    try:
        while True:
            for part in waiting:
                running[pool.submit(answers, part, question, build)] = part
                if len(running) >= _AHEAD * count:
                    break
            if not running:
                return
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for one in done:
                yield running.pop(one), one.result()
    finally:
        pool.shutdown(cancel_futures=True)


def _on_dask(parts: list[list[File]], question: Question, build: str, address: str) -> Answered:
    from distributed import as_completed

    with _cluster(address) as client:
        futures = client.map(answers, parts, question=question, build=build, pure=False)
        of = dict(zip((future.key for future in futures), parts, strict=True))
        for future, answered in as_completed(futures, loop=client.loop, with_results=True):
            yield of[future.key], answered


@contextmanager
def _cluster(address: str) -> Iterator[Any]:
    """Connect to a scheduler.

    Raises
    ------
    UsageError
        Dask is missing, or nobody answers at this address.
    """
    check_dask()
    from distributed import Client

    try:
        client = Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise UsageError(
            f"No Dask scheduler answers: {str(error).splitlines()[0]}",
            address,
            "Start one with `dask scheduler` and give its address, such as tcp://host:8786.",
        ) from None
    with client:
        yield client


def check_dask() -> None:
    """Raise when Dask is not installed.

    Raises
    ------
    UsageError
        It is not.
    """
    if find_spec("distributed") is None:
        raise UsageError(
            "Dask is not installed.",
            "--dask",
            "pip install 'like-for-like[scale]', or leave --dask out: all processors are used.",
        )
