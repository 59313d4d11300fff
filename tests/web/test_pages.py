"""Every address: found, unknown, empty, asked for in the wrong way, and its twin."""

import json

import pytest

from tests.web.reading import Page

S = "S"  # stands for the packed state of a formula
FINE = [
    "/",
    "/find?q=beeswax",
    "/find",
    "/help",
    "/material/cera-alba",
    "/material/zinc-oxide--uncoated",
    "/roles",
    "/roles/light-ester",
    "/roles/emollient?from=60",
    "/roles/wax?policy=vegan&origin=plant&form=waxy",
    "/roles/light-ester?sort=viscosity&order=down",
    "/roles/wax?shelf=only",
    "/own",
    "/suits",
    "/suits?name=xanthan+gum&system=w%2Fo",
    "/suits?name=carbomer&system=water+gel&as=present",
    "/bench",
    f"/bench?s={S}",
    f"/bench/replace?s={S}&at=6",
    f"/bench/replace?s={S}&at=6&policy=vegan&policy=no-mineral-oil&full=10",
    f"/bench/replace?s={S}&at=6&shelf=first",
    f"/bench/sheet?s={S}",
    f"/bench/sheet?s={S}&batch=250g&balance=0.1g",
    f"/bench/measured?s={S}",
    f"/bench/adapt?s={S}",
    f"/bench/adapt?s={S}&policy=natural-only",
    f"/bench/adapt?s={S}&policy=no-silicone",
    f"/bench/adapt?s={S}&policy=vegan&policy=natural-only&keep=6",
]
TWINS = [
    "/.json",
    "/find.json?q=beeswax",
    "/help.json",
    "/material/cera-alba.json",
    "/roles.json",
    "/roles/light-ester.json",
    "/roles/wax.json?policy=vegan",
    "/suits.json?name=xanthan+gum&system=w%2Fo",
    f"/bench.json?s={S}",
    "/bench.json?demo=deck-balm",
    f"/bench/replace.json?s={S}&at=6",
    f"/bench/sheet.json?s={S}&batch=2.5kg",
    f"/bench/measured.json?s={S}",
    "/own.json",
]
WRONG = {
    "/material/no-such-thing-at-all": 404,
    "/material/": 404,
    "/material/a/b": 404,
    "/roles/no-such-role": 404,
    "/roles/wax?policy=nonsense": 400,
    "/roles/wax?from=-3": 400,
    "/roles/wax/more": 404,
    "/roles/wax?shelf=nonsense": 400,
    "/roles/wax?sort=nonsense": 400,
    "/roles/wax?sort=name&order=sideways": 400,
    "/own/nothing": 404,
    "/own/take?of=nonsense": 400,
    "/own/undo": 405,
    "/own/add": 405,
    f"/bench/keep?s={S}&ph=5": 405,
    f"/bench/sheet?s={S}&batch=a+lot": 400,
    f"/bench/sheet?s={S}&batch=10g&balance=5g": 400,
    "/bench/sheet?batch=1kg": 400,
    "/bench/measured": 400,
    f"/bench/replace?s={S}&at=6&shelf=nonsense": 400,
    "/bench/adapt?policy=vegan": 400,
    f"/bench/adapt?s={S}&policy=nonsense": 400,
    f"/bench/adapt?s={S}&policy=vegan&keep=99": 400,
    f"/bench/adapt?s={S}&policy=vegan&keep=six": 400,
    f"/bench/adapt?s={S}&policy=vegan&without=nonsense": 400,
    f"/bench/adapt?s={S}&policy=vegan&shelf=nonsense": 400,
    f"/bench/adapt?s={S}&forbid=qqqqqqqqq": 404,
    f"/bench/adopt?s={S}": 400,
    f"/bench/adopt?s={S}&policy=natural-only&take=9": 400,
    "/find/more": 404,
    "/suits?name=&system=nonsense": 200,
    "/suits?name=xanthan+gum&system=nonsense": 400,
    "/suits?name=qqqqqqqq&system=w%2Fo": 400,
    "/suits?name=xanthan+gum&system=w%2Fo&as=nonsense": 400,
    "/bench?demo=nonsense": 400,
    "/bench?formula=": 400,
    "/bench?formula=not+a+formula": 400,
    "/bench?s=nonsense": 400,
    f"/bench?s={S}x": 400,
    "/bench/nothing": 404,
    f"/bench/replace?s={S}": 400,
    "/bench/replace?at=6": 400,
    f"/bench/replace?s={S}&at=99": 400,
    f"/bench/replace?s={S}&at=six": 400,
    f"/bench/replace?s={S}&at=6&policy=nonsense": 400,
    f"/bench/accept?s={S}&at=6&take=nonsense": 400,
    f"/bench/accept?s={S}&at=6": 400,
    f"/bench/compare?s={S}": 400,
    f"/bench/take?s={S}&as=exe": 400,
    "/bench/take": 400,
    "/-/like/style.000000000000.css": 404,
    "/-/like/..%2f..%2fplugin": 404,
    "/nothing-here": 404,
    "/graph/nothing-here": 404,
}


