"""The user's own on the pages: put in, seen everywhere, measured, taken back; nothing unasked."""

import io
from pathlib import Path

import pytest

from kb.own.content import read_content
from kb.web.app import make_app
from kb.web.plugin import crew_of
from tests.own.conftest import FACTS, MATERIALS, STOCK
from tests.web.conftest import Visitor
from tests.web.reading import Page


@pytest.fixture(scope="module")
def mine(base_path, tmp_path_factory):
    """A visitor whose own file is filled through the pages alone."""
    own = tmp_path_factory.mktemp("mine") / "own.sqlite"
    app = make_app(base_path, own=own)
    visitor = Visitor(app)
    visitor.own = own
    assert not own.exists()
    for list_ in (MATERIALS, FACTS):
        answer = visitor.post("/own/add", data={"list": list_})
        assert answer.status_code == 303, Page(answer.text).text
    answer = visitor.post("/own/shelf", files={"file": ("stock.csv", STOCK.encode())})
    assert answer.status_code == 303, Page(answer.text).text
    yield visitor
    crew_of(app).close()
    visitor.loop.close()


def test_looking_writes_nothing(web):
    crew = crew_of(web.app)
    for path in ("/own", "/own.json", "/own/take", f"/bench/measured?s={web.start()}"):
        assert web.get(path).status_code == 200
    assert not Path(crew.desk.own).exists()


def test_what_was_put_in_is_listed(mine):
    page = Page(mine.get("/own").text)
    for words in ("Valley beeswax", "Meadow Seed Butter", "the beekeeper", "18.5 EUR"):
        assert words in page.text, words
    assert "Your values for our materials" in page.text
    tree = mine.get("/own.json").json()
    assert [m["ingredient"] for m in tree["materials"]] == [
        "cera-alba--own-valley-beeswax",
        "own-meadow-butter",
    ]


def test_own_materials_are_found_shown_and_play_their_roles(mine):
    found = mine.get("/find.json?q=valley+beeswax").json()["matches"][0]
    assert found["ingredient"] == "cera-alba--own-valley-beeswax"
    shown = Page(mine.get("/material/own-meadow-butter").text)
    assert "Meadow Seed Butter" in shown.text and "sheet 2025" in shown.text
    players = [p["ingredient"] for p in mine.get("/roles/butter.json").json()["players"]]
    assert "own-meadow-butter" in players
    assert mine.get("/suits?name=meadow+butter&system=w%2Fo").status_code == 200


def test_own_values_win(mine):
    tree = mine.get("/own.json").json()["values"]
    jojoba = next(v for v in tree if v["property"] == "viscosity")
    assert jojoba["value"] == 52 and jojoba["ours"] != 52


def test_the_shelf_is_a_filter_and_says_what_is_in_stock(mine):
    tree = mine.get("/roles/butter.json?shelf=only").json()
    names = {p["ingredient"] for p in tree["players"]}
    assert "butyrospermum-parkii-butter" in names
    assert not any("cacao" in n for n in names)  # used up
    page = mine.get("/roles/butter").text
    assert "in stock" in page


def test_a_line_is_replaced_from_the_shelf_alone(mine):
    s = mine.start()
    tree = mine.get(f"/bench/replace.json?s={s}&at=6&shelf=only").json()
    away = [r for r in tree["rejected"] if r["rule"] == "not-on-shelf"]
    assert away
    allowed = {"cera-alba", "butyrospermum-parkii-butter"}
    for one in tree["swaps"]:
        assert one["replace"][0]["ingredient"].split("--")[0] in allowed
    page = Page(mine.get(f"/bench/replace?s={s}&at=6&shelf=only").text)
    assert page.all("select", id="shelf")


def test_faults_of_a_list_are_all_named_and_nothing_is_taken(mine):
    before = read_content(mine.own)
    bad = "name,inci,melting_point\nNew wax,Cera Alba,very hot\nOther,Nonsense Inci,62\n"
    answer = mine.post("/own/add", data={"list": bad})
    assert answer.status_code == 400
    page = Page(answer.text)
    assert "very hot" in page.text and "nothing was taken" in page.text
    assert read_content(mine.own) == before
    for name, content in (("x.xlsx", b"PK\x03\x04" + b"\0" * 99), ("x.csv", b"\0\1\2"), ("", b"")):
        assert mine.post("/own/add", files={"file": (name, content)}).status_code == 400
    assert read_content(mine.own) == before


