"""The schemas are schemas, hold the contract's keys, and refuse what is wrong."""

import copy
import json

import pytest
from jsonschema import Draft202012Validator

from tests.cli.cases import CASES
from tests.cli.conftest import Kb
from tests.cli.schemas import SCHEMAS, faults

#: Keys that outside checks read; they stay.
CONTRACT = {
    "find": {"matches"},
    "show": {
        "ingredient",
        "inci",
        "cas",
        "origin",
        "form",
        "composition",
        "roles",
        "facts",
        "edges",
        "limits",
    },
    "roles": {"roles"},
    "role": {"role", "parents", "children", "traits", "players"},
    "suits": {"verdict", "as_role", "because"},
    "check": {"system", "total", "lines", "profile", "findings"},
    "swap": {"line", "swaps", "rejected"},
    "adapt": {"status", "proof", "solutions", "closed_by"},
    "why-fact": {"best", "others", "source", "used_by"},
    "why-quantity": {"best", "others", "source", "used_by", "equation", "inputs", "dominates"},
}
QUANTITIES = (
    "hlb required_hlb oil_viscosity_25c consistency_25c climate_drift_10_over_40 solids_10c "
    "solids_25c solids_40c dispersed_fraction density water_phase_ph water_activity "
    "free_preservative natural_origin oxidation feel settling"
).split()


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_is_a_schema(name: str) -> None:
    schema = SCHEMAS[name]
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"].endswith(f"/{name}.json")
    if name not in {"common", "error"}:
        assert {"schema", "version", "build"} <= set(schema["required"])


@pytest.mark.parametrize("name", sorted(CONTRACT))
def test_contract_keys_are_required(name: str) -> None:
    assert set(SCHEMAS[name]["required"]) >= CONTRACT[name]


def test_every_schema_meets_a_real_object() -> None:
    assert {case.schema for case in CASES} | {"common", "error"} == set(SCHEMAS)


def test_a_missing_or_wrong_key_is_refused(kb: Kb) -> None:
    good = json.loads(kb("find", "beeswax", "--json").out)
    assert faults("find", good) == []
    for spoil in (
        lambda t: t.pop("build"),
        lambda t: t["matches"][0].update(score="high"),
        lambda t: t["matches"][0].update(ingredient="Cera Alba"),
        lambda t: t.update(schema=2),
        lambda t: t.update(extra=1),
    ):
        tree = copy.deepcopy(good)
        spoil(tree)
        assert faults("find", tree)


@pytest.mark.parametrize("file", ["cream.toml", "lotion.toml"])
def test_every_quantity_is_there(kb: Kb, file: str) -> None:
    tree = json.loads(kb("check", file, "--json").out)
    assert set(QUANTITIES) <= set(tree["profile"])
    for name, quantity in tree["profile"].items():
        if quantity["value"] is None and name not in {"settling", "cost"}:
            assert quantity["limited_by"], name
    assert tree["profile"]["settling"]["state"] in {"held", "settles", "unclear"}


def test_every_effect_is_there(kb: Kb) -> None:
    tree = json.loads(kb("swap", "cream.toml", "beeswax", "--top", "2", "--json").out)
    for swap in tree["swaps"]:
        assert set(QUANTITIES) - {"feel"} <= set(swap["effects"])
        assert abs(sum(line["percent"] for line in swap["formula"]) - 100.0) < 0.01


def test_a_grade_of_the_same_name_tells_what_differs(kb: Kb) -> None:
    said = kb("swap", "cream.toml", "beeswax", "--to", "cera-alba--white", "--json")
    tree = json.loads(said.out)
    assert said.code == 0
    assert faults("swap", tree) == []
    assert [s["replace"][0]["ingredient"] for s in tree["swaps"]] == ["cera-alba--white"]
    assert tree["swaps"][0]["lot"] is not None
