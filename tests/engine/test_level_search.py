"""The levels that are solved are the best there are: a search by brute force finds none better.

The objective is the distance of the figure that is to be matched from what it was, as the absolute
natural logarithm of their ratio: consistency at 25 degC for what gives body, cover for a
preservative, moles of alkali, powder by volume. Within the bounds of the stand-in no level of a
fine grid may come nearer by more than 0.01, that is 1 % of the figure.
"""

import math

import numpy as np
import pytest

from kb.engine.exchange import bounds, put_on_line
from kb.engine.opening import open_formula
from kb.engine.profile import consistency_at_25, cover_of, make_profile
from kb.engine.swap import swap

from .bench import host, host_line

#: Kind, host whose marked line is replaced, and how many of its swaps are searched.
KINDS = [
    ("structurant", "oleogel", 3),
    ("structurant", "w-o-barrier-zinc", 2),
    ("thickener", "o-w-lotion-thickener", 3),
    ("thickener", "water-gel-electrolyte", 2),
    ("preservative", "o-w-preserved-ph5", 3),
    ("preservative", "o-w-preserved-ph7", 2),
    ("alkali", "vanishing-alkali", 3),
    ("alkali", "cold-cream-alkali", 2),
    ("filler", "zinc-paste", 5),
]
BETTER = 0.01
FINE = 120


def matched(kind, batch, base):
    """The figure that is to stay as it was."""
    if kind in {"structurant", "thickener"}:
        return consistency_at_25(batch, base)
    if kind == "preservative":
        return cover_of(batch, base)
    profile = make_profile(batch, base)
    return profile.species.alkali_mol if kind == "alkali" else profile.value("powder_volume")


def test_twenty_five_swaps_of_five_kinds_are_searched():
    assert sum(count for *_, count in KINDS) == 25
    assert len({kind for kind, *_ in KINDS}) == 5


@pytest.mark.parametrize(("kind", "name", "count"), KINDS)
def test_no_level_of_a_fine_grid_is_better(kind, name, count, base):
    batch = open_formula(host(name), base).batch
    place = host_line(name)
    target = matched(kind, batch, base)
    result = swap(batch, place, base, top=count)
    assert len(result.swaps) == count
    for found in result.swaps:
        material, trial = found.candidate.material, found.trial

        def apart(percent, material=material, balance=trial.balance):
            put = put_on_line(batch, place, material, percent, balance)
            assert put.total() == pytest.approx(batch.total(), abs=1e-6)
            figure = matched(kind, put, base)
            return abs(math.log(figure / target)) if figure else math.inf

        low, high = bounds(material, result.here, batch.items[place].percent, base)
        room = batch.items[place].percent + 0.99 * batch.items[trial.balance].percent
        levels = np.geomspace(max(low, 1e-3), min(high, room), FINE)
        best = min(apart(float(level)) for level in levels)
        assert apart(trial.percent) <= best + BETTER, (material, trial.percent, trial.how)
