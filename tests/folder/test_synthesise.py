"""Invented bases build, say what they are, and are the same for the same seed."""

import importlib.util
import random
import sys
from pathlib import Path

import pytest

from kb.engine.opening import open_formula
from kb.engine.swap import swap
from kb.formula.reading import read_formula
from kb.store.build import build
from kb.store.opening import open_snapshot

SCRIPT = Path(__file__).parents[2] / "scripts" / "synthesise.py"


@pytest.fixture(scope="module")
def synthesise():
    spec = importlib.util.spec_from_file_location("synthesise_script", SCRIPT)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def text_of(folder):
    return {p.relative_to(folder): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.mark.slow
def test_an_invented_base_builds_and_says_so(synthesise, base, tmp_path):
    used = {i.material.split("--")[0] for t in synthesise.templates(base) for i in t.batch.items}
    copies = synthesise.invented_seed(tmp_path / "seed", 400, random.Random(3), used)
    synthesise.write_formulas(tmp_path / "formulas", 5, base, random.Random(4), copies)
    build(tmp_path / "seed", tmp_path / "kb.sqlite")
    invented = open_snapshot(tmp_path / "kb.sqlite")
    assert len(invented.materials) == len(copies) == 400
    assert len(invented.edges) == 10 * 400
    assert all("Invented" in m.inci for m in invented.materials.values())
    known = [k for v in invented.records.known.values() for k in v.values()]
    assert not any(k.evidence == "published" for k in known)
    path = sorted((tmp_path / "formulas").glob("*.toml"))[0]
    formula = read_formula(str(path))
    assert "nothing in it is knowledge" in formula.note
    opened = open_formula(formula, invented)
    assert swap(opened.batch, 1, invented, top=3).swaps


def test_the_same_seed_writes_the_same(synthesise, base, tmp_path):
    for name in ("one", "two"):
        synthesise.write_formulas(tmp_path / name, 6, base, random.Random(5))
    assert text_of(tmp_path / "one") == text_of(tmp_path / "two")
    for path in (tmp_path / "one").glob("*.toml"):
        formula = read_formula(str(path))
        assert abs(formula.total - 100.0) < 0.01 and len(formula.lines) >= 2
        assert all(line.given in base.materials for line in formula.lines)
