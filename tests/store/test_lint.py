from pathlib import Path

import pytest

from kb.errors import SeedError
from kb.store.build import build
from kb.store.lint import check_digit_holds, lint
from kb.store.seed import read_seed

from .tiny import TINY


def line_of(file, start):
    rows = TINY[file].splitlines()
    return next(n for n, row in enumerate(rows, 1) if row.startswith(start))


def change(folder, file, old, new):
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, (file, old)
    path.write_text(text.replace(old, new), encoding="utf-8", newline="\n")


def append(folder, file, row):
    with (folder / file).open("a", encoding="utf-8", newline="\n") as stream:
        stream.write(row + "\n")


def test_the_tiny_seed_is_clean(tiny):
    assert lint(read_seed(tiny)) == []


#: file, old text, new text, start of the line at fault, column, read, part of what is wanted
FAULTS = [
    ("materials/all.csv", "56-81-5", "56-81-6", "glyc", "cas", "56-81-6", "check digit"),
    ("materials/all.csv", "56-81-5", "1956-08-05", "glyc", "cas", "1956-08-05", "date"),
    ("materials/all.csv", "56-81-5", "5-Aug-56", "glyc", "cas", "5-Aug-56", "date"),
    ("materials/all.csv", "56-81-5", "56815", "glyc", "cas", "56815", "check digit"),
    (
        "materials/all.csv",
        "glycerin,Gl",
        "Glycerin,Gl",
        "glyc",
        "material",
        "Glycerin",
        "lower-case",
    ),
    ("materials/all.csv", "glycerin,Glycerin", "glycerin,", "glyc", "inci", "", "something"),
    ("materials/all.csv", "mixed,", "moon,", "glyc", "origin", "moon", "one of plant"),
    ("materials/all.csv", "palm-possible", "palmy", "glyc", "tags", "palm", "palmy"),
    ("materials/all.csv", "Oxide,coated", "Oxide,", "zinc-oxide--", "grade", "", "grade"),
    (
        "materials/all.csv",
        "zinc-oxide,",
        "zinc-white,",
        "zinc-oxide--",
        "material",
        "zinc-oxide--",
        "zinc-oxide as well",
    ),
    ("names.csv", "water,aqua", "water,aquq", "water", "material", "aquq", "materials"),
    ("names.csv", "water,aqua", "glycérine,aqua", "water", "name", "glycérine", "line 4"),
    (
        "names.csv",
        "water,aqua",
        "Cera alba,aqua",
        "water",
        "name",
        "Cera alba",
        "INCI name of cera-alba",
    ),
    ("names.csv", "water,aqua", "水,aqua", "water", "name", "水", "Latin letters"),
    ("names.csv", "water,aqua", "wa  ter,aqua", "water", "name", "wa  ter", "stray spaces"),
    ("names.csv", "water,aqua", "wa’ter,aqua", "water", "name", "wa’ter", "plain quotes"),
    ("names.csv", "water,aqua", "“water”,aqua", "water", "name", "“water”", "plain quotes"),
    ("names.csv", "water,aqua", "water,aqua,", "water", "", "5 cells", "4 cells"),
    ("names.csv", "water,aqua,en,common", "water,aqua,en", "water", "", "3 cells", "4 cells"),
    (
        "facts/density.csv",
        "0.997,,,g/ml",
        '"0,997",,,g/ml',
        "aqua",
        "value",
        "0,997",
        "decimal point",
    ),
    (
        "facts/density.csv",
        "0.997,,,g/ml",
        "9.97e-1,,,g/ml",
        "aqua",
        "value",
        "9.97e-1",
        "plain number",
    ),
    ("facts/density.csv", "0.997,,,g/ml", "0.997,,,kg/l", "aqua", "unit", "kg/l", "g/ml"),
    ("facts/density.csv", "0.997,,,g/ml", "997,,,g/ml", "aqua", "value", "997", "0.5 to 8"),
    (
        "facts/density.csv",
        "0.997,,,g/ml",
        "2024-05-01,,,g/ml",
        "aqua",
        "value",
        "2024-05-01",
        "date",
    ),
    ("facts/density.csv", "0.997,,,g/ml", ",,,g/ml", "aqua", "value", "", "a value or a range"),
    (
        "facts/density.csv",
        "0.915,0.91,0.92",
        "0.915,0.92,0.91",
        "prunus",
        "value",
        "0.92 / 0.915",
        "low <= value",
    ),
    ("facts/density.csv", "25,pure", "2500,pure", "aqua", "temperature_c", "2500", "at most 300"),
    ("facts/density.csv", "25,pure", "25,", "aqua", "conditions", "", "something"),
    ("facts/density.csv", "pure,handbook", "pure,", "aqua", "source", "", "id of a source"),
    (
        "facts/density.csv",
        "pure,handbook",
        "pure,hearsay",
        "aqua",
        "source",
        "hearsay",
        "sources.csv",
    ),
    (
        "facts/density.csv",
        "pure,handbook,,memory",
        "pure,handbook,,rumour",
        "aqua",
        "evidence",
        "rumour",
        "published",
    ),
    (
        "facts/density.csv",
        "usual,,,common",
        "usual,handbook,,common",
        "prunus",
        "source",
        "handbook",
        "no source",
    ),
    ("facts/density.csv", "aqua,density", "aqua,hlb", "aqua", "property", "hlb", "only density"),
    (
        "facts/density.csv",
        "aqua,density",
        "aqua,weight",
        "aqua",
        "property",
        "weight",
        "properties.csv",
    ),
    ("facts/density.csv", "aqua,density", "agua,density", "aqua", "material", "agua", "materials"),
    ("plays/all.csv", "glycerin,polyol", "glycerin,poliol", "glyc", "role", "poliol", "roles.csv"),
    (
        "plays/all.csv",
        "glycerin,polyol",
        "glicerin,polyol",
        "glyc",
        "material",
        "glicerin",
        "materials",
    ),
    ("plays/all.csv", "polyol,2,10", "polyol,20,10", "glyc", "low", "20 / 10", "low <= high"),
    ("plays/all.csv", "polyol,2,10", "polyol,2,110", "glyc", "high", "110", "at most 100"),
    (
        "roles.csv",
        "powder,ingredient",
        "zinc-oxide,ingredient",
        "powder",
        "role",
        "zinc-oxide",
        "not an ingredient",
    ),
    (
        "roles.csv",
        "oil-part,ingredient",
        "oil-part,stabilising-wax",
        "oil-part",
        "parent",
        "oil-part",
        "no cycle",
    ),
    (
        "roles.csv",
        "surface-active,stab",
        "surface-active,other",
        "stabilising-wax,surf",
        "label",
        "otherilising wax",
        "one label",
    ),
    (
        "roles.csv",
        "powder,ingredient",
        "powder,ingrediant",
        "powder",
        "parent",
        "ingrediant",
        "roles.csv",
    ),
    ("role_traits.csv", "ratio,0.3,0.6", "ratio,,0.6", "fixed-oil", "tolerance", "", "something"),
    ("crystals.csv", "0.7,680", ",680", "cera", "share", "", "something"),
    ("crystals.csv", "0.7,680", "70,680", "cera", "share", "70", "at most 1"),
    ("structures.csv", "OCC(O)CO", "OCC(OCO", "glycerin", "smiles", "OCC(OCO", "a SMILES string"),
    ("structures.csv", "OCC(O)CO", "OCC)O(CO", "glycerin", "smiles", "OCC)O(CO", "a SMILES"),
    ("structures.csv", "OCC(O)CO", "C1CCO", "glycerin", "smiles", "C1CCO", "a SMILES"),
    ("structures.csv", "OCC(O)CO", "C3H8O3 pure", "glycerin", "smiles", "C3H8O3 pure", "a SMILES"),
    ("structures.csv", "OCC(O)CO", "", "glycerin", "smiles", "", "something"),
    ("fatty_acids.csv", "18:2,", "C18:2,", "prunus-oil,18:2", "acid", "C18:2", "such as 18:1"),
    ("fatty_acids.csv", "4,9", "9,4", "prunus", "low", "9 / 4", "low <= high"),
    ("fatty_acids.csv", "62,86", "6,8", "prunus", "high", "30 to 47 % in all", "100 %"),
    ("edges.csv", "role:polyol", "role:poliol", "role", "subject", "role:poliol", "known word"),
    ("edges.csv", "role:polyol", "polyol", "role", "subject", "polyol", "role:"),
    ("edges.csv", "tag:acid", "tag:acidic", "material", "object", "tag:acidic", "known word"),
    ("edges.csv", "tag:acid", "material:zinc", "material", "object", "material:zinc", "known word"),
    ("edges.csv", "w/o,,,,,It", "w/o,,,9,5,It", "material", "ph_low", "9 / 5", "ph_low <= ph_high"),
    ("edges.csv", "fails", "perhaps", "role", "verdict", "perhaps", "works"),
    ("limits/eu.csv", "zinc-oxide,eu", "zinc,eu", "zinc", "material", "zinc", "materials"),
    ("limits/eu.csv", "zinc-oxide,eu", "zinc-oxide,mars", "zinc", "jurisdiction", "mars", "eu, us"),
    ("limits/eu.csv", "uv-filter", "sunscreens", "zinc", "applies", "sunscreens", "leave-on"),
    ("properties.csv", "difference,1", "difference,", "hlb", "tolerance", "", "something"),
    ("properties.csv", "0,40,", "none,40,", "hlb", "low", "none", "plain number"),
    ("methods.csv", "Griffin 1949", "", "blend", "citation", "", "something"),
    ("sources.csv", "journal", "", "griffin", "kind", "", "something"),
    (
        "compositions.csv",
        "95,98",
        "98,95",
        "zinc-oxide--coated,zinc",
        "low",
        "98 / 95",
        "low <= high",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "start", "column", "read", "wanted"), FAULTS)
