import random
import string

import pytest

from kb.formula.names import NEAR_SCORE, NameIndex, normalise

ROWS = [
    ("Glycerin", "glycerin", "inci"),
    ("PEG-20 Stearate", "peg-20-stearate", "inci"),
    ("PEG-40 Stearate", "peg-40-stearate", "inci"),
    ("Caprylic/Capric Triglyceride", "caprylic-capric-triglyceride", "inci"),
    ("Prunus Amygdalus Dulcis Oil", "prunus-amygdalus-dulcis-oil", "inci"),
    ("Butyrospermum Parkii Butter", "butyrospermum-parkii-butter", "inci"),
    ("Sodium Carbonate", "sodium-carbonate", "inci"),
    ("Magnesium Sulfate", "magnesium-sulfate", "inci"),
    ("Ethylcellulose", "ethylcellulose", "inci"),
    ("Cetyl Alcohol", "cetyl-alcohol", "inci"),
    ("Cyclotetrasiloxane", "cyclotetrasiloxane", "inci"),
    ("Polyglyceryl-3 Laurate", "polyglyceryl-3-laurate", "inci"),
    ("Glyceryl Caprate", "glyceryl-caprate", "inci"),
    ("glyceryl-stearate--90-mono", "glyceryl-stearate--90-mono", "id"),
    ("Süßmandelöl", "prunus-amygdalus-dulcis-oil", "synonym"),
    ("shea butter", "butyrospermum-parkii-butter", "synonym"),
    ("α-tocopherol", "tocopherol", "synonym"),
    ("Huile d'amande douce", "prunus-amygdalus-dulcis-oil", "synonym"),
    ("56-81-5", "glycerin", "registry"),
    ("9004-99-3", "peg-20-stearate", "registry"),
    ("9004-99-3", "peg-40-stearate", "registry"),
]


@pytest.fixture(scope="module")
def index():
    return NameIndex.from_rows(ROWS)


@pytest.mark.parametrize(
    ("written", "material", "by"),
    [
        ("Glycerin", "glycerin", "inci"),
        ("  GLYCERIN ", "glycerin", "inci"),
        ("56-81-5", "glycerin", "registry"),
        ("56\u201181\u20115", "glycerin", "registry"),
        ("PEG 20 stearate", "peg-20-stearate", "inci"),
        ("peg-20-stearate", "peg-20-stearate", "inci"),
        ("caprylic capric triglyceride", "caprylic-capric-triglyceride", "inci"),
        ("Caprylic / Capric Triglyceride", "caprylic-capric-triglyceride", "inci"),
        ("sussmandelol", "prunus-amygdalus-dulcis-oil", "synonym"),
        ("SÜSSMANDELÖL", "prunus-amygdalus-dulcis-oil", "synonym"),
        ("Su\u0308ßmandelo\u0308l", "prunus-amygdalus-dulcis-oil", "synonym"),
        ("Huile d’amande douce", "prunus-amygdalus-dulcis-oil", "synonym"),
        ("Alpha-Tocopherol", "tocopherol", "synonym"),
        ("Magnesium Sulphate", "magnesium-sulfate", "inci"),
        ("glyceryl-stearate--90-mono", "glyceryl-stearate--90-mono", "id"),
    ],
)
def test_exact_names_in_every_spelling(index, written, material, by):
    match = index.resolve(written).match
    assert (match.material, match.by, match.score) == (material, by, 100.0)


@pytest.mark.parametrize(
    ("written", "material", "by"),
    [
        ("Glycerin (vegetable)", "glycerin", "without brackets"),
        ("Glycerin [99.5 %]", "glycerin", "without brackets"),
        ("Organic Shea Butter", "butyrospermum-parkii-butter", "without qualifier"),
        ("Shea butter, refined, deodorised", "butyrospermum-parkii-butter", "without qualifier"),
        ("Softener XY (Glycerin)", "glycerin", "in brackets"),
        ("Glicerin", "glycerin", "near"),
        ("Shea Buter", "butyrospermum-parkii-butter", "near"),
        ("Butter, Shea", "butyrospermum-parkii-butter", "near"),
        ("Bio Shea Buter", "butyrospermum-parkii-butter", "near"),
        ("Caprylic/Capric Triglycerid", "caprylic-capric-triglyceride", "near"),
        ("PEG20 stearate", "peg-20-stearate", "near"),
    ],
)
def test_what_is_not_exact_is_reported(index, written, material, by):
    match = index.resolve(written).match
    assert (match.material, match.by) == (material, by)
    assert NEAR_SCORE <= match.score < 100


