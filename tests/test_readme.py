"""README shows only what runs: every block is run again and compared."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def readme():
    place = ROOT / "scripts" / "readme.py"
    spec = importlib.util.spec_from_file_location("readme_script", place)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_the_readme_shows_what_the_commands_print(readme, base_path, monkeypatch) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert len(readme.BLOCK.findall(text)) >= 4
    assert readme.renewed(text) == text, "run scripts/readme.py"


def test_the_readme_opens_with_the_job() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    first = text.split("\n\n")[1]
    assert text.startswith("# Like for Like\n") and len(first) > 400 and "```" not in first
