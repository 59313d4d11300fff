"""Every line of every published formula: a swap with its effects, or a reasoned no."""

import time

import pytest

from kb.engine.opening import open_formula
from kb.engine.swap import swap

from .test_published_formulas import ROWS, published

#: Two halves, for two cores; each must be through in this many seconds of computing.
HALVES, SECONDS = (0, 1), 60.0


def every_line(names, base):
    for name in names:
        opened = open_formula(published(name), base)
        for index, item in enumerate(opened.batch.items):
            yield name, item.material, swap(opened.batch, index, base)


@pytest.mark.slow
@pytest.mark.parametrize("half", HALVES)
def test_every_line_has_a_swap_or_a_reason(half, base):
    began = time.process_time()
    names, lines, none = list(ROWS)[half :: len(HALVES)], 0, 0
    for name, material, result in every_line(names, base):
        lines += 1
        for found in result.swaps:
            told = found.effects
            assert set(told) == set(result.before.quantities) - {"feel"}, (name, material)
            assert found.why and found.method and found.label and found.card, (name, material)
            assert found.trial.batch.total() == pytest.approx(result.before.batch.total())
        if not result.swaps:
            none += 1
            miss = result.nearest_miss
            assert miss is not None and miss.rule and miss.reason, (name, material)
    took = time.process_time() - began
    print(f"\n{lines} lines of {len(names)} formulas in {took:.0f} s; {none} without a swap")
    assert lines == sum(len(ROWS[name]) for name in names)
    assert took < SECONDS
