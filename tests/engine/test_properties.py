"""What must hold whatever the formula: laws of the profile, the swap, and the policy judge."""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from kb.engine.batch import make_batch
from kb.engine.exchange import bounds, put_on_line
from kb.engine.findings import judge as judge_formula
from kb.engine.opening import open_formula
from kb.engine.policy import judge
from kb.engine.profile import make_profile
from kb.engine.roles import roles_here
from kb.engine.swap import swap

from .bench import batch_of, demo, figures, generic, host, place_of, profile_of, read_table

SOUND = {
    "oyster": demo("oyster-barrier"),
    "winter": demo("winter-hand-cream"),
    "balm": demo("deck-balm"),
    "lotion": demo("rinse-lotion"),
    "gel": host("water-gel-carbomer"),
    "cold": host("cold-cream-alkali"),
    "paste": host("zinc-paste"),
}
#: Questions the swap laws are held against: formula and line.
ASKED = [
    ("demo", "oyster-barrier", "Zinc Oxide"),
    ("demo", "oyster-barrier", "Beeswax"),
    ("demo", "oyster-barrier", "Coco-Caprylate"),
    ("demo", "winter-hand-cream", "Phenoxyethanol"),
    ("demo", "winter-hand-cream", "Polyglyceryl-3 Diisostearate"),
    ("demo", "rinse-lotion", "Xanthan Gum"),
    ("demo", "deck-balm", "Shea Butter"),
    ("host", "cold-cream-alkali", "Sodium Borate"),
]
NAMES = st.sampled_from(sorted(SOUND))
FEW = settings(max_examples=25)


def same(first, second):
    """The two profiles agree, figure by figure, nothing known in only one of them."""
    assert first.keys() == second.keys()
    for name, value in first.items():
        if value is None:
            assert second[name] is None, name
        else:
            assert second[name] == pytest.approx(value, rel=1e-6, abs=1e-9), name


# -- the profile -------------------------------------------------------------------------------


@FEW
@given(name=NAMES, scale=st.floats(0.05, 20.0))
def test_only_the_proportions_count(name, scale, base):
    whole = SOUND[name]
    scaled = replace(whole, lines=tuple(replace(x, percent=x.percent * scale) for x in whole.lines))
    same(figures(whole, base), figures(scaled, base))


@FEW
@given(data=st.data(), name=NAMES)
def test_the_order_of_the_lines_does_not_count(data, name, base):
    whole = SOUND[name]
    shuffled = replace(whole, lines=tuple(data.draw(st.permutations(whole.lines))))
    same(figures(whole, base), figures(shuffled, base))


@FEW
@given(data=st.data(), name=NAMES, part=st.floats(0.02, 0.98))
def test_one_line_or_two_of_the_same_is_all_one(data, name, part, base):
    whole = SOUND[name]
    place = data.draw(st.integers(0, len(whole.lines) - 1))
    line = whole.lines[place]
    lines = list(whole.lines)
    lines[place : place + 1] = [
        replace(line, percent=line.percent * part, qs=False),
        replace(line, percent=line.percent * (1.0 - part), qs=False),
    ]
    halved = replace(whole, lines=tuple(lines))
    same(figures(whole, base), figures(halved, base))

    def told(one):
        return {(f.level, f.rule, f.message) for f in judge_formula(profile_of(one, base), base)}

    assert told(halved) == told(whole)


@FEW
@given(data=st.data(), name=NAMES)
def test_a_synonym_is_as_good_as_the_inci_name(data, name, base):
    whole = SOUND[name]
    place = data.draw(st.integers(0, len(whole.lines) - 1))
    material = base.names.resolve(whole.lines[place].given).match.material
    others = [
        written
        for written in names_of(material, base)
        if (found := base.names.resolve(written).match) and found.material == material
    ]
    assume(others)
    lines = list(whole.lines)
    lines[place] = replace(lines[place], given=data.draw(st.sampled_from(others)))
    same(figures(whole, base), figures(replace(whole, lines=tuple(lines)), base))


def names_of(material, base):
    return [base.materials[material].inci, *(r[0] for r in base.records.names if r[1] == material)]