def test_every_fault_is_named_with_its_place(tiny, file, old, new, start, column, read, wanted):
    change(tiny, file, old, new)
    found = [
        p
        for p in lint(read_seed(tiny))
        if (p.file, p.line, p.column) == (file, line_of(file, start), column)
    ]
    assert any(read in p.read and wanted in p.wanted for p in found), found
    assert all(f"{file}:{p.line}" in str(p) and repr(p.read) in str(p) for p in found)
    with pytest.raises(SeedError):
        build(tiny, tiny / "kb.sqlite")
    assert not (tiny / "kb.sqlite").exists()


@pytest.mark.parametrize(
    ("file", "row"),
    [
        ("names.csv", "water,aqua,de,common"),
        ("facts/density.csv", "aqua,density,0.997,,,g/ml,25,pure,handbook,p. 3,memory,again"),
        ("plays/all.csv", "glycerin,polyol,1,5,1,,common practice,"),
        ("materials/more.csv", "aqua,Aqua,,,mineral,liquid,none,water,,"),
        (
            "edges.csv",
            "role:polyol,system:powder,works,x,,,,,,It wets the powder.,,common practice",
        ),
    ],
)
def test_a_row_that_stands_twice_names_the_first(tiny, file, row):
    header = TINY[file.replace("more", "all")].splitlines()[0]
    if not (tiny / file).exists():
        append(tiny, file, header)
    append(tiny, file, row)
    problems = [p for p in lint(read_seed(tiny)) if "already" in p.wanted]
    assert len(problems) == 1
    first, start = file.replace("more", "all"), row.split(",")[0]
    assert f"{first}:{line_of(first, start)}" in problems[0].wanted


