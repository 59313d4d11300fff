import math

import networkx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.store.opening import connect
from kb.store.records import Crystal, Known, Material, Play, Records
from kb.store.snapshot import from_parts, to_parts


@pytest.fixture(params=["tiny", "real"])
def both(request):
    if request.param == "tiny":
        return request.getfixturevalue("tiny_base"), request.getfixturevalue("tiny_path")
    return request.getfixturevalue("base"), request.getfixturevalue("base_path")


@pytest.fixture
def rows(both):
    connection = connect(both[1])
    yield lambda sql: [tuple(row) for row in connection.execute(sql)]
    connection.close()


@pytest.fixture
def view(both):
    return both[0]


def test_best_facts_equal_sql(view, rows):
    stored = {
        (m, p): (value, low, high, evidence, source or "")
        for m, p, value, low, high, evidence, source in rows(
            "SELECT material, property, value, low, high, evidence, source FROM best_fact"
        )
    }
    seen = {
        (m, p): (k.value, k.low, k.high, k.evidence, k.source)
        for m, values in view.records.known.items()
        for p, k in values.items()
    }
    assert seen == stored
    assert all(low <= value <= high for value, low, high, _, _ in stored.values())


def test_the_best_fact_is_one_of_the_facts(rows):
    found = rows(
        """SELECT count(*) FROM best_fact JOIN fact ON fact.id = best_fact.fact
           WHERE fact.material != best_fact.material OR fact.property != best_fact.property
              OR fact.evidence != best_fact.evidence"""
    )
    assert found == [(0,)]
    without = rows("SELECT DISTINCT property FROM best_fact WHERE fact IS NULL")
    assert without == [("viscosity_slope",)]


def test_plays_equal_sql(view, rows):
    stored = sorted(rows("SELECT material, role, low, high, coalesce(strength, 1.0) FROM play"))
    seen = sorted(
        (m, p.role, p.low, p.high, p.strength)
        for m, plays in view.records.plays.items()
        for p in plays
    )
    assert sorted(seen, key=str) == sorted(stored, key=str)


def test_closure_equals_sql_and_networkx(view, rows):
    graph = networkx.DiGraph(rows("SELECT role, parent FROM role_parent"))
    graph.add_nodes_from(role for (role,) in rows("SELECT role FROM role"))
    stored = rows("SELECT role, ancestor FROM role_closure")
    for role in view.roles.values():
        above = networkx.descendants(graph, role.id) | {role.id}
        assert role.ancestors == above == {a for r, a in stored if r == role.id}
        assert role.parents == tuple(sorted(graph.successors(role.id)))
        assert role.children == tuple(sorted(graph.predecessors(role.id)))


def test_players_below_equal_sql(view, rows):
    stored = {}
    for role, material in rows(
        """SELECT ancestor, material FROM play JOIN role_closure ON role_closure.role = play.role"""
    ):
        stored.setdefault(role, set()).add(material)
    for role in view.roles:
        below = set(view.players_below(role))
        assert stored.get(role, set()) <= below
        for material in below - stored.get(role, set()):
            assert "--" in material and view.does(material, role) > 0


def test_materials_names_edges_and_limits_equal_sql(view, rows):
    assert sorted(view.materials) == [
        m for (m,) in rows("SELECT material FROM material ORDER BY 1")
    ]
    assert sorted(view.records.names) == sorted(rows("SELECT name, material, kind FROM name"))
    assert len(view.edges) == rows("SELECT count(*) FROM edge")[0][0]
    assert (
        sum(map(len, view.records.limits.values())) == rows("SELECT count(*) FROM limit_rule")[0][0]
    )
    assert (
        sum(map(len, view.records.parts.values())) == rows("SELECT count(*) FROM composition")[0][0]
    )
    assert (
        sum(map(len, view.records.crystals.values())) == rows("SELECT count(*) FROM crystal")[0][0]
    )
    assert view.records.policies == dict(rows("SELECT policy, text FROM policy"))
    assert view.records.units == dict(rows("SELECT property, unit FROM property"))
    assert [(view.build,)] == rows("SELECT seed_hash FROM build")


def test_parts_of_the_file_read_back_the_same(view):
    assert from_parts(to_parts(view.records)) == view.records


def test_columns_hold_what_known_says(view):
    columns = view.columns()
    order = list(view.materials)
    assert columns.value.shape == (len(columns.properties), len(order))
    for name in columns.properties[:3] + columns.properties[-2:]:
        row = columns.properties.index(name)
        for column, material in enumerate(order):
            found = view.known(material, name)
            if found is None:
                assert math.isnan(columns.value[row, column])
            else:
                assert columns.low[row, column] == found.low
                assert columns.value[row, column] == found.value
    with pytest.raises(ValueError, match="read-only"):
        columns.value[0, 0] = 1.0