@pytest.mark.parametrize("name", SOUND)
def test_the_same_question_has_the_same_answer(name, base):
    batch = batch_of(SOUND[name], base)
    first, second = (make_profile(batch, base, draws=32) for _ in range(2))
    for quantity, one in first.quantities.items():
        other = second.quantities[quantity]
        assert (one.value, one.low, one.high) == (other.value, other.low, other.high)


@pytest.mark.parametrize("name", SOUND)
def test_a_range_holds_its_value(name, base):
    for quantity in profile_of(SOUND[name], base, draws=64).quantities.values():
        if quantity.value is None:
            assert quantity.low is None
            assert quantity.high is None
        else:
            assert quantity.low <= quantity.value <= quantity.high, quantity.name
            assert math.isfinite(quantity.low)
            assert math.isfinite(quantity.high)


@pytest.mark.parametrize("name", ["oyster", "winter", "balm", "lotion"])
def test_what_is_only_estimated_has_a_width(name, base):
    quantity = profile_of(SOUND[name], base, draws=64).quantities["consistency_25c"]
    assert quantity.high > 1.5 * quantity.low


@FEW
@given(name=NAMES, percents=st.lists(st.floats(0.01, 60.0), min_size=14, max_size=14))
def test_any_levels_give_figures_within_their_bounds(name, percents, base):
    whole = SOUND[name]
    lines = tuple(
        replace(line, percent=percent, qs=False)
        for line, percent in zip(whole.lines, percents, strict=False)
    )
    values = figures(replace(whole, lines=lines), base)
    for value in values.values():
        assert value is None or math.isfinite(value)
    for t in (10, 25, 40):
        assert 0.0 <= (values[f"solids_{t}c"] or 0.0) <= 100.0
    for quantity in ("dispersed_fraction", "natural_origin", "water_activity"):
        assert 0.0 <= (values[quantity] or 0.0) <= 1.0 + 1e-9
    assert (values["consistency_25c"] or 1.0) > 0.0
    assert (values["free_preservative"] or 0.0) >= 0.0


@pytest.mark.parametrize("name", SOUND)
def test_the_shares_of_a_line_s_work_add_up(name, base):
    profile = profile_of(SOUND[name], base)
    for item in profile.batch.items:
        here = roles_here(item, profile, base)
        assert here, item.material
        assert sum(h.share for h in here) == pytest.approx(1.0)
        assert all(h.share > 0 for h in here)


def test_every_preservative_draws_its_range_without_a_fault(base):
    """Levels and partitions known as "0 to something" must not be drawn below nothing."""
    whole = SOUND["winter"]
    batch = batch_of(whole, base)
    place = next(n for n, i in enumerate(batch.items) if i.material == "phenoxyethanol")
    for material in base.players_below("antimicrobial"):
        put = put_on_line(batch, place, material, 0.9, None)
        found = make_profile(put, base, draws=32).quantities["free_preservative"]
        if found.value is not None:
            assert 0.0 <= found.low <= found.value <= found.high, material


def test_more_wax_never_thins_a_balm(base):
    whole = SOUND["balm"]
    seen = []
    for percent in (6.0, 10.0, 14.0, 18.0):
        lines = [replace(x, percent=percent) if x.given == "Beeswax" else x for x in whole.lines]
        rest = 100.0 - sum(x.percent for x in lines if x.given != "Olive Oil")
        lines = [replace(x, percent=rest) if x.given == "Olive Oil" else x for x in lines]
        seen.append(figures(replace(whole, lines=tuple(lines)), base)["consistency_25c"])
    assert seen == sorted(seen)
    assert seen[-1] > 1.5 * seen[0]


