"""The bench by its forms: edit, replace, accept, undo, compare, take away; small and large."""

import csv
import hashlib
import io
import re
import tomllib
import zipfile
from urllib.parse import parse_qs, urlsplit

import pytest
from openpyxl import load_workbook

from kb.formula.reading import decode, parse_formula
from kb.web.sheet import LONGEST_LINK, unpack
from tests.web.reading import Page


def state(place):
    return parse_qs(urlsplit(place).query)["s"][0]


def sent(page, **changes):
    """Return the fields a browser sends, with some of them changed by field id."""
    fields = []
    for tag, a in page.elements:
        if tag == "input" and "name" in a and a["name"] != "q":
            value = changes.get((a.get("id") or "").replace("-", "_"), a.get("value") or "")
            fields.append((a["name"], value))
    return fields


@pytest.fixture
def opened(web):
    return Page(web.follow("/bench?demo=oyster-barrier").text)


def test_a_demonstration_stands_on_the_bench(opened):
    assert len(opened.all("button", formaction="/bench/replace")) == 14
    assert "Total 100 %" in opened.text
    for words in ("Lines and findings", "How it behaves", "consistency, 25 °C", "Take it away"):
        assert words in opened.text
    assert len(opened.all("svg")) == 3


def test_update_without_a_change_shows_the_same(web, opened):
    answer = web.get("/bench", params=sent(opened))
    assert answer.status_code == 200
    assert "Last change" not in answer.text


def test_an_amount_is_changed_and_taken_back(web, opened):
    answer = web.get("/bench", params=sent(opened, p6="4.5"))
    assert answer.status_code == 303
    page = Page(web.get(answer.headers["location"]).text)
    assert page.all("input", id="p6")[0]["value"] == "4.5"
    assert "Last change: Beeswax 3 to 4.5." in page.text
    assert "Total 100 %" in page.text
    back = web.get("/bench", params=[*sent(page), ("do", "undo")])
    again = Page(web.get(back.headers["location"]).text)
    assert again.all("input", id="p6")[0]["value"] == "3"
    assert "Last change" not in again.text


def test_mistakes_keep_what_was_typed_and_point_at_the_cell(web, opened):
    answer = web.get("/bench", params=sent(opened, p6="a lot", n3="Coco-Caprylate/Caprate"))
    assert answer.status_code == 400
    page = Page(answer.text)
    assert not page.faults
    wrong = page.all("input", id="p6")[0]
    assert wrong["value"] == "a lot"
    assert wrong["aria-invalid"] == "true" and wrong["aria-describedby"] == "wrong"
    assert page.all("input", id="n3")[0]["value"] == "Coco-Caprylate/Caprate"
    assert page.all("div", id="wrong")[0]["role"] == "alert"
    assert "Nothing was changed." in page.text


def test_too_much_keeps_what_was_typed_as_well(web, opened):
    answer = web.get("/bench", params=sent(opened, p6="95"))
    assert answer.status_code == 400
    page = Page(answer.text)
    assert page.all("input", id="p6")[0]["value"] == "95"
    assert "nothing is left" in page.text


def test_an_unknown_name_is_kept_and_its_cost_is_told(web, opened):
    place = web.get("/bench", params=sent(opened, n6="Qqqq wwww"))
    page = Page(web.get(place.headers["location"]).text)
    assert "it counts in the total and in no prediction" in page.text
    assert "not known" in page.text


def test_replace_applies_what_was_typed_first(web, opened):
    fields = [*sent(opened, p6="4.5"), ("at", "6")]
    answer = web.get("/bench/replace", params=fields)
    assert answer.status_code == 303
    page = Page(web.get(answer.headers["location"]).text)
    assert "Instead of Cera Alba, 4.5 %" in page.text


def test_replace_follows_its_line_when_one_above_is_taken_out(web, opened):
    answer = web.get("/bench/replace", params=[*sent(opened, n4=""), ("at", "6")])
    page = Page(web.get(answer.headers["location"]).text)
    assert "Instead of Cera Alba" in page.text
    gone = web.get("/bench/replace", params=[*sent(opened, n6=""), ("at", "6")])
    assert gone.status_code == 400