def test_a_wrong_header(tiny):
    change(tiny, "names.csv", "name,material", "material,name")
    problems = lint(read_seed(tiny))
    assert [(p.file, p.line) for p in problems] == [("names.csv", 1)]
    assert "name,material,language,kind" in problems[0].wanted


@pytest.mark.parametrize(
    ("raw", "line", "wanted"),
    [
        (b"\xef\xbb\xbfname,material,language,kind\nwater,aqua,en,common\n", 1, "plain UTF-8"),
        (b"name,material,language,kind\nwasser,aqua,de,common\n\xe4l,aqua,de,common\n", 3, "UTF-8"),
        (b"name,material,language,kind\nwater,aqua,en,common\n\nh,aqua,en,common\n", 3, "one row"),
        (b"", 1, "header"),
        (b'name,material,language,kind\n"' + b"x" * 200_000 + b'",aqua,en,common', 2, "CSV"),
    ],
)
def test_files_that_are_not_plain_text(tiny, raw, line, wanted):
    (tiny / "names.csv").write_bytes(raw)
    problems = [p for p in lint(read_seed(tiny)) if p.file == "names.csv"]
    assert [p.line for p in problems] == [line]
    assert wanted in problems[0].wanted


def test_a_missing_file_and_an_empty_folder(tiny, tmp_path):
    (tiny / "edges.csv").unlink()
    (problem,) = lint(read_seed(tiny))
    assert (problem.file, problem.line) == ("edges.csv", 0)
    (tmp_path / "none").mkdir()
    assert len(lint(read_seed(tmp_path / "none"))) == 15