@pytest.mark.parametrize(
    "written",
    [
        *(
            "PEG-30 stearate",
            "PEG-200 stearate",
            "PEG stearate",
            "PEG-4 stearate",
            "PEG-2 0 stearate",
        ),
        *("Sodium Bicarbonate", "Methylcellulose", "Dicetyl Alcohol", "Cyclopentasiloxane"),
        *("Sodium Carbonite", "Polyethylcellulose", "Isocetyl Alcohol"),
        *("Polyglyceryl-3 Caprate", "Glyceryl Laurate", "Shea Butter Ethyl Esters", "Butter"),
        *("Softener (Glycerin) (Cetyl Alcohol)", "", " ", "水", "()", "%", "-", "7732-18-5"),
    ],
)
def test_another_substance_is_never_taken_for_ours(index, written):
    assert index.resolve(written).match is None


def test_digits_never_change(base):
    for n in range(1, 201):
        match = base.names.resolve(f"PEG-{n} stearate").match
        assert match is None or match.material == f"peg-{n}-stearate"
    assert base.names.resolve("PEG-20 stearat").match.material == "peg-20-stearate"


def test_a_registry_number_of_several_materials_is_ambiguous(index, base):
    answer = index.resolve("9004-99-3")
    assert answer.match is None
    assert {m.material for m in answer.nearest} == {"peg-20-stearate", "peg-40-stearate"}
    shared = base.names.resolve(base.materials["peg-40-stearate"].cas)
    assert shared.match is None and len(shared.nearest) == 3


def test_an_ambiguous_name_gives_the_three_nearest(base):
    answer = base.names.resolve("PEG-30 stearate")
    assert answer.match is None
    assert len({m.material for m in answer.nearest}) == 3
    assert all("stearate" in m.material for m in answer.nearest)


def test_a_near_match_names_its_rivals(base):
    answer = base.names.resolve("glyceryl sterate")
    assert answer.match.material == "glyceryl-stearate" and answer.match.by == "near"
    assert answer.nearest[0] == answer.match and len(answer.nearest) == 3


def test_two_equally_near_names_are_not_decided():
    index = NameIndex.from_rows([("Cetyl Wux", "a", "inci"), ("Cetyl Wax", "b", "inci")])
    assert index.resolve("Cetyl Wex").match is None


def test_the_first_row_of_a_name_wins():
    index = NameIndex.from_rows([("Wax", "mine", "synonym"), ("wax", "ours", "synonym")])
    assert index.resolve("WAX").match.material == "mine"


def test_search_finds_by_beginning_by_word_and_by_set_of_words(base):
    assert base.names.search("glycer", 5)[0].material == "glycerin"
    assert "squalane" in {m.material for m in base.names.search("squal", 5)}
    found = [m.material for m in base.names.search("almond sweet oil", 5)]
    assert "prunus-amygdalus-dulcis-oil" in found
    assert base.names.search("", 5) == ()
    assert len(base.names.search("oil", 7)) == 7


def every_name(base):
    records = base.records
    rows = {(m.inci, m.id) for m in records.materials if not m.grade}
    rows |= {(name, material) for name, material, _ in records.names}
    return sorted(row for row in rows if len(normalise(row[0])) >= 6)


def misspelt(rng, name):
    text = name
    for _ in range(rng.choice([1, 2])):
        place, kind = rng.randrange(len(text)), rng.randrange(4)
        letter = rng.choice(string.ascii_lowercase)
        if kind == 0:
            text = text[:place] + text[place + 1 :]
        elif kind == 1:
            text = text[:place] + letter + text[place:]
        elif kind == 2:
            text = text[:place] + letter + text[place + 1 :]
        elif place + 1 < len(text):
            text = text[:place] + text[place + 1] + text[place] + text[place + 2 :]
    return text


def test_misspelt_names_are_found_first(base):
    rng = random.Random(20)
    first = near = 0
    wrong = []
    for name, _ in rng.sample(every_name(base), 200):
        written = misspelt(rng, name)
        meant = base.names.resolve(name).match.material
        first += base.names.search(written, 1)[0].material == meant
        match = base.names.resolve(written).match
        near += match is not None
        if match and match.score < 100 and match.material != meant:
            wrong.append((name, written, match))
    print(f"misspelt: {first / 2:.1f} % found first, {near / 2:.1f} % read, {len(wrong)} misread")
    assert first / 200 >= 0.97
    assert near / 200 >= 0.75
    assert len(wrong) <= 1, wrong


def test_names_of_materials_we_do_not_have_are_not_misread(base):
    """Take one material out of the base: its name must not be read as another material's."""
    every = base.names._exact
    names = sorted(m.inci for m in base.materials.values() if not m.grade)
    misread = []
    for inci in random.Random(4).sample(names, 200):
        material = base.names.resolve(inci).match.material
        others = {key: row for key, row in every.items() if row[0].split("--")[0] != material}
        match = NameIndex(others).resolve(inci).match
        if match is not None:
            misread.append((inci, match))
    print(f"names of absent materials: {len(misread)} of 200 misread")
    assert len(misread) <= 2, misread


def test_every_synonym_leads_home(base):
    for name, material, _ in base.records.names:
        assert base.names.resolve(name).match.material.split("--")[0] == material.split("--")[0]