def test_a_stand_in_is_accepted_undone_and_compared(web):
    s = web.start()
    page = Page(web.get(f"/bench/replace?s={s}&at=6").text)
    for words in ("In order", "Side by side", "Trial card", "Why this one", "In the making"):
        assert words in page.text
    tree = web.get(f"/bench/replace.json?s={s}&at=6").json()
    best = tree["swaps"][0]
    take = best["replace"][0]["ingredient"]
    assert page.all("button", name="take", value=take)
    answer = web.get(f"/bench/accept?s={s}&at=6&take={take}")
    after = state(answer.headers["location"])
    checked = web.get(f"/bench.json?s={after}").json()
    got = [(line["ingredient"], round(line["percent"], 3)) for line in checked["lines"]]
    assert got == [(line["ingredient"], round(line["percent"], 3)) for line in best["formula"]]
    bench = Page(web.get(answer.headers["location"]).text)
    assert f"{best['replace'][0]['inci']}" in bench.text and "What was changed" in bench.text
    formula = unpack(after).formula
    assert [line.qs for line in formula.lines].count(True) == 1
    assert "instead of Cera Alba" in str(formula.versions[-1]["change"])

    compared = web.get(f"/bench/compare.json?s={after}").json()
    states = {r["ingredient"]: r["change"] for r in compared["lines"]}
    assert states["cera-alba"] == "gone" and states[take] == "new"
    change = compared["effects"]["consistency_25c"]
    told = best["effects"]["consistency_25c"]
    assert change["after"] == pytest.approx(told["after"], rel=0.01)
    assert not Page(web.get(f"/bench/compare?s={after}").text).faults

    undone = web.get(f"/bench?s={after}&do=undo").headers["location"]
    assert state(undone) == s


def test_replacing_with_an_id_that_has_a_grade_keeps_the_grade(web):
    text = "system = 'w/o'\n" + "".join(
        f'[[line]]\ningredient = "{name}"\npercent = {percent}\n'
        for name, percent in (("Water", 60), ("Isopropyl Myristate", 30), ("Sorbitan Oleate", 10))
    )
    s = state(web.get("/bench", params={"formula": text}).headers["location"])
    tree = web.get(f"/bench/replace.json?s={s}&at=3").json()
    for swap in tree["swaps"]:
        take = swap["replace"][0]["ingredient"]
        after = state(web.get(f"/bench/accept?s={s}&at=3&take={take}").headers["location"])
        assert web.get(f"/bench.json?s={after}").json()["lines"][2]["ingredient"] == take


def test_files_taken_away_read_back_as_the_same_formula(web, demo_text):
    s = web.start()
    wanted = parse_formula(demo_text)
    toml = web.get(f"/bench/take?s={s}&as=toml")
    table = web.get(f"/bench/take?s={s}&as=csv")
    for answer, kind in ((toml, "toml"), (table, "csv")):
        assert answer.status_code == 200
        name = f'attachment; filename="oyster-barrier-cream.{kind}"'
        assert answer.headers["content-disposition"] == name
        read = parse_formula(answer.text, f"cream.{kind}")
        assert [(x.given, x.percent, x.stage, x.qs) for x in read.lines] == [
            (x.given, x.percent, x.stage, x.qs) for x in wanted.lines
        ]
    assert tomllib.loads(toml.text)["name"] == "Oyster barrier cream"
    book = web.get(f"/bench/take?s={s}&as=xlsx")
    read = parse_formula(decode(book.content, "cream.xlsx"), "cream.xlsx")
    assert [(x.given, x.percent, x.stage, x.qs) for x in read.lines] == [
        (x.given, x.percent, x.stage, x.qs) for x in wanted.lines
    ]
    tree = web.get(f"/bench/take?s={s}&as=json")
    assert tree.json() == web.get(f"/bench.json?s={s}").json()


def test_a_table_for_spreadsheets_holds_no_sums(web):
    lines = ["Water,90", '"=1+1",4', '"+cmd",3', '"@sum",3']
    s = state(
        web.get("/bench", params={"formula": "ingredient,percent\n" + "\n".join(lines)}).headers[
            "location"
        ]
    )
    rows = list(csv.reader(io.StringIO(web.get(f"/bench/take?s={s}&as=csv").text)))
    assert not [r[0] for r in rows if re.match(r"[=+@-]", r[0])]
    book = load_workbook(io.BytesIO(web.get(f"/bench/take?s={s}&as=xlsx").content))
    assert not [c for row in book.active.iter_rows() for c in row if c.data_type == "f"]


def test_the_sheet_of_a_batch_is_a_workbook_too(web):
    answer = web.get(f"/bench/sheet?s={web.start()}&batch=500g&as=xlsx")
    assert answer.headers["content-disposition"].endswith('"oyster-barrier-cream-batch.xlsx"')
    cells = [c.value for row in load_workbook(io.BytesIO(answer.content)).active for c in row]
    assert 500 in cells and "Make" in cells


def upload(web, name, content):
    return web.post("/bench", files={"file": (name, content)}, data={"formula": ""})


def test_a_file_is_put_on_the_bench(web, demo_text):
    for name, content in (
        ("cream.toml", demo_text.encode()),
        (
            "cream.xlsx",
            web.get(f"/bench/take?s={web.start()}&as=xlsx").content,
        ),
        (
            "cream.csv",
            "Name;Prozent\nWasser;ad 100\nGlycerin;5,0\nBienenwachs;2\n".encode("cp1252"),
        ),
        ("cream.csv", "ingredient,percent\nWater,95\nGlycerin,5\n".encode("utf-16")),
    ):
        answer = upload(web, name, content)
        assert answer.status_code == 303, Page(answer.text).text
        assert unpack(state(answer.headers["location"])).origin == name
        assert web.get(answer.headers["location"]).status_code == 200


