"""Adapt a formula on the pages: asked, read, accepted and undone; why not; a deadline."""

import asyncio
import time

import pytest

from kb.web import adapting
from kb.web.crew import Crew
from kb.web.faults import PageError
from kb.web.pages import ROUTES
from kb.web.sheet import unpack
from tests.web.reading import Page
from tests.web.test_bench import state


@pytest.fixture(scope="module")
def start(web):
    return web.start()


def test_the_bench_leads_to_it_and_a_choice_of_policies(web, base, start):
    assert Page(web.get(f"/bench?s={start}").text).all("button", formaction="/bench/adapt")
    page = Page(web.get(f"/bench/adapt?s={start}").text)
    offered = {a["value"] for a in page.all("input", name="policy")}
    assert offered == set(base.records.policies)
    assert len(page.all("input", name="keep")) == 14


def test_an_answer_stands_beside_the_old_formula_with_reasons_and_proof(web, start):
    page = Page(web.get(f"/bench/adapt?s={start}&policy=natural-only").text)
    tree = web.get(f"/bench/adapt.json?s={start}&policy=natural-only").json()
    solution = tree["solutions"][0]
    assert "The old formula beside the new" in page.text
    assert solution["proof"]["said"][1:] in page.text
    for change in solution["changes"]:
        assert change["to"][0]["inci"] in page.text
        assert change["why"][0] in page.text
    for words in ("Why these", "Take care", "What follows", "Trial card"):
        assert words in page.text, words


def test_it_is_accepted_passes_the_policy_and_is_undone(web, start):
    tree = web.get(f"/bench/adapt.json?s={start}&policy=natural-only").json()
    answer = web.get(f"/bench/adopt?s={start}&policy=natural-only&take=1")
    after = state(answer.headers["location"])
    lines = web.get(f"/bench.json?s={after}").json()["lines"]
    wanted = tree["solutions"][0]["formula"]
    assert [(x["ingredient"], round(x["percent"], 2)) for x in lines] == [
        (x["ingredient"], round(x["percent"], 2)) for x in wanted
    ]
    bench = Page(web.get(answer.headers["location"]).text)
    assert "Last change: adapted to natural-only" in bench.text
    again = web.get(f"/bench/adapt.json?s={after}&policy=natural-only").json()
    assert again["status"] == "unchanged"
    assert unpack(after).formula.versions[-1]["why"] == "natural-only"
    undone = web.get(f"/bench?s={after}&do=undo").headers["location"]
    assert state(undone) == start


def test_what_is_typed_on_the_bench_counts(web):
    page = Page(web.follow("/bench?demo=oyster-barrier").text)
    fields = [(n, "4.5" if v == "3" and n == "percent" else v) for n, v in page.fields()]
    answer = web.get("/bench/adapt", params=[*fields, ("policy", "no-silicone")])
    assert answer.status_code == 303
    assert "Nothing has to change" in web.get(answer.headers["location"]).text


def test_a_question_without_an_answer_names_the_rules_and_the_way_out(web, start):
    asked = f"s={start}&policy=vegan&policy=natural-strict&keep=12"
    page = Page(web.get(f"/bench/adapt?{asked}").text)
    assert "It cannot be adapted so" in page.text
    assert "These rules cannot hold together" in page.text
    assert not page.all("button", name="take")
    tree = web.get(f"/bench/adapt.json?{asked}").json()
    assert tree["status"] == "infeasible" and tree["closed_by"]
    for rule in tree["closed_by"]:
        assert rule["text"] in page.text


def test_time_that_runs_out_is_told_on_a_page_of_its_own(desk_of_web, monkeypatch, start):
    from kb.web.answer import Asked
    from kb.web.fields import of_query
    from kb.web.pages import answered

    monkeypatch.setattr(adapting, "SECONDS", 0.0)
    query = of_query(f"s={start}&policy=natural-only&policy=vegan")
    path = next(r.path for r in ROUTES if r.view is adapting.adapt)
    reply = answered(desk_of_web, path, Asked(query))
    page = Page(reply.body.decode())
    assert reply.status == 200 and not page.faults
    assert "No answer in 0 seconds" in page.text and "--time-limit" in page.text


@pytest.fixture
def desk_of_web(base_path, tmp_path):
    from kb.web.desk import Desk

    desk = Desk(base_path, tmp_path / "own.sqlite")
    desk.look_again()
    return desk


def sleep(desk, seconds):
    time.sleep(seconds)


def test_a_long_question_has_a_process_and_a_deadline_of_its_own(base_path, tmp_path):
    crew = Crew(base_path, 10.0, tmp_path / "own.sqlite")
    try:
        begun = time.monotonic()

        async def both():
            long = asyncio.ensure_future(crew.work_out(sleep, 60, longest_s=0.5))
            await asyncio.gather(*(crew.work_out(sleep, 0.01) for _ in range(4)))
            with pytest.raises(PageError, match=r"within 0\.5 seconds"):
                await long

        asyncio.run(both())
        assert time.monotonic() - begun < 30
    finally:
        crew.close()


def test_only_adapting_may_take_long():
    long = {route.path for route in ROUTES if route.longest_s}
    assert all("/adapt" in path or "/adopt" in path for path in long)
    assert adapting.DEADLINE_S > 2 * adapting.SECONDS


def test_a_line_the_base_does_not_know_cannot_be_kept(web):
    text = "ingredient,percent\nWater,q.s.\nQqqq wwww,2\nGlycerin,5\n"
    s = state(web.get("/bench", params={"formula": text}).headers["location"])
    answer = web.get(f"/bench/adapt?s={s}&policy=vegan&keep=2")
    assert answer.status_code == 400
    assert "holds no material" in Page(answer.text).text