# -- the swap ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "name", "line"), ASKED)
class TestEverySwap:
    @pytest.fixture
    def result(self, kind, name, line, ask):
        return ask(kind, name, line)

    def test_it_finds_something(self, result):
        assert result.swaps

    def test_the_total_stays(self, result):
        for found in result.swaps:
            assert found.trial.batch.total() == pytest.approx(100.0, abs=1e-6)

    def test_no_line_falls_below_nothing(self, result):
        for found in result.swaps:
            assert all(item.percent >= 0.0 for item in found.trial.batch.items)
            assert found.trial.percent > 0.0

    def test_the_level_is_within_its_bounds(self, result, base):
        item = result.before.batch.items[result.index]
        for found in result.swaps:
            low, high = bounds(found.candidate.material, result.here, item.percent, base)
            assert low * 0.99 <= found.trial.percent <= high * 1.01
            assert found.trial.batch.items[result.index].percent == found.trial.percent

    def test_only_the_line_and_its_balance_move(self, result):
        before = result.before.batch.items
        for found in result.swaps:
            moved = [
                n
                for n, (old, new) in enumerate(zip(before, found.trial.batch.items, strict=True))
                if n != result.index and abs(old.percent - new.percent) > 1e-9
            ]
            if found.trial.balance is not None:
                assert set(moved) <= {found.trial.balance}
            for n in moved:
                assert not before[n].locked
                assert not before[n].active

    def test_nothing_stands_in_for_itself(self, result, base):
        own = generic(result.before.batch.items[result.index].material)
        assert own not in {generic(s.candidate.material) for s in result.swaps}

    def test_nothing_is_both_offered_and_refused(self, result):
        offered = [generic(s.candidate.material) for s in result.swaps]
        refused = {generic(r.material) for r in result.rejected}
        assert len(offered) == len(set(offered))
        assert not set(offered) & refused

    def test_every_refusal_has_a_rule_and_a_reason(self, result):
        for refused in result.rejected:
            assert refused.rule
            assert refused.reason

    def test_the_effect_is_the_profile_after_minus_before(self, result, base):
        for found in result.swaps[:2]:
            after = make_profile(found.trial.batch, base)
            for quantity, effect in found.effects.items():
                if effect.before is not None:
                    assert effect.before == pytest.approx(result.before.value(quantity))
                if effect.after is not None:
                    assert effect.after == pytest.approx(after.value(quantity))
                if effect.value is not None:
                    assert effect.low <= effect.value <= effect.high, quantity
                    wanted = (
                        effect.after / effect.before
                        if effect.kind == "ratio"
                        else effect.after - effect.before
                    )
                    assert effect.value == pytest.approx(wanted, abs=1e-9), quantity

    def test_the_score_is_made_of_its_parts(self, result):
        for found in result.swaps:
            assert 0.0 < found.total <= 1.0
            assert all(0.0 <= part <= 1.0 for part in found.parts.values())
            assert found.total <= min(found.parts["company"], found.parts["figures"]) + 1e-9

    def test_it_says_why_and_what_to_test(self, result):
        for found in result.swaps:
            assert found.why
            assert found.method
            assert found.card
            assert found.label

    def test_swapping_back_restores_every_figure(self, result, base):
        item = result.before.batch.items[result.index]
        for found in result.swaps[:3]:
            if found.trial.balance is None:
                continue
            back = put_on_line(
                found.trial.batch, result.index, item.material, item.percent, found.trial.balance
            )
            restored = {n: q.value for n, q in make_profile(back, base).quantities.items()}
            same({n: q.value for n, q in result.before.quantities.items()}, restored)


def test_the_same_swap_is_found_twice(ask, base):
    first = ask("demo", "oyster-barrier", "Coco-Caprylate")
    opened = open_formula(demo("oyster-barrier"), base)
    again = swap(opened.batch, place_of(opened, "Coco-Caprylate", base), base)
    assert [(s.candidate.material, s.total) for s in again.swaps] == [
        (s.candidate.material, s.total) for s in first.swaps
    ]
    assert again.rejected == first.rejected
    assert again.asks == first.asks


def test_the_order_of_the_lines_changes_no_swap(ask, base):
    first = ask("demo", "oyster-barrier", "Coco-Caprylate")
    whole = demo("oyster-barrier")
    opened = open_formula(replace(whole, lines=whole.lines[::-1]), base)
    turned = swap(opened.batch, place_of(opened, "Coco-Caprylate", base), base)
    assert [s.candidate.material for s in turned.swaps] == [
        s.candidate.material for s in first.swaps
    ]


def test_a_locked_line_never_gives_way(base):
    whole = demo("oyster-barrier")
    lines = tuple(replace(x, locked=x.given == "Caprylic/Capric Triglyceride") for x in whole.lines)
    opened = open_formula(replace(whole, lines=lines), base)
    result = swap(opened.batch, place_of(opened, "Beeswax", base), base, top=5)
    locked = next(n for n, item in enumerate(opened.batch.items) if item.locked)
    for found in result.swaps:
        assert found.trial.batch.items[locked] == opened.batch.items[locked]


