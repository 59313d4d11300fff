"""A maker's day from the first list to the anchored prediction; README shows the same steps."""

import importlib.util
import json
import sys
from pathlib import Path
from types import ModuleType

import pytest

from kb.engine.accepting import key_of
from kb.engine.opening import open_formula
from kb.formula.reading import read_formula
from tests.cli.conftest import ROOT, Kb


@pytest.fixture(scope="module")
def day() -> ModuleType:
    spec = importlib.util.spec_from_file_location("makers_day", ROOT / "scripts" / "day.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_a_day(
    day: ModuleType,
    kb: Kb,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    base,
) -> None:
    place = tmp_path / "day"
    place.mkdir()
    said = {}
    for step, code, out in day.play(place):
        assert code == 0, step.command
        assert out, step.command
        said[step.command.split()[1] + " " + step.command.split()[2]] = out
    assert "own-meadow-butter" in said["own add"] and "2 materials" in said["own add"]
    assert "1,500 g" in said["own shelf"] and "19.5 EUR" in said["own shelf"]

    monkeypatch.chdir(place)
    german = (place / "rezept.csv").read_text("utf-8").splitlines()
    head = german.index("Rohstoff;Prozent;Phase;Funktion;Wirkstoff;fest")
    assert "Beeswax;2,5;oil;;;" in german[head:]
    assert german[-1] == "Summe;100"

    # What stands in comes from the shelf, and the new file says from which version and why.
    swapped = said["swap rezept.csv"]
    assert "1  Meadow Seed Butter (yours)" in swapped
    assert "tests and labels" in swapped
    new, old = read_formula("winter-2.toml"), read_formula("rezept.csv")
    version = new.versions[-1]
    assert version["file"] == "rezept.csv"
    assert str(version["change"]).startswith("Meadow Seed Butter")
    assert "the kept shelf" in str(version["why"])

    assert "2,500 g" in said["sheet winter-2.toml"]
    assert "Meadow Seed Butter" in said["sheet winter-2.toml"]

    # Measured at 22 degC, brought to 25 degC, and the next prediction starts from it.
    monkeypatch.setenv("KB_OWN", str(place / "mine" / "own.sqlite"))
    model = json.loads(kb("check", "winter-2.toml", "--model-only", "--json").out)
    anchored = json.loads(kb("check", "winter-2.toml", "--json").out)
    alone, body = (t["profile"]["consistency_25c"] for t in (model, anchored))
    assert 0.9 * 38000 < body["value"] < 38000
    assert body["high"] / body["low"] < 2.0 < alone["high"] / alone["low"]
    assert "anchor" not in alone and body["anchor"]["measured"] == body["value"]
    swaps = json.loads(kb("swap", "winter-2.toml", "beeswax", "--top", "3", "--json").out)
    assert swaps["anchor"]["measured"] == body["value"]
    for one in swaps["swaps"]:
        effect = one["effects"]["consistency_25c"]
        assert effect["before"] == body["value"]
        assert effect["after"] == pytest.approx(effect["before"] * effect["change"]["value"], 1e-3)
        assert effect["after_high"] / effect["after_low"] < alone["high"] / alone["low"]
    # The old formula is the same in both files.
    first = read_formula("cream.toml")
    assert key_of(open_formula(old, base)) == key_of(open_formula(first, base))
    assert version["key"] == key_of(open_formula(first, base))[:12]