def test_similarity_is_symmetric_and_between_nought_and_one(view):
    roles = sorted(view.roles)[:: max(1, len(view.roles) // 40)]
    for a in roles:
        assert view.similarity(a, a) == 1.0
        for b in roles:
            assert view.similarity(a, b) == view.similarity(b, a)
            assert 0.0 <= view.similarity(a, b) <= 1.0


def test_a_parent_never_says_more_than_its_child(view):
    for role in view.roles.values():
        for parent in role.parents:
            assert view.roles[parent].information <= role.information + 1e-9


def test_sisters_are_nearer_than_strangers(base):
    near = base.similarity("light-ester", "cushion-ester")
    assert near > base.similarity("light-ester", "humectant")
    assert base.similarity("hard-butter", "soft-butter") > base.similarity(
        "hard-butter", "preservative"
    )


# -- the tiny base by hand ----------------------------------------------------------------------


def test_trade_practice_beats_memory_for_hlb_but_not_for_melting(tiny_base):
    hlb = tiny_base.known("cera-alba", "hlb")
    assert (hlb.value, hlb.low, hlb.high, hlb.evidence) == (9.0, 8.0, 10.0, "common practice")
    melting = tiny_base.known("cera-alba", "melting_point")
    assert (melting.value, melting.low, melting.high) == (63.5, 62.0, 65.0)
    assert melting.evidence == "published" and melting.source == "handbook"


def test_viscosity_is_brought_to_25_degrees(tiny_base):
    oil = tiny_base.known("prunus-oil", "viscosity")
    assert 60.0 < oil.value < 72.0
    assert tiny_base.value("glycerin", "viscosity") == 934.0
    castor = tiny_base.value("ricinus-oil", "viscosity")
    assert 550.0 < castor < 800.0


def test_a_fact_without_range_gets_one_from_its_evidence(tiny_base):
    zinc = tiny_base.known("zinc-oxide", "density")
    assert zinc.value == 5.6
    assert zinc.low == pytest.approx(5.6 / 1.02) and zinc.high == pytest.approx(5.6 * 1.02)


def test_a_grade_inherits_from_its_generic_material(tiny_base):
    grade, generic = "zinc-oxide--coated", "zinc-oxide"
    assert tiny_base.plays(grade) == tiny_base.plays(generic) != ()
    assert tiny_base.limits(grade) == tiny_base.limits(generic) != ()
    assert tiny_base.value(grade, "density") == 5.4
    assert [p.part for p in tiny_base.parts(grade)] == ["coating", "zinc-oxide"]
    assert tiny_base.parts(generic) == ()
    assert tiny_base.players("powder") == [generic, grade]


def test_unknown_things_are_empty_not_errors(tiny_base):
    assert tiny_base.known("aqua", "hlb") is None
    assert math.isnan(tiny_base.value("aqua", "hlb"))
    assert tiny_base.value("aqua", "hlb", 3.0) == 3.0
    assert tiny_base.plays("moon") == () and tiny_base.all_roles("moon") == frozenset()
    assert tiny_base.does("aqua", "fixed-oil") == 0.0
    assert tiny_base.does("cera-alba", "ingredient") == 0.8
    assert tiny_base.edges_touching("role:moon") == []
    assert [e.rule for e in tiny_base.edges_touching("tag:acid")] == ["ph-window"]
    assert tiny_base.citation("handbook") == "Handbook of excipients"
    assert tiny_base.citation("none") == "none"


def own_records():
    mine = Material("my-wax", "My Wax", "", "", "plant", "waxy", "none", "oil", frozenset(), "mine")
    return Records(
        materials=[mine],
        names=[("house wax", "my-wax", "common"), ("sweet almond oil", "my-wax", "common")],
        known={
            "my-wax": {"melting_point": Known(70.0, 68.0, 72.0, "published", "own")},
            "cera-alba": {"melting_point": Known(64.4, 64.0, 65.0, "published", "own")},
        },
        plays={"my-wax": (Play("stabilising-wax", 1.0, 5.0, 0.9, "own", "published"),)},
        crystals={"my-wax": (Crystal("ester", 1.0, 600.0, 70.0, 180.0, "plain", 1.0),)},
        sources={"own": "our bench book"},
    )


def test_own_materials_and_facts_win_and_the_base_stays(tiny_base):
    before = to_parts(tiny_base.records)
    mine = tiny_base.overlay(own_records())
    assert mine.value("my-wax", "melting_point") == 70.0
    assert mine.value("cera-alba", "melting_point") == 64.4
    assert mine.value("cera-alba", "hlb") == 9.0
    assert "my-wax" in mine.players("stabilising-wax")
    assert mine.does("my-wax", "surface-active") == 0.9
    assert mine.names.resolve("House Wax").match.material == "my-wax"
    assert mine.names.resolve("My Wax").match.material == "my-wax"
    assert mine.names.resolve("Sweet Almond Oil").match.material == "my-wax"
    assert mine.citation("own") == "our bench book"
    assert mine.build == tiny_base.build
    assert to_parts(tiny_base.records) == before
    assert tiny_base.value("cera-alba", "melting_point") == 63.5
    assert "my-wax" not in tiny_base.materials
    assert tiny_base.players("stabilising-wax") == ["cera-alba"]
    assert tiny_base.names.resolve("House Wax").match is None
    assert tiny_base.names.resolve("Sweet Almond Oil").match.material == "prunus-oil"
    assert np.isnan(tiny_base.columns().value).sum() > 0


def test_an_own_material_of_the_same_id_replaces_ours(tiny_base):
    changed = Material(
        "glycerin", "Glycerin", "", "", "plant", "liquid", "none", "water", frozenset()
    )
    mine = tiny_base.overlay(Records(materials=[changed]))
    assert len(mine.materials) == len(tiny_base.materials)
    assert mine.materials["glycerin"].origin == "plant"
    assert tiny_base.materials["glycerin"].origin == "mixed"
    assert mine.value("glycerin", "viscosity") == 934.0


def test_an_empty_overlay_changes_nothing(base):
    mine = base.overlay(Records())
    assert mine.records == base.records


@given(st.data())
def test_role_similarity_over_the_real_roles(base, data):
    roles = st.sampled_from(sorted(base.roles))
    a, b = data.draw(roles), data.draw(roles)
    near = base.similarity(a, b)
    assert 0.0 <= near <= 1.0 and near == base.similarity(b, a)
    assert base.similarity(a, "ingredient") == 0.0 or a == "ingredient"
