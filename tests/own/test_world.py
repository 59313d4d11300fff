"""The user's world is laid over ours: marked, used like ours, theirs wins, ours stays."""

import sys
from pathlib import Path

import pytest

from kb.engine.opening import item_to_replace, open_formula
from kb.engine.profile import make_profile
from kb.engine.suits import suits_system
from kb.engine.swap import swap
from kb.errors import DatabaseError
from kb.formula.reading import parse_formula, read_formula
from kb.own.adding import add_file
from kb.own.content import Content, changing, read_content
from kb.own.world import open_own_names, open_world, own_records
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot

CREAM = seed_folder() / "formulas" / "winter-hand-cream.toml"


@pytest.fixture
def world(own: Path) -> Snapshot:
    """The world with the lists of the user in it."""
    for name in ("materials.csv", "facts.csv"):
        add_file(name, own, open_world)
    return open_world()


def test_without_a_file_it_is_the_base_and_nothing_is_loaded(own: Path, base: Snapshot) -> None:
    before = set(sys.modules)
    found = open_world()
    assert found.materials == base.materials
    assert "kb.own.content" in before or "kb.own.content" not in sys.modules
    assert not own.exists()
    assert open_own_names().inci == {m.id: m.inci for m in base.materials.values()}


def test_own_materials_are_there_and_marked(world: Snapshot, base: Snapshot) -> None:
    for name, material, inci in (
        ("Valley beeswax", "cera-alba--own-valley-beeswax", "Cera Alba"),
        ("Meadow butter", "own-meadow-butter", "Meadow Seed Butter"),
        ("meadow seed butter", "own-meadow-butter", "Meadow Seed Butter"),
    ):
        match = world.names.resolve(name).match
        assert match is not None and match.material == material and match.score == 100
        about = world.materials[material]
        assert about.inci == inci
        assert "own" in about.tags
        assert about.grade.startswith("yours")
        assert material not in base.materials
    assert world.names.resolve("beeswax") == base.names.resolve("beeswax")
    known = world.known("own-meadow-butter", "melting_point")
    assert known is not None and (known.low, known.value, known.high) == (34, 36, 38)
    assert world.citation(known.source) == "yours: sheet 2025"
    assert open_own_names().index.search("meadow butter", 1)[0].material == "own-meadow-butter"


def test_names_alone_answer_like_the_whole_world(world: Snapshot) -> None:
    names = open_own_names()
    assert names.build == world.build
    assert names.inci == {m.id: m.inci for m in world.materials.values()}
    for text in ("meadow", "valley beeswax", "beeswax", "shea buter", "1314-13-2", ""):
        assert names.index.search(text, 20) == world.names.search(text, 20)


def test_a_grade_of_ours_takes_over_what_the_user_leaves_out(
    world: Snapshot, base: Snapshot
) -> None:
    mine = "cera-alba--own-valley-beeswax"
    assert world.plays(mine) == base.plays("cera-alba")
    assert world.crystals(mine) == base.crystals("cera-alba")
    assert world.limits(mine) == base.limits("cera-alba")
    assert world.value(mine, "acid_value") == base.value("cera-alba", "acid_value")
    assert world.value(mine, "melting_point") == 63.5
    assert base.handles("cera-alba") < world.handles(mine)


def test_own_values_win_over_ours_and_say_so(world: Snapshot, base: Snapshot) -> None:
    oil = "simmondsia-chinensis-seed-oil"
    mine, ours = world.known(oil, "viscosity"), base.known(oil, "viscosity")
    assert mine is not None and ours is not None
    assert mine.value == 52 != ours.value
    assert world.citation(mine.source).startswith("yours")
    # One viscosity says nothing of how it thins with warmth: ours stays.
    assert world.known(oil, "viscosity_slope") == base.known(oil, "viscosity_slope")
    formula = read_formula(str(CREAM))
    before = make_profile(open_formula(formula, base).batch, base).value("oil_viscosity_25c")
    after = make_profile(open_formula(formula, world).batch, world).value("oil_viscosity_25c")
    assert before is not None and after is not None and after > before


def test_an_own_material_is_worked_with_like_ours(world: Snapshot) -> None:
    text = CREAM.read_text("utf-8").replace("Shea Butter", "Meadow butter")
    opened = open_formula(parse_formula(text), world)
    assert opened.answers[4].match is not None
    assert make_profile(opened.batch, world).value("consistency_25c")
    assert suits_system("own-meadow-butter", "w/o", world).verdict in {"works", "careful"}
    opened = open_formula(read_formula(str(CREAM)), world)
    line = item_to_replace(opened, "shea butter", None, world)
    found = swap(opened.batch, line, world, [], 5, {"own-meadow-butter"})
    assert [s.candidate.material for s in found.swaps] == ["own-meadow-butter"]


def test_what_another_base_does_not_know_is_kept_and_named(own: Path, base: Snapshot) -> None:
    add_file("materials.csv", own, open_world)
    with changing(own, "from another base") as change:
        content = read_content(own)
        change.put("play", {**content["play"][0], "role": "gone-role"})
        change.put("fact", {**content["fact"][0], "property": "gone_property"})
        change.put("material", {**content["material"][0], "material": "gone--own-x"})
    records, unread = own_records(read_content(own), base)
    assert len(unread) == 3
    assert {m.id for m in records.materials} == {
        "cera-alba--own-valley-beeswax",
        "own-meadow-butter",
    }
    assert open_world().value("own-meadow-butter", "melting_point") == 36


def test_a_damaged_file_stops_a_command_rather_than_being_passed_over(own: Path) -> None:
    own.parent.mkdir()
    own.write_text("not a database")
    with pytest.raises(DatabaseError, match="damaged"):
        open_world()


def test_ours_is_never_written_to(own: Path, base: Snapshot, base_path: Path) -> None:
    before = base_path.read_bytes()
    ours = len(base.materials), len(base.records.names)
    add_file("materials.csv", own, open_world)
    open_world()
    assert base_path.read_bytes() == before
    assert (len(base.materials), len(base.records.names)) == ours


def test_an_empty_world_changes_nothing(own: Path, base: Snapshot) -> None:
    from kb.own.tables import TABLES

    content: Content = {table.name: [] for table in TABLES}
    records, unread = own_records(content, base)
    assert unread == []
    assert base.overlay(records).records == base.records
