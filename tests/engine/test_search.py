"""Scoring in columns and stopping early give what scoring one by one and looking at all gives."""

from itertools import islice

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.engine.answers import Swap
from kb.engine.candidates import GRADE_BETTER, score_candidate
from kb.engine.context import Context
from kb.engine.obtaining import at_hand
from kb.engine.opening import open_formula
from kb.engine.profile import make_profile
from kb.engine.quantity import _percentile
from kb.engine.roles import Here, roles_here
from kb.engine.scoreboard import scoreboard
from kb.engine.search import LOOKED_AT, kind_of_material
from kb.engine.swap import search_for, swap

from .bench import HOSTS, demo, host

DEMOS = ("oyster-barrier", "rinse-lotion", "deck-balm", "winter-hand-cream")


def one_by_one(original, here, base, ph=None):
    """Score every other INCI of the base; of several grades the best stands for all."""
    best = {}
    for material in base.materials:
        name = material.split("--")[0]
        if name == original.split("--")[0]:
            continue
        found = score_candidate(material, original, here, base, ph)
        if name not in best or found.score > GRADE_BETTER * best[name].score:
            best[name] = found
    return sorted(best.values(), key=lambda c: (-c.score, c.material))


def question(opened, place, base, preferred=None):
    before = make_profile(opened.batch, base)
    here = roles_here(opened.batch.items[place], before, base)
    return Context(base, before, place, here, [], preferred)


def _lines():
    for name in DEMOS:
        for place in range(0, len(demo(name).lines), 3):
            yield pytest.param("demo", name, place, id=f"{name}-{place}")
    for name in sorted(p.stem for p in HOSTS.glob("*.toml"))[::5]:
        yield pytest.param("host", name, 1, id=f"{name}-1")


LINES = list(_lines())


@pytest.mark.parametrize(("kind", "name", "place"), LINES)
def test_columns_rank_as_one_by_one(base, kind, name, place):
    opened = open_formula(demo(name) if kind == "demo" else host(name), base)
    c = question(opened, place, base)
    ranking = scoreboard(base).rank(c.original, c.here, base, c.before.ph)
    wanted = one_by_one(c.original, c.here, base, c.before.ph)
    assert [ranking.at(p).material for p in ranking.in_order()] == [w.material for w in wanted]
    leading = [ranking.at(p).material for p in ranking.in_order(leading=True)]
    assert leading == [w.material for w in wanted if c.leading in w.played]


@settings(max_examples=15)
@given(data=st.data())
def test_any_material_in_any_roles(base, data):
    materials, roles = sorted(base.materials), sorted(base.roles)
    original = data.draw(st.sampled_from(materials))
    asked = data.draw(st.lists(st.sampled_from(roles), min_size=1, max_size=4, unique=True))
    ph = data.draw(st.sampled_from([None, 3.5, 5.2, 7.8]))
    here = tuple(Here(role, 1.0 / len(asked)) for role in asked)
    ranking = scoreboard(base).rank(original, here, base, ph)
    found = [ranking.at(p).material for p in islice(ranking.in_order(), 200)]
    assert found == [w.material for w in one_by_one(original, here, base, ph)[:200]]


def looked_at_all(search, context, top):
    """Weigh every chosen candidate before any is shown."""
    ready = [search.weighed(c) for c in search.chosen()]
    rest = sorted(
        (s for s in ready if isinstance(s, Swap)), key=lambda s: (-s.total, s.candidate.material)
    )
    shown, seen = [], set()
    while rest and len(shown) < top:
        place, found = len(shown) + 1, rest[0]
        early = context.matters("oil-phase-structurant") and place == 5
        if early or (place > 8 and place % 2 == 0):
            fresh = [s for s in rest if kind_of_material(s.candidate, context) not in seen]
            if fresh and fresh[0].total >= (0.6 if early else 0.5) * found.total:
                found = fresh[0]
        rest.remove(found)
        shown.append(found)
        seen.add(kind_of_material(found.candidate, context))
    return [(s.candidate.material, s.total) for s in shown]


@pytest.mark.parametrize(("kind", "name", "place"), LINES[::2])
@pytest.mark.parametrize("top", [1, 10, 25])
@pytest.mark.parametrize("stocked", [False, True])
def test_stopping_early_loses_nothing(base, kind, name, place, top, stocked):
    opened = open_formula(demo(name) if kind == "demo" else host(name), base)
    preferred = set(sorted(base.materials)[::4]) if stocked else None
    c = question(opened, place, base, preferred)
    found = [(s.candidate.material, s.total) for s in search_for(c).best(top)]
    assert found == looked_at_all(search_for(c), c, top)


def test_the_best_of_each_kind_is_looked_at_beside_the_best(base):
    c = question(open_formula(demo("winter-hand-cream"), base), 3, base)
    suitable = list(search_for(c).suitable())
    chosen = list(search_for(c).chosen())
    assert chosen[:LOOKED_AT] == suitable[:LOOKED_AT]
    assert len({kind_of_material(x, c) for x in chosen}) > len(
        {kind_of_material(x, c) for x in suitable[: len(chosen)]}
    )


def test_an_answer_is_worth_at_most_its_score(base):
    c = question(open_formula(demo("oyster-barrier"), base), 2, base, {"squalane"})
    for found in search_for(c).best(30):
        assert found.total <= found.candidate.score * at_hand(found.candidate.material, c)
        assert all(0.0 <= part <= 1.0 for part in found.parts.values())


def test_fewer_are_looked_at_than_chosen(base, monkeypatch):
    import kb.engine.swap as swapping

    seen = []
    real = swapping.refuse_late
    monkeypatch.setattr(
        swapping, "refuse_late", lambda c, *rest: seen.append(c.material) or real(c, *rest)
    )
    opened = open_formula(demo("winter-hand-cream"), base)
    result = swap(opened.batch, 1, base)
    early = len(seen)
    assert result.swaps and early < len(list(search_for(question(opened, 1, base)).chosen()))
    assert len(result.rejected) > 500 and len(seen) > early


@given(
    values=st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60),
    percentile=st.sampled_from([5.0, 95.0]),
)
def test_a_percentile_is_that_of_numpy(values, percentile):
    assert _percentile(np.array(values), percentile) == np.percentile(values, percentile)


@pytest.mark.parametrize("name", sorted(p.stem for p in HOSTS.glob("*.toml")))
def test_a_brief_profile_says_the_same_of_what_it_says(base, name):
    batch = open_formula(host(name), base).batch
    brief, whole = make_profile(batch, base, brief=True), make_profile(batch, base)
    assert {"consistency_25c", "climate_drift_10_over_40", "settling"} <= brief.quantities.keys()
    for name, quantity in brief.quantities.items():
        assert quantity.value == whole.quantities[name].value
        assert quantity.limited_by == whole.quantities[name].limited_by
        assert quantity.detail == whole.quantities[name].detail
    assert (brief.cover, brief.ph, brief.network) == (whole.cover, whole.ph, whole.network)
    assert brief.structure_yield_40 == whole.structure_yield_40
