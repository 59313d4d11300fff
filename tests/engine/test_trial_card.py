"""The trial card: only what a change calls for, each test with day, limit, stop and reason."""

import re

import pytest

from kb.engine.opening import open_formula
from kb.engine.swap import swap

from .bench import demo, host, place_of

#: Kind of change: formula, line, class, words that must be on the card, words that must not.
CHANGES = {
    "structurant": (
        ("demo", "oyster-barrier", "Beeswax"),
        "moderate",
        ("centrifuge", "consistency", "-5/40"),
        ("challenge", "black card", "pH", "UV", "dilution"),
    ),
    "emulsifier": (
        ("demo", "winter-hand-cream", "Polyglyceryl-3 Diisostearate"),
        "moderate",
        ("dilution", "must still be W/O", "centrifuge"),
        ("challenge", "black card", "UV", "slip, drag"),
    ),
    "preservative": (
        ("demo", "winter-hand-cream", "Phenoxyethanol"),
        "major",
        ("challenge", "pH of the water phase"),
        ("black card", "-5/40", "UV", "dilution", "slip, drag"),
    ),
    "powder": (
        ("host", "zinc-paste", "Corn Starch"),
        "minor",
        ("black card", "no sediment"),
        ("challenge", "centrifuge", "dilution", "pH", "UV"),
    ),
    "alkali": (
        ("host", "vanishing-alkali", "Potassium Hydroxide"),
        "moderate",
        ("pH, by equivalents",),
        ("black card", "UV", "-5/40", "slip, drag"),
    ),
    "light ester": (
        ("demo", "oyster-barrier", "Coco-Caprylate"),
        "minor",
        ("slip, drag", "centrifuge"),
        ("challenge", "black card", "UV", "dilution", "-5/40"),
    ),
}


@pytest.fixture(params=CHANGES)
def change(request):
    return CHANGES[request.param]


def cards(asked, base, top=1, **more):
    kind, name, line = asked
    opened = open_formula(demo(name) if kind == "demo" else host(name), base)
    result = swap(opened.batch, place_of(opened, line, base), base, top=top, **more)
    assert result.swaps
    return [(found, found.card) for found in result.swaps]


def test_only_what_the_change_calls_for(change, base):
    asked, _, wanted, unwanted = change
    ((_, card),) = cards(asked, base)
    tests = "\n".join(card[1:-1])
    for words in wanted:
        assert words in tests
    for words in unwanted:
        assert words not in tests


def test_the_class_of_the_change_says_what_it_means(change, base):
    asked, kind, *_ = change
    ((_, card),) = cards(asked, base)
    assert card[-1].startswith(f"Class: {kind} - ")
    assert "safety" in card[-1]
    assert "notification" in card[-1]
    assert "artwork" in card[-1]


def test_every_test_has_day_limit_stop_and_reason(change, base):
    asked, *_ = change
    for _, card in cards(asked, base, top=3):
        for line in card[1:-1]:
            assert re.match(r"(Day|Week|Weeks) [\d, and]+: |Before any claim: ", line), line
            what, _, limit = line.partition(" - ")
            assert what and "; " in limit, line
            assert re.search(r"; (stop|adjust|no claim)\b", limit), line
            assert re.search(r"\([^()]+\)\.$", line), line


def test_the_cheap_ones_come_first(change, base):
    asked, *_ = change
    ((_, card),) = cards(asked, base)
    costs = []
    for line in card[1:-1]:
        laboratory = "laboratory" in line
        costs.append(3 if laboratory else 2 if line.startswith("Week") else 1)
    assert costs == sorted(costs)


def test_the_jars_stand_around_the_solved_level(change, base):
    asked, *_ = change
    for found, card in cards(asked, base, top=3):
        level = found.trial.percent
        jars = [float(x) for x in re.findall(r"\d+(?:\.\d+)?", card[0].split("%")[0])]
        assert jars[0] == pytest.approx(0.75 * level, rel=0.01)
        assert jars[1] == pytest.approx(level, rel=0.01)
        assert all(x <= 1.25 * level * 1.01 for x in jars)


def test_no_jar_goes_beyond_the_law(base):
    """Benzyl alcohol is capped at 1 % as a preservative."""
    asked = ("host", "o-w-preserved-ph7", "Phenoxyethanol")
    for found, card in cards(asked, base, top=8):
        limits = [
            limit.high
            for limit in base.limits(found.candidate.material)
            if limit.kind == "max" and limit.unit_is_percent and limit.applies == "all"
        ]
        jars = [float(x) for x in re.findall(r"\d+(?:\.\d+)?", card[0].split("%")[0])]
        for high in filter(None, limits):
            assert max(jars) <= max(high, found.trial.percent) * 1.005, card[0]


def test_a_reason_names_the_work_that_changed(base):
    ((_, card),) = cards(CHANGES["preservative"][0], base)
    challenge = next(line for line in card if "challenge" in line)
    assert "preservative changed" in challenge


def test_a_change_that_frees_less_preservative_calls_for_the_challenge(base):
    """An emulsifier whose micelles take up the preservative: not asked for, but called for."""
    asked = ("demo", "rinse-lotion", "Cetearyl Glucoside")
    seen = 0
    for found, card in cards(asked, base, top=20):
        rules = {c.rule for c in found.cautions}
        lab = any("challenge" in line for line in card)
        called = bool(rules & {"binds-preservative", "preservative-inactive", "ph-window"})
        assert lab == called, found.candidate.material
        seen += called
    assert seen
