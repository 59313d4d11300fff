"""The adapt command as a user meets it."""

import json

from tests.cli.conftest import Kb
from tests.cli.schemas import faults


def test_a_cream_is_made_vegan_and_written(kb: Kb, folder) -> None:
    said = kb("adapt", "cream.toml", "--policy", "vegan", "-o", "vegan.toml")
    assert said.code == 0
    assert "1 line exchanged" in said.out
    again = json.loads(kb("adapt", "vegan.toml", "--policy", "vegan", "--json").out)
    assert again["status"] == "unchanged"
    assert again["solutions"] == []
    assert faults("adapt", again) == []
    checked = json.loads(kb("check", "vegan.toml", "--json").out)
    assert checked["system"] == "w/o"
    assert abs(checked["total"] - 100.0) < 0.01


def test_what_cannot_be_is_told_with_code_5(kb: Kb) -> None:
    asked = ("adapt", "cream.toml", "--policy", "vegan", "--keep", "beeswax")
    said = kb(*asked, "--json")
    tree = json.loads(said.out)
    assert said.code == 5
    assert faults("adapt", tree) == []
    assert tree["status"] == "infeasible"
    assert {c["rule"] for c in tree["closed_by"]} == {"policy", "keep"}
    text = kb(*asked)
    assert text.code == 5
    assert "cannot be adapted" in text.out
    assert "opens the door" in text.out


def test_a_named_rule_can_be_left_out(kb: Kb) -> None:
    asked = ("adapt", "cream.toml", "--policy", "vegan", "--max-changes", "0")
    assert kb(*asked).code == 5
    assert kb(*asked, "--without", "max-changes").code == 0


def test_several_answers_differ_in_kind(kb: Kb) -> None:
    said = kb("adapt", "cream.toml", "--policy", "vegan", "--top", "2", "--json")
    solutions = json.loads(said.out)["solutions"]
    assert len(solutions) == 2
    assert solutions[0]["distance"] <= solutions[1]["distance"]
    assert solutions[0]["changes"][0]["to"] != solutions[1]["changes"][0]["to"]


def test_nothing_asked_and_names_unknown_are_told(kb: Kb) -> None:
    assert kb("adapt", "cream.toml").code == 2
    assert kb("adapt", "cream.toml", "--policy", "vegann").code == 2
    assert kb("adapt", "cream.toml", "--policy", "vegan", "--keep", "carnauba wax").code == 3
    assert kb("adapt", "cream.toml", "--policy", "vegan", "--forbid", "beeswxx").code == 3


def test_a_cap_on_the_cost_wants_prices(kb: Kb, folder) -> None:
    said = kb("adapt", "cream.toml", "--policy", "vegan", "--cost-cap", "8")
    assert said.code == 2
    assert "No price is known" in said.err


def test_a_blend_is_shown_and_written_on_two_lines(kb: Kb) -> None:
    asked = ("swap", "cream.toml", "squalane", "--blend", "2", "--top", "3")
    tree = json.loads(kb(*asked, "--json").out)
    assert any(len(s["replace"]) == 2 for s in tree["swaps"])
    first = tree["swaps"][0]["replace"]
    written = kb(*asked, "-o", "-").out
    assert all(one["inci"] in written or one["ingredient"] in written for one in first)