def test_a_file_that_cannot_be_read(tiny):
    (tiny / "edges.csv").unlink()
    (tiny / "policies" / "other.toml").mkdir()
    problems = lint(read_seed(tiny))
    assert [p.file for p in problems] == ["edges.csv", "policies/other.toml"]


@pytest.mark.parametrize(
    ("old", "new", "column"),
    [
        ('name = "vegan"', 'name = "vegetarian"', "name"),
        ("title =", "titel =", "titel"),
        ('title = "Nothing from animals"', "title = 5", "title"),
        ('evidence = "common practice"', 'evidence = "rumour"', "evidence"),
        ('["animal"]', '["animals"]', "forbid.origins"),
        ('["animal"]', '"animal"', "forbid.origins"),
        ('["animal"]', "[[1]]", "forbid.origins"),
        ('origins = ["animal"]', 'tags = ["horned"]', "forbid.tags"),
        ('origins = ["animal"]', 'materials = ["honey"]', "forbid.materials"),
        ('origins = ["animal"]', "colours = []", "forbid"),
        ('[forbid]\norigins = ["animal"]', "", "forbid"),
        ('[forbid]\norigins = ["animal"]', "forbid = 5", "forbid"),
        ("[forbid]", "[need]\nnatural_origin_index = 50\n[forbid]", "need.natural_origin_index"),
        ("[forbid]", "[unknown]\nask = 5\n[forbid]", "unknown.ask"),
        ("[forbid]", "[forbid", ""),
    ],
)
def test_bad_policies(tiny, old, new, column):
    change(tiny, "policies/vegan.toml", old, new)
    problems = lint(read_seed(tiny))
    assert problems
    assert {p.file for p in problems} == {"policies/vegan.toml"}
    assert column in {p.column for p in problems}


def test_a_bad_demo_formula(tiny):
    change(tiny, "formulas/demo.toml", "percent = 3", "percent = -3")
    (problem,) = lint(read_seed(tiny))
    assert (problem.file, problem.line) == ("formulas/demo.toml", 5)
    assert "-3" in problem.read


def test_all_faults_are_reported_at_once_in_file_order(tiny):
    change(tiny, "materials/all.csv", "56-81-5", "56-81-6")
    change(tiny, "facts/density.csv", "0.997,,,g/ml", "997,,,kg/l")
    change(tiny, "roles.csv", "oil-part,ingredient", "oil-part,stabilising-wax")
    (tiny / "names.csv").write_bytes(b"\xff")
    change(tiny, "policies/vegan.toml", '"animal"', '"animals"')
    problems = lint(read_seed(tiny))
    places = [(p.file, p.line, p.column) for p in problems]
    assert places == sorted(places)
    assert {p.file for p in problems} == {
        "materials/all.csv",
        "facts/density.csv",
        "roles.csv",
        "names.csv",
        "policies/vegan.toml",
    }
    with pytest.raises(SeedError) as caught:
        build(tiny, tiny / "kb.sqlite")
    assert f"{len(problems)} problems" in caught.value.message
    assert all(str(p) in caught.value.message for p in problems[:20])
    assert caught.value.code == 3 and "lint" in caught.value.fix


def test_a_longer_cycle_of_roles(tiny):
    change(tiny, "roles.csv", "surface-active,ingredient", "surface-active,stabilising-wax")
    cycles = {p.read for p in lint(read_seed(tiny)) if "cycle" in p.wanted}
    assert cycles == {"surface-active", "stabilising-wax"}


def test_check_digits():
    assert check_digit_holds("7732-18-5")
    for wrong in ("7732-18-4", "7732185", "", "7732-18-55", "a-18-5"):
        assert not check_digit_holds(wrong)


def test_line_ends_do_not_matter(tiny: Path):
    for path in tiny.rglob("*.csv"):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert lint(read_seed(tiny)) == []