def test_a_shelf_is_all_that_may_be_used(base):
    stock = {"candelilla-wax", "euphorbia-cerifera-cera", "ozokerite", "xanthan-gum"}
    opened = open_formula(demo("oyster-barrier"), base)
    result = swap(opened.batch, place_of(opened, "Beeswax", base), base, only=stock)
    assert {generic(s.candidate.material) for s in result.swaps} <= stock
    assert result.swaps


def test_an_empty_shelf_names_the_nearest_miss(base):
    opened = open_formula(demo("oyster-barrier"), base)
    result = swap(opened.batch, place_of(opened, "Beeswax", base), base, only={"water"})
    assert not result.swaps
    assert result.nearest_miss is not None
    assert result.nearest_miss.rule == "not-on-shelf"


# -- policies ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("policy", "name", "line"),
    [
        ("vegan", "oyster-barrier", "Beeswax"),
        ("no-mineral-oil", "oyster-barrier", "Beeswax"),
        ("natural-only", "winter-hand-cream", "Phenoxyethanol"),
        ("no-silicone", "oyster-barrier", "Coco-Caprylate"),
        ("no-ethoxylates", "rinse-lotion", "Cetearyl Glucoside"),
        ("palm-free", "oyster-barrier", "Caprylic/Capric Triglyceride"),
    ],
)
def test_no_swap_goes_against_the_policy(policy, name, line, ask, base):
    result = ask("demo", name, line, (policy,))
    assert result.swaps
    for found in result.swaps:
        answer = judge(found.candidate.material, [policy], base)
        assert answer.answer != "no", found.candidate.material
        asked = [c for c in found.cautions if c.rule == "policy-unknown"]
        assert bool(asked) == (answer.answer == "unknown"), found.candidate.material
        assert all(c.text for c in asked)
    refused = {r.material: r.rule for r in result.rejected}
    forbidden = [m for m in refused if judge(m, [policy], base).answer == "no"]
    assert forbidden
    assert {refused[m] for m in forbidden} == {"policy"}


def test_an_unknown_is_never_a_silent_yes(base):
    answers = {"yes": 0, "no": 0, "unknown": 0}
    for policy in base.records.policies:
        for material in base.materials:
            found = judge(material, [policy], base)
            answers[found.answer] += 1
            if found.answer != "yes":
                assert found.reason, (policy, material)
    assert all(answers.values())


def test_what_no_name_tells_stays_open(base):
    assert judge("glycerin", ["palm-free"], base).answer == "unknown"
    assert judge("glycerin", ["vegan"], base).answer == "unknown"
    assert judge("stearic-acid", ["palm-free"], base).answer == "unknown"
    assert judge("cera-alba", ["vegan"], base).answer == "no"
    assert judge("lanolin", ["vegan"], base).answer == "no"
    assert judge("paraffinum-liquidum", ["no-mineral-oil"], base).answer == "no"
    assert judge("dimethicone", ["no-silicone"], base).answer == "no"
    assert judge("polysorbate-60", ["no-ethoxylates"], base).answer == "no"
    assert judge("phenoxyethanol", ["natural-only"], base).answer == "no"


def test_several_policies_are_as_strict_as_the_strictest(base):
    strictness = {"yes": 0, "unknown": 1, "no": 2}
    names = sorted(base.records.policies)
    for material in sorted(base.materials)[::17]:
        alone = [judge(material, [name], base).answer for name in names]
        together = judge(material, names, base).answer
        assert strictness[together] == max(strictness[a] for a in alone)


def test_a_blend_is_judged_by_what_it_holds(base):
    for material in base.materials:
        for part in base.parts(material):
            if part.part in base.materials and part.low > 0.0 and part.part != material:
                inner = judge(part.part, ["no-silicone"], base).answer
                if inner == "no":
                    assert judge(material, ["no-silicone"], base).answer == "no", material


# -- published formulas ------------------------------------------------------------------------


def test_every_printed_line_plays_a_role_in_its_formula(base):
    from .test_published_formulas import ROWS, published

    assert {r["formula"] for r in read_table("published_formulas.csv")} == set(ROWS)
    for name in ROWS:
        whole = published(name)
        batch = make_batch(whole, [base.names.resolve(line.given) for line in whole.lines])
        profile = make_profile(batch, base)
        for item in batch.items:
            assert roles_here(item, profile, base), (name, item.material)
