"""Lists of the user's: the same lint, the user's lines and columns, text that reads in again."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.errors import FormulaError, UnknownNameError
from kb.own.adding import Added, OwnProblemsError, add_file, find_own, remove_material
from kb.own.content import read_content, undo
from kb.own.lists import parse_table
from kb.own.template import template
from kb.own.text import from_text, is_own, to_text
from kb.own.world import open_world
from kb.store.snapshot import Snapshot
from tests.own.conftest import MATERIALS

HEAD = MATERIALS.splitlines()[0]


def add(path: Path, name: str) -> Added:
    return add_file(name, path, open_world)


def faults(path: Path, text: str) -> list[tuple[int, str, str, str]]:
    Path("bad.csv").write_text(text, "utf-8")
    with pytest.raises(OwnProblemsError) as caught:
        add(path, "bad.csv")
    assert caught.value.code == 3
    assert not any(read_content(path).values())
    return [(p.line, p.column, p.read, p.wanted) for p in caught.value.problems]


def test_a_grade_follows_ours_and_a_new_material_stands_alone(own: Path) -> None:
    added = add(own, "materials.csv")
    assert added.materials == ["cera-alba--own-valley-beeswax", "own-meadow-butter"]
    assert added.counts == {"composition": 1, "fact": 2, "material": 2, "name": 3, "play": 1}
    part = read_content(own)["composition"][0]
    assert (part["part"], part["low"], part["high"]) == ("cera-alba", "2", "4")


def test_given_again_it_replaces_what_stood_there(own: Path) -> None:
    add(own, "materials.csv")
    Path("facts2.csv").write_text(
        "material,property,value,temperature_c\nMeadow butter,density,0.9,25\n", "utf-8"
    )
    add(own, "facts2.csv")
    Path("again.csv").write_text(
        "name,form,charge,phase,origin,roles,iodine_value\n"
        "Meadow butter,semisolid,none,oil,plant,butter 1-5,40\n",
        "utf-8",
    )
    add(own, "again.csv")
    content = read_content(own)
    mine = {
        f["property"]: f["value"] for f in content["fact"] if f["material"] == "own-meadow-butter"
    }
    assert mine == {"density": "0.9", "iodine_value": "40"}
    assert [p["high"] for p in content["play"]] == ["5"]
    undo(own)
    assert [p["high"] for p in read_content(own)["play"]] == ["10"]


@pytest.mark.parametrize(
    ("row", "wanted"),
    [
        ("Thing,,8012-89-5,plant,waxy,none,oil,,butter,,,,,,", [(2, "cas", "8012-89-5", "digit")]),
        ("Thing,,,plnt,waxy,none,oil,,butter,,,,,,", [(2, "origin", "plnt", "plant")]),
        ("Thing,,,plant,,none,oil,,butter,,,,,,", [(2, "form", "", "something")]),
        ("Thing,,,plant,waxy,none,oil,,,,,,,,", [(2, "roles", "own-thing", "kb roles")]),
        ("Thing,,,plant,waxy,none,oil,,buttr 2-10,,,,,,", [(2, "roles", "buttr", "kb roles")]),
        ("Thing,,,plant,waxy,none,oil,,butter 10-2,,,,,,", [(2, "roles", "10 / 2", "<=")]),
        ("Thing,,,plant,waxy,none,oil,,butter 2-,,,,,,", [(2, "roles", "butter 2-", "levels")]),
        (
            "Thing,,,plant,waxy,none,oil,,butter,,,,,,-5",
            [(2, "viscosity@25", "-5", "0.1 to 10000000 mPa.s")],
        ),
        (
            'Thing,,,plant,waxy,none,oil,,butter,,,,,"6,5",',
            [(2, "melting_point", "6,5", "decimal point")],
        ),
        (
            "Thing,,,plant,waxy,none,oil,,butter,,,,,2024-05-06,",
            [(2, "melting_point", "2024-05-06", "not a date")],
        ),
        ("Thing,,,plant,waxy,none,oil,odd,butter,,,,,,", [(2, "tags", "odd", "known tags")]),
        ("Shea butter,,,,,,,,,,,,,,", [(2, "name", "Shea butter", "butyrospermum")]),
        (",Cera Alba,,,,,,,,,,,,,", [(2, "name", "", "name you use")]),
        ("Thing,,,plant,waxy,none,oil,,butter,Cera,,,,,", [(2, "composition", "Cera", "percent")]),
    ],
)
def test_faults_have_line_column_read_and_wanted(
    own: Path, row: str, wanted: list[tuple[int, str, str, str]]
) -> None:
    found = faults(own, f"{HEAD}\n{row}\n")
    assert [(line, column, read) for line, column, read, _ in found] == [w[:3] for w in wanted]
    for one, told in zip(found, wanted, strict=True):
        assert told[3] in one[3]


def test_all_faults_are_told_at_once(own: Path) -> None:
    found = faults(
        own,
        f"{HEAD},colr\nThing,,,plnt,waxy,none,oil,,butter,,,,,,,x\n"
        "Thing,,,plant,waxy,nne,oil,,butter,,,,,,,\n",
    )
    assert [(line, column) for line, column, _, _ in found] == [
        (1, "colr"),
        (2, "origin"),
        (3, "name"),
    ]


def test_a_fact_needs_a_known_material_property_and_unit(own: Path) -> None:
    head = "material,property,value,unit,temperature_c\n"
    assert [f[:3] for f in faults(own, head + "Jojobba oyl zz,density,0.9,,25\n")] == [
        (2, "material", "Jojobba oyl zz")
    ]
    assert [f[1] for f in faults(own, head + "Jojoba oil,densty,0.9,g/ml,25\n")] == ["property"]
    assert [f[1:3] for f in faults(own, head + "Jojoba oil,density,900,kg/m3,25\n")] == [
        ("unit", "kg/m3"),
        ("value", "900"),
    ]


def test_semicolons_with_decimal_commas(own: Path) -> None:
    sheet = parse_table("name;melting_point\nA;62,5\nB;62,5-65,1\n", "x")
    assert [line.get("melting_point") for line in sheet.lines] == ["62.5", "62.5-65.1"]


@pytest.mark.parametrize(
    "text", ["", "name\n", "name,name\na,b\n", "name,inci\na,b,c\n", "\0\1", "PK\x03\x04"]
)
def test_what_is_no_list_is_refused(own: Path, text: str) -> None:
    Path("bad.csv").write_text(text, "utf-8")
    with pytest.raises(FormulaError):
        add(own, "bad.csv")
    assert not own.exists()


@pytest.mark.parametrize("kind", ["materials", "facts", "edges", "limits"])
def test_a_template_filled_in_as_it_shows_is_taken(own: Path, kind: str) -> None:
    lines = template(kind).splitlines()
    shown = [line.removeprefix("#") for line in lines if not line.startswith("# ")]
    assert len(shown) >= 2
    Path("filled.csv").write_text("\n".join(shown) + "\n", "utf-8")
    add(own, "filled.csv")
    content = read_content(own)
    table = {"materials": "material", "facts": "fact", "edges": "edge", "limits": "limit_rule"}
    assert len(content[table[kind]]) == len(shown) - 1


def test_a_near_name_is_taken_as_new_and_told(own: Path) -> None:
    Path("near.csv").write_text(
        "name,inci,form,charge,phase,roles\n"
        "Wax of mine,Euphorbia Ceriferra Cera,waxy,none,oil,hard-wax\n",
        "utf-8",
    )
    added = add(own, "near.csv")
    assert added.materials == ["own-wax-of-mine"]
    assert "Euphorbia Cerifera" in added.remarks[0]


def test_two_names_that_make_one_id_do_not_replace_each_other(own: Path) -> None:
    row = "waxy,none,oil,hard-wax\n"
    for name in ("My wax 5", "My wax 5%"):
        Path("wax.csv").write_text(f"name,form,charge,phase,roles\n{name},{row}", "utf-8")
        if name.endswith("5"):
            add(own, "wax.csv")
        else:
            with pytest.raises(OwnProblemsError, match="another of yours"):
                add(own, "wax.csv")
    assert [r["name"] for r in read_content(own)["name"]] == ["My wax 5"]


def test_what_another_process_adds_meanwhile_is_looked_at(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kb.own import adding

    real, looks = adding.problems_of, []

    def slow(batch, stored):  # type: ignore[no-untyped-def]
        found = real(batch, stored)
        looks.append(len(stored["fact"]))
        if len(looks) == 1:
            monkeypatch.setattr(adding, "problems_of", real)
            add(own, "facts.csv")
            monkeypatch.setattr(adding, "problems_of", slow)
        return found

    monkeypatch.setattr(adding, "problems_of", slow)
    add(own, "materials.csv")
    assert looks == [0, 1]
    assert len(read_content(own)["fact"]) == 3


CELLS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12) | st.sampled_from(
    ["Cera Alba", "oil", "waxy", "butter 2-10", "5", "-1", "1e9", "=1+1", '"', "own--x", "'", "\0"]
)


@given(st.lists(st.lists(CELLS, min_size=15, max_size=16), max_size=4))
@settings(max_examples=40, suppress_health_check=list(HealthCheck))
def test_any_cells_are_taken_or_refused_with_a_place(base: Snapshot, rows: list[list[str]]) -> None:
    import csv
    import io

    from kb.own.given import from_sheet
    from kb.store.lint import _ID

    stream = io.StringIO()
    csv.writer(stream).writerows([HEAD.split(","), *rows])
    try:
        batch = from_sheet(parse_table(stream.getvalue(), "any.csv"), base)
    except FormulaError as error:
        assert error.where and error.fix
        return
    assert all(problem.line > 0 for problem in batch.problems)
    for one in batch.rows:
        if one.table == "materials":
            assert is_own(one.cells["material"]) and _ID.fullmatch(one.cells["material"])


def test_remove_and_find(own: Path, base: Snapshot) -> None:
    add(own, "materials.csv")
    add(own, "facts.csv")
    content = read_content(own)
    assert find_own("VALLEY  beeswax", content, base) == "cera-alba--own-valley-beeswax"
    assert find_own("jojoba oil", content, base) == "simmondsia-chinensis-seed-oil"
    for wrong in ("beeswax", "vally beeswax"):
        with pytest.raises(UnknownNameError):
            find_own(wrong, content, base)
    counts = remove_material("own-meadow-butter", own)
    assert counts == {"composition": 1, "fact": 1, "material": 1, "name": 2, "play": 1}
    left = read_content(own)
    assert [m["material"] for m in left["material"]] == ["cera-alba--own-valley-beeswax"]
    undo(own)
    assert read_content(own) == content


def test_our_ids_never_look_like_the_users(base: Snapshot) -> None:
    assert [m for m in base.materials if is_own(m)] == []
    assert [s for s in base.records.sources if s.startswith("own-")] == []


def test_everything_as_text_and_back(own: Path, tmp_path: Path) -> None:
    from kb.own.shelf import take_shelf

    add(own, "materials.csv")
    add(own, "facts.csv")
    take_shelf("stock.csv", own)
    before = read_content(own)
    Path("mine.toml").write_text(to_text(before), "utf-8")
    other = tmp_path / "other.sqlite"
    add(other, "mine.toml")
    assert read_content(other) == before


def test_text_is_linted_too(own: Path) -> None:
    add(own, "facts.csv")
    text = to_text(read_content(own))
    undo(own)
    for old, new, column in (
        ('value = "52"', 'value = "-2"', "value"),
        ('value = "52"', "value = 52", "value"),
        ('unit = "mPa.s"', 'unit = "cP"', "unit"),
        ("[[fact]]", '[[material]]\nmaterial = "cera-alba"\n\n[[fact]]', "material"),
        ('note = "', 'odd = "', "odd")
        if 'note = "' in text
        else ("[[fact]]", "[[fact]]\nodd=1", "odd"),
    ):
        Path("bad.toml").write_text(text.replace(old, new), "utf-8")
        with pytest.raises(OwnProblemsError) as caught:
            add(own, "bad.toml")
        assert column in {p.column for p in caught.value.problems}
        assert all(p.line > 0 for p in caught.value.problems)
    for text in ("form = 2\n", "form = ", "[[odd]]\na = 1\n", "fact = 1\n", "form = 1\n"):
        Path("bad.toml").write_text(text, "utf-8")
        with pytest.raises(FormulaError):
            add(own, "bad.toml")
    assert not any(read_content(own).values())


WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
NUMBERS = st.none() | st.floats(allow_nan=False, allow_infinity=False)


@given(
    st.dictionaries(
        st.tuples(WORDS.filter(bool), WORDS),
        st.tuples(NUMBERS, NUMBERS, NUMBERS, WORDS, WORDS, WORDS),
        max_size=6,
    )
)
@settings(max_examples=60, suppress_health_check=list(HealthCheck))
def test_any_words_and_numbers_survive_the_text(
    rows: dict[tuple[str, str], tuple[object, ...]],
) -> None:
    from kb.own.tables import OWN_TABLES, TABLES

    columns = OWN_TABLES["shelf"].columns
    shelf = [dict(zip(columns, (*key, *cells), strict=True)) for key, cells in rows.items()]
    content = {table.name: [] for table in TABLES} | {"shelf": shelf}
    batch, rest = from_text(to_text(content), "mine.toml")
    assert batch.problems == []
    assert rest["shelf"] == shelf
