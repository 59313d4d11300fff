"""A material ends, is limited or costs more."""

from datetime import date, timedelta
from itertools import combinations

import pytest

from kb.folder.asking import Question, answer_of
from kb.folder.event import Event, outcome
from kb.folder.files import files_of
from kb.folder.standing_in import GOOD
from kb.report.folder import event_tree
from kb.report.folder_text import event_text

DAY, TODAY = date(2030, 3, 1), date(2030, 1, 1)


@pytest.fixture(scope="module")
def ask_about(shop, base):
    def ask(material, most_percent=None):
        question = Question(GOOD, None, (), material, most_percent)
        return [answer_of(file, question, base) for file in files_of(str(shop))]

    return ask


def test_only_formulas_that_hold_it_are_hit(ask_about):
    answers = ask_about("squalane")
    found = outcome(answers, Event("ends", "squalane", DAY, TODAY, 0.0))
    assert {h.file for h in found.hits} == {
        a["file"] for a in answers if a["error"] is None and "squalane" in a["holds"]
    }
    assert len(found.hits) >= 2 and found.broken


def test_tests_must_begin_before_the_last_batch_and_the_most_urgent_stands_first(ask_about):
    found = outcome(ask_about("glycerin"), Event("ends", "glycerin", DAY, TODAY, 3.0))
    assert len(found.hits) >= 3
    for hit in found.hits:
        assert hit.begin == hit.last.day - timedelta(days=hit.days)
        assert hit.late == max(0, (TODAY - hit.begin).days)
        assert hit.days >= 84
    begins = [hit.begin for hit in found.hits]
    assert begins == sorted(begins)


def test_more_stock_makes_it_less_urgent(ask_about):
    answers = ask_about("glycerin")
    few, many = (outcome(answers, Event("ends", "glycerin", DAY, TODAY, kg)) for kg in (0.0, 20.0))
    assert few.run_out == DAY < many.run_out
    assert sum(h.late for h in many.hits) < sum(h.late for h in few.hits)


def test_the_batch_size_in_the_file_counts(base, shop, ask_about):
    answers = [dict(a) for a in ask_about("squalane")]
    for a in answers:
        a["product"] = {"batch_kg": 40.0, "batches_a_month": 3}
    event = Event("ends", "squalane", DAY, TODAY, 5.0)
    found = outcome(answers, event)
    for hit in found.hits:
        assert hit.kg_a_month == pytest.approx(hit.percent / 100 * 40 * 3)


def test_the_fewest_new_materials_are_the_fewest_of_all_choices(ask_about):
    for material in ("cera-alba", "phenoxyethanol", "squalane", "tocopherol"):
        answers = ask_about(material)
        found = outcome(answers, Event("ends", material, DAY, TODAY, 0.0))
        used = {m.split("--")[0] for a in answers if not a["error"] for m in a["holds"]}
        needs = [
            {s[0].split("--")[0] for s in line["stand_ins"]}
            for a in answers
            for line in a["lines"]
            if line["stand_ins"]
        ]
        open_needs = [n for n in needs if not n & (used - {material})]
        names = sorted(set().union(*open_needs)) if open_needs else []
        least = next(
            size
            for size in range(len(needs) + 1)
            if any(
                all(set(chosen) & need for need in open_needs)
                for chosen in combinations(names, size)
            )
        )
        assert len(found.cover.chosen) == least == found.cover.bound
        assert found.cover.proven
        assert not set(found.cover.chosen) & used


def test_what_is_on_the_shelf_is_not_new(ask_about):
    answers = ask_about("phenoxyethanol")
    event = Event("ends", "phenoxyethanol", DAY, TODAY, 0.0)
    found = outcome(answers, event)
    again = outcome(answers, event, frozenset(found.cover.chosen))
    assert found.cover.chosen and again.cover.chosen == ()


@pytest.mark.parametrize("most", [4.9, 3.6, 0.5])
def test_a_limit_hits_what_holds_more_and_a_little_less_may_stay(ask_about, most):
    answers = ask_about("glycerin", most)
    held = outcome(ask_about("glycerin"), Event("ends", "glycerin", DAY, TODAY, 0.0))
    found = outcome(answers, Event("limit", "glycerin", DAY, TODAY, 0.0, figure=most))
    assert {h.file for h in found.hits} == {h.file for h in held.hits if h.percent > most}
    for hit in found.hits:
        low = [line["lowered"] for line in hit.lines]
        assert all(one["percent"] <= most + 1e-9 for one in low)
        if hit.stays:
            assert all(
                one["percent"] >= 0.7 * line["percent"]
                for one, line in zip(low, hit.lines, strict=True)
            )
        else:
            assert any(one["reason"] for one in low)
        assert hit.last.day == DAY


def test_a_price_is_money_a_month(ask_about):
    event = Event("price", "squalane", DAY, TODAY, 0.0, 20.0, 2.0, 60.0, 45.0)
    found = outcome(ask_about("squalane"), event)
    for hit in found.hits:
        assert hit.costs_a_month == pytest.approx(hit.percent / 100 * 20 * 2 * 15)
    costs = [hit.costs_a_month for hit in found.hits]
    assert costs == sorted(costs, reverse=True)


@pytest.mark.parametrize("kind", ["ends", "limit", "price"])
def test_the_text_fits(ask_about, base, kind):
    figure = {"ends": None, "limit": 3.6, "price": 4.0}[kind]
    answers = ask_about("glycerin", 3.6 if kind == "limit" else None)
    found = outcome(answers, Event(kind, "glycerin", DAY, TODAY, 2.0, figure=figure, was=None))
    tree = event_tree("shop", found, GOOD, base)
    text = event_text(tree)
    assert max(map(len, text)) <= 80
    assert text[0].startswith("Glycerin") and any("broken.toml" in line for line in text)


def test_nothing_hit_is_an_answer(ask_about, base):
    found = outcome(ask_about("nylon-12"), Event("ends", "nylon-12", DAY, TODAY, 0.0))
    tree = event_tree("shop", found, GOOD, base)
    assert not tree["hits"] and "No formula is touched." in event_text(tree)