def archive(*parts):
    """Return an archive of parts, squeezed hard."""
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as found:
        for name, content in parts:
            found.writestr(name, content)
    return raw.getvalue()


BOOK = ("xl/workbook.xml", b"<workbook/>")
BOMB = archive(BOOK, ("xl/worksheets/sheet1.xml", b"<c>" + b" " * 60_000_000))
ENTITIES = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><x>&b;</x>'


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("swells.xlsx", BOMB),
        ("entities.xlsx", archive(BOOK, ("xl/worksheets/sheet1.xml", ENTITIES))),
        ("macro.xlsm", archive(BOOK, ("xl/vbaProject.bin", b"\xd0\xcf" * 40))),
        ("other.xlsx", archive(("readme.txt", b"no workbook"))),
        ("cut.xlsx", archive(BOOK, ("x.xml", b"<x/>"))[:-30]),
        ("bomb.xlsx", b"PK\x03\x04" + b"\0" * 2000),
        ("macro.xls", b"\xd0\xcf\x11\xe0" + b"\0" * 2000),
        ("picture.png", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8),
        ("empty.toml", b""),
        ("blank.csv", b"\n\n  \n"),
        ("long.csv", b"ingredient,percent\n" + b"Water,0.01\n" * 10_000),
        ("long.toml", b"[[line]]\ningredient='w'\npercent=0.01\n"[:26] * 9_000),
        ("deep.toml", b"a = " + b"[" * 5_000),
        ("half.toml", b'[[line]]\ningredient = "Water'),
        ("unknown.csv", b"ingredient,percent\nQqqq,50\nWwww,50\n"),
        ("zero.csv", b"ingredient,percent\nWater,0\n"),
        ("name.csv", b"ingredient,percent\n" + b"W" * 5_000 + b",100\n"),
    ],
)
def test_a_file_that_is_no_formula_is_told_and_nothing_breaks(web, name, content):
    answer = upload(web, name, content)
    assert answer.status_code == 400
    page = Page(answer.text)
    assert not page.faults
    assert len(answer.content) < 20_000
    assert web.get("/").status_code == 200
    if name in {"unknown.csv", "zero.csv", "name.csv"}:  # no formula, yet a list of stock
        return
    for path in ("/own/add", "/own/shelf"):
        assert web.post(path, files={"file": (name, content)}).status_code in {400, 404}
    assert not any(web.get("/own.json").json()["counts"].values())


def big_formula(count=120):
    """Return a formula that cannot be squeezed: names without a pattern."""
    names = (hashlib.sha256(str(n).encode()).hexdigest() for n in range(count))
    lines = [f"{name},0.01,powder" for name in names]
    return "ingredient,percent,stage\nWater,q.s.,water\nGlycerin,5,water\n" + "\n".join(lines)


def test_a_formula_too_long_for_a_link_is_carried_by_forms(web):
    page_text = web.post("/bench", files={"file": ("big.csv", big_formula())}, data={"formula": ""})
    assert page_text.status_code == 200
    page = Page(page_text.text)
    assert not page.faults
    assert page.all("form", id="sheet")[0]["method"] == "post"
    token = page.all("input", name="csrftoken")[0]["value"]
    packed = page.all("input", name="s")[0]["value"]
    assert len(packed) > LONGEST_LINK
    cookies = {"ds_csrftoken": token}
    form = {"s": packed, "csrftoken": token}

    replaced = web.post("/bench/replace", data={**form, "at": "2"}, cookies=cookies)
    assert replaced.status_code == 200
    found = Page(replaced.text)
    assert not found.faults
    take = found.all("button", name="take")[0]["value"]
    accepted = web.post("/bench/accept", data={**form, "at": "2", "take": take}, cookies=cookies)
    assert accepted.status_code == 200
    after = Page(accepted.text).all("input", name="s")[0]["value"]
    assert unpack(after).past[-1].text.startswith("ingredient,percent")
    for path in ("/bench/compare", "/bench/take", "/bench"):
        answer = web.post(path, data={**form, "s": after}, cookies=cookies)
        assert answer.status_code == 200, path


def test_findings_stand_beside_the_lines_they_concern(web):
    text = "ingredient,percent\nWater,q.s.\nXanthan Gum,0.5\nIsopropyl Myristate,30\n"
    text += "Sorbitan Oleate,4\n"
    s = state(web.get("/bench", params={"formula": text}).headers["location"])
    tree = web.get(f"/bench.json?s={s}").json()
    about_gum = [f for f in tree["findings"] if 2 in f["lines"]]
    assert about_gum
    html = web.get(f"/bench?s={s}").text
    entry = html.split('class="entry')[2]
    for finding in about_gum:
        if finding["lines"][0] == 2:
            assert finding["message"].split("'")[0][:30] in entry


def test_the_q_s_line_shows_what_fills_up(opened):
    assert re.search(r"50\.9 %: Aqua", opened.text)