def filled(web, path):
    return path.replace(f"={S}", f"={web.start()}") if f"={S}" in path else path


@pytest.mark.parametrize("path", FINE)
def test_a_page_is_there_and_holds_together(web, path):
    answer = web.get(filled(web, path))
    assert answer.status_code == 200, answer.text[:500]
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    page = Page(answer.text)
    assert not page.faults
    assert len(page.all("h1")) == 1
    assert len(page.all("main")) == 1
    assert page.all("html", lang="en")
    assert page.all("a", href="#main", **{"class": "skip"})


@pytest.mark.parametrize("path", FINE)
def test_headings_go_down_one_step_at_a_time(web, path):
    page = Page(web.get(filled(web, path)).text)
    levels = [int(tag[1]) for tag, _ in page.elements if tag in {"h1", "h2", "h3"}]
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in zip(levels, levels[1:], strict=False)), levels


@pytest.mark.parametrize("path", FINE)
def test_every_field_has_a_label_and_every_id_is_one(web, path):
    page = Page(web.get(filled(web, path)).text)
    ids = [a["id"] for _, a in page.elements if a.get("id")]
    assert len(ids) == len(set(ids))
    labelled = {a["for"] for a in page.all("label") if "for" in a}
    for tag, a in page.elements:
        if tag in {"input", "select", "textarea"} and a.get("type") not in {"hidden", "checkbox"}:
            assert a.get("id") in labelled, (tag, a)
    for tag, a in page.elements:
        if "aria-labelledby" in a:
            assert a["aria-labelledby"] in ids, (tag, a)


def test_pages_are_told_apart_by_their_titles(web):
    titles = {}
    for path in FINE:
        text = web.get(filled(web, path)).text
        titles.setdefault(text.partition("<title>")[2].partition("</title>")[0], []).append(path)
    doubled = [paths for paths in titles.values() if len({p.split("?")[0] for p in paths}) > 1]
    assert not doubled


@pytest.mark.parametrize("path", TWINS)
def test_a_twin_carries_what_every_object_carries(web, path):
    answer = web.get(filled(web, path))
    assert answer.status_code == 200, answer.text[:500]
    assert answer.headers["content-type"] == "application/json; charset=utf-8"
    tree = answer.json()
    assert tree["schema"] == 1
    assert len(tree["build"]) == 64


@pytest.mark.parametrize(("path", "status"), WRONG.items())
def test_what_cannot_be_answered_says_what_to_do(web, path, status):
    answer = web.get(filled(web, path))
    assert answer.status_code == status, answer.text[:500]
    page = Page(answer.text)
    assert not page.faults
    assert len(page.all("h1")) == 1
    for word in ("Traceback", 'File "', ".py", "sqlite", "SELECT"):
        assert word not in answer.text


@pytest.mark.parametrize(
    "path",
    [
        "/material/no-such-thing.json",
        "/roles/no-such-role.json",
        "/roles/wax.json?form=nonsense",
        "/find.json",
        "/suits.json",
        "/bench.json",
        "/bench.json?s=nonsense",
        f"/bench/replace.json?s={S}",
        f"/bench/compare.json?s={S}",
        "/bench/nothing.json",
    ],
)
def test_a_twin_tells_failures_as_the_commands_do(web, path):
    answer = web.get(filled(web, path))
    assert 400 <= answer.status_code < 500
    error = answer.json()["error"]
    assert error["message"] and error["fix"] and error["code"] in {2, 3}