def test_a_shelf_comes_out_of_a_workbook_too(mine):
    from openpyxl import Workbook

    book = Workbook()
    for row in (["name", "stock"], ["Shea butter", "2 kg"]):
        book.active.append(row)
    raw = io.BytesIO()
    book.save(raw)
    answer = mine.post("/own/shelf", files={"file": ("stock.xlsx", raw.getvalue())})
    assert answer.status_code == 303, Page(answer.text).text
    assert [r["name"] for r in mine.get("/own.json").json()["shelf"]] == ["Shea butter"]
    assert mine.post("/own/undo", data={"do": "undo"}).status_code == 303
    assert len(mine.get("/own.json").json()["shelf"]) == 4


def test_a_measurement_is_kept_beside_its_prediction_and_taken_back(mine):
    s = mine.start()
    form = {"s": s, "consistency": "42.000,5", "ph": "5,4", "age": "24h", "spindle": "T-C"}
    wrong = mine.post("/bench/keep", data={**form, "ph": "20"})
    assert wrong.status_code == 400 and "ph" in Page(wrong.text).text
    assert mine.post("/bench/keep", data={"s": s}).status_code == 400
    kept = mine.post("/bench/keep", data=form | {"consistency": "42000"})
    assert kept.status_code == 303
    page = Page(mine.get(kept.headers["location"]).text)
    for words in ("42,000", "after 24 h", "T-C", "Predicted", "measured is ×"):
        assert words in page.text, words
    other = mine.start("deck-balm")
    assert "Nothing is kept" in Page(mine.get(f"/bench/measured?s={other}").text).text
    assert "42,000" in Page(mine.get("/own").text).text
    assert mine.post("/own/undo", data={"do": "undo"}).status_code == 303
    assert not mine.get(f"/bench/measured.json?s={s}").json()["measured"]


def test_all_of_it_is_taken_away_and_reads_in_again(mine, tmp_path):
    text = mine.get("/own/take")
    assert text.headers["content-disposition"] == 'attachment; filename="my-own.toml"'
    before = read_content(mine.own)
    answer = mine.post("/own/add", files={"file": ("my-own.toml", text.content)})
    assert answer.status_code == 303, Page(answer.text).text
    assert read_content(mine.own) == before


@pytest.mark.parametrize("of", ["materials", "facts", "edges", "limits", "shelf"])
def test_lists_to_fill_in(web, of):
    answer = web.get(f"/own/take?of={of}")
    assert answer.status_code == 200
    assert answer.headers["content-disposition"] == f'attachment; filename="{of}.csv"'


def test_a_material_is_removed_and_brought_back(mine):
    assert mine.post("/own/remove", data={"name": "own-meadow-butter"}).status_code == 303
    assert mine.get("/material/own-meadow-butter").status_code == 404
    assert mine.post("/own/undo", data={"do": "undo"}).status_code == 303
    assert mine.get("/material/own-meadow-butter").status_code == 200
    assert mine.post("/own/remove", data={"name": "no such"}).status_code == 404


def test_a_damaged_file_is_told_stays_and_the_server_lives(base_path, tmp_path):
    own = tmp_path / "own.sqlite"
    own.write_bytes(b"this is no database at all" * 40)
    app = make_app(base_path, own=own)
    visitor = Visitor(app)
    try:
        for path in ("/", "/bench?demo=deck-balm", "/own.json"):
            answer = visitor.get(path)
            assert answer.status_code == 503
            assert "own" in answer.text and "Traceback" not in answer.text
        assert own.read_bytes().startswith(b"this is no database")
        own.unlink()
        assert visitor.get("/").status_code == 200
    finally:
        crew_of(app).close()
        visitor.loop.close()
