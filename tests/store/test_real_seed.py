"""What the shipped seed text promises."""

import networkx
import pytest

from kb.formula.names import normalise
from kb.formula.reading import parse_formula
from kb.store.format import format_seed
from kb.store.lint import lint
from kb.store.seed import read_seed, seed_folder


@pytest.fixture(scope="module")
def seed():
    return read_seed(seed_folder())


def test_the_lint_is_empty(seed):
    assert [str(p) for p in lint(seed)] == []


def test_every_file_has_its_one_form():
    assert format_seed(seed_folder(), check=True) == []


def test_enough_materials(base):
    generic = [m for m in base.materials.values() if not m.grade]
    assert len(generic) >= 220
    assert any(m.grade for m in base.materials.values())


FAMILIES = [
    (("fixed-oil",), 20),
    (("butter",), 10),
    (("wax",), 12),
    (("wo-emulsifier",), 25),
    (("ow-emulsifier",), 20),
    (("oil-gellant", "film-former"), 15),
    (("water-thickener",), 20),
    (("humectant",), 10),
    (("powder-part",), 12),
    (("preservative", "preservative-booster"), 20),
]


@pytest.mark.parametrize(("roles", "wanted"), FAMILIES)
def test_enough_in_each_family(base, roles, wanted):
    found = {m.split("--")[0] for role in roles for m in base.players_below(role)}
    assert len(found) >= wanted


def test_vegetable_oils_and_mineral_powders_by_what_they_are(base):
    oils = {m for m in base.players_below("fixed-oil") if base.materials[m].origin == "plant"}
    assert len({m.split("--")[0] for m in oils}) >= 20
    powders = {
        m for m in base.players_below("powder-part") if base.materials[m].origin == "mineral"
    }
    assert len({m.split("--")[0] for m in powders}) >= 12


def test_roles_are_many_and_deep(base):
    graph = networkx.DiGraph()
    for role in base.roles.values():
        graph.add_node(role.id)
        graph.add_edges_from((parent, role.id) for parent in role.parents)
    assert len(graph) >= 60
    assert networkx.is_directed_acyclic_graph(graph)
    assert networkx.dag_longest_path_length(graph) + 1 >= 4
    assert [n for n in graph if graph.in_degree(n) == 0] == ["ingredient"]


def test_enough_properties_with_facts(base):
    used = {name for values in base.records.known.values() for name in values}
    assert len(used) >= 18
    assert used <= set(base.records.units)


def test_every_fact_has_unit_conditions_source_and_evidence(seed):
    units = {row["property"]: row["unit"] for row in seed.tables["properties"]}
    assert len(seed.tables["facts"]) > 1000
    for row in seed.tables["facts"]:
        assert row["unit"] == units[row["property"]]
        assert row["conditions"]
        assert row["evidence"] in {"published", "derived", "memory", "common practice"}
        assert bool(row["source"]) != (row["evidence"] == "common practice")


def test_every_source_that_is_cited_has_a_citation(seed):
    known = {row["source"]: row["citation"] for row in seed.tables["sources"]}
    for table, rows in seed.tables.items():
        if table != "sources" and rows and "source" in rows[0].cells:
            assert all(known[row["source"]] for row in rows if row["source"])


def test_every_material_plays_a_role_and_is_found_by_its_id(base):
    for material in base.materials.values():
        assert base.plays(material.id)
        assert base.names.resolve(material.id).match.material == material.id


def test_every_inci_name_leads_to_its_material(base):
    strays = [
        m.inci
        for m in base.materials.values()
        if not m.grade
        and normalise(base.materials[base.names.resolve(m.inci).match.material].inci)
        != normalise(m.inci)
    ]
    assert strays == []


def test_traits_are_of_known_properties_and_weighted(base):
    for role in base.roles.values():
        for trait in role.traits:
            assert trait.property in base.records.units
            assert 0 < trait.weight <= 1 and trait.tolerance > 0


def test_demo_formulas_add_up_and_resolve(base, seed):
    assert seed.formulas
    for name, text in seed.formulas.items():
        formula = parse_formula(text, name)
        assert formula.total == pytest.approx(100.0), name
        assert formula.remarks == (), name
        for line in formula.lines:
            match = base.names.resolve(line.given).match
            assert match is not None and match.score == 100.0, (name, line.given)


def test_what_structure_fixes_has_no_range(base):
    glycerin = base.known("glycerin", "molar_mass")
    assert glycerin is not None
    assert glycerin.high / glycerin.low < 1.001
    # A fat is a mixture: its molar mass keeps a range.
    fat = base.known("butyrospermum-parkii-butter", "molar_mass")
    assert fat is not None and fat.high / fat.low > 1.02


def test_every_material_says_how_natural_it_is_and_what_plants_give_is(base):
    """A structure shows what a part is, seldom what it was made from: origin must bear it out."""
    for material, about in base.materials.items():
        known = base.known(material, "natural_origin_index")
        assert known is not None, material
        if about.origin == "plant":
            assert known.high > 0.5, material