@pytest.mark.parametrize("path", ["/", "/find", "/material/cera-alba", "/roles/wax", "/suits"])
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_reading_pages_take_reading_methods_only(web, path, method):
    form = {"content-type": "application/x-www-form-urlencoded"}
    answer = web.ask(method, path, headers=form)
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD"
    assert not Page(answer.text).faults


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_the_bench_takes_forms_besides(web, method):
    form = {"content-type": "application/x-www-form-urlencoded"}
    answer = web.ask(method, "/bench", headers=form)
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD, POST"


def test_head_answers_like_get(web):
    assert web.ask("HEAD", "/roles").status_code == 200
    assert web.ask("HEAD", "/material/nonsense-nonsense").status_code == 404


def test_common_names_and_registry_numbers_lead_to_the_material(web):
    for name in ("beeswax", "8012-89-3", "Cera Alba"):
        answer = web.get(f"/material/{name}")
        assert (answer.status_code, answer.headers["location"]) == (303, "/material/cera-alba")
        assert web.get(f"/material/{name}.json").headers["location"].endswith("alba.json")


def test_an_unknown_name_offers_the_nearest(web):
    answer = web.get("/material/beeswaxx")
    assert answer.status_code == 404
    assert Page(answer.text).all("a", href="/find?q=Beeswax")


def test_slips_are_forgiven_on_the_find_page(web):
    for words in ("beesswax", "shea buter", "8012-89-3", "BIENENWACHS"):
        page = Page(web.get("/find", params={"q": words}).text)
        assert any(a.get("href", "").startswith("/material/") for a in page.all("a")), words
    nothing = Page(web.get("/find", params={"q": "$$$"}).text)
    assert "Nothing is called" in nothing.text
    assert nothing.all("a", href="/roles")


def test_the_material_page_says_what_it_should(web):
    page = Page(web.get("/material/cera-alba").text)
    for words in (
        "Also called",
        "balm wax",
        "What it fights",
        "What it goes with",
        "read in the source",
        "Likely to stand in",
        "melting point",
    ):
        assert words in page.text, words
    assert page.all("svg")


def test_a_policy_takes_players_away(web):
    every = web.get("/roles/wax.json").json()["players"]
    vegan = web.get("/roles/wax.json?policy=vegan").json()["players"]
    names = {p["ingredient"] for p in vegan}
    assert names < {p["ingredient"] for p in every}
    assert "cera-alba" not in names


def test_players_come_in_pages_and_none_is_lost(web):
    every = [p["ingredient"] for p in web.get("/roles/emollient.json").json()["players"]]
    seen = []
    for start in range(0, len(every), 60):
        page = Page(web.get(f"/roles/emollient?from={start}").text)
        rows = [a["href"].removeprefix("/material/") for a in page.all("a") if "href" in a]
        seen += [r for r in rows if r in set(every)]
    assert seen == every


def test_a_gum_in_a_cream_with_oil_outside(web):
    page = Page(web.get("/suits?name=xanthan+gum&system=w%2Fo").text)
    assert "Fails" in page.text
    assert "Use instead" in page.text
    tree = web.get("/suits.json?name=xanthan+gum&system=w%2Fo").json()
    assert tree["verdict"] == "fails" and tree["because"] and tree["instead"]


def test_the_tables_behind_can_be_browsed_but_not_asked_in_sql(web):
    assert web.get("/graph").status_code == 200
    rows = web.get("/graph/material.json?_shape=array&_size=3").json()
    assert len(rows) == 3
    assert web.follow("/graph?sql=select+1").status_code == 403
    assert web.follow("/graph.json?sql=select+1").status_code == 403
    assert "snapshot" not in Page(web.get("/graph").text).text.split("Hidden")[0]


def test_a_menu_leads_back_from_the_tables(web):
    assert 'href="/bench"' in web.get("/graph").text


def test_help_lists_every_policy(web, base):
    tree = web.get("/help.json").json()
    assert {p["policy"] for p in tree["policies"]} == set(base.records.policies)


def test_json_is_the_same_text_every_time(web):
    first, second = (web.get("/roles/wax.json").text for _ in range(2))
    assert first == second
    assert json.loads(first)
