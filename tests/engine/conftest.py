"""Answers that many tests look at, worked out once."""

from collections.abc import Callable

import pytest

from kb.engine.opening import open_formula
from kb.engine.swap import SwapResult, swap
from kb.formula.model import Formula
from kb.store.snapshot import Snapshot

from .bench import demo, host, place_of

Ask = Callable[..., SwapResult]


@pytest.fixture(scope="session")
def ask(base: Snapshot) -> Ask:
    """Return what can stand in for a line of a named formula; the same question is asked once."""
    answers: dict[tuple, SwapResult] = {}

    def answer(kind: str, name: str, line: str, policies: tuple = (), top: int = 10) -> SwapResult:
        key = (kind, name, line, policies, top)
        if key not in answers:
            whole: Formula = demo(name) if kind == "demo" else host(name)
            opened = open_formula(whole, base)
            place = place_of(opened, line, base)
            answers[key] = swap(opened.batch, place, base, list(policies), top)
        return answers[key]

    return answer
