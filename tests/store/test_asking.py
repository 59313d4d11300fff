import pytest

from kb.store.asking import conflicts, coverage, facts_of, method_of, property_of, traits_using
from kb.store.opening import connect, open_names, open_snapshot


@pytest.fixture
def connection(tiny_path):
    opened = connect(tiny_path)
    yield opened
    opened.close()


def test_facts_come_with_their_citation(connection):
    facts = facts_of(connection, "cera-alba")
    assert [f["property"] for f in facts] == ["hlb", "hlb", "melting_point", "melting_point"]
    by_source = {f["source"]: f["citation"] for f in facts}
    assert by_source["griffin-1949"].startswith("Griffin") and by_source[None] is None


def test_a_grade_shows_its_generic_facts_too(connection):
    found = {f["material"] for f in facts_of(connection, "zinc-oxide--coated")}
    assert found == {"zinc-oxide", "zinc-oxide--coated"}
    assert facts_of(connection, "moon") == []


def test_methods_properties_and_traits(connection):
    assert method_of(connection, "hlb")["equation"] == "mass mean"
    assert method_of(connection, "moonlight") == {}
    assert property_of(connection, "density")["unit"] == "g/ml"
    assert property_of(connection, "moonlight") is None
    assert traits_using(connection, "viscosity") == ["fixed-oil"]


def test_coverage(connection):
    found = coverage(connection)
    assert found["counts"]["material"] == 7
    assert sum(found["evidence"].values()) == found["counts"]["fact"]
    assert found["roles"]["fixed-oil"] == {"players": 2, "traits_known": 1.0}
    assert found["properties"]["density"] == 4


def test_facts_that_disagree_beyond_tolerance_are_listed(connection):
    found = {(c["material"], c["property"]) for c in conflicts(connection)}
    assert found == {("cera-alba", "hlb"), ("cera-alba", "melting_point")}


def test_names_alone_resolve_as_the_whole_base_does(base, base_path):
    names = open_names(base_path)
    whole = open_snapshot(base_path)
    assert names.build == whole.build
    for text in ("Beeswax", "PEG-30 stearate", "9004-99-3", "glyceryl sterate", "56-81-5"):
        assert names.index.resolve(text) == whole.names.resolve(text)
    assert names.inci == {m.id: m.inci for m in whole.materials.values()}
