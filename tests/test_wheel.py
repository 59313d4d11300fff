"""A built wheel works elsewhere, without the checkout: it carries its seed and swaps."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
FORMULA = """
name = "Barrier cream"
system = "w/o"
[[line]]
ingredient = "Polyglyceryl-2 Dipolyhydroxystearate"
percent = 3.0
stage = "oil"
[[line]]
ingredient = "Isopropyl Palmitate"
percent = 12.0
stage = "oil"
[[line]]
ingredient = "Caprylic/Capric Triglyceride"
percent = 12.0
stage = "oil"
[[line]]
ingredient = "Beeswax"
percent = 3.0
stage = "oil"
[[line]]
ingredient = "Phenoxyethanol"
percent = 0.9
stage = "water"
[[line]]
ingredient = "Water"
percent = "q.s."
stage = "water"
"""


@pytest.fixture(scope="module")
def elsewhere(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that holds the unpacked wheel and nothing of the checkout."""
    folder = tmp_path_factory.mktemp("elsewhere")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder / "site")
    return folder


def run(elsewhere: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the command from the wheel alone, with the libraries but without the checkout."""
    site = elsewhere / "site"
    code = (
        "import sys; "
        f"sys.path[:] = [p for p in sys.path if p != {str(ROOT)!r}]; "
        f"sys.path.insert(0, {str(site)!r}); sys.path.append({sysconfig.get_path('purelib')!r}); "
        "import kb, kb.__main__; "
        f"assert kb.__file__.startswith({str(site)!r}), kb.__file__; "
        f"sys.argv = ['kb', *{list(words)!r}]; kb.__main__.main()"
    )
    environment = {
        **os.environ,
        "XDG_CACHE_HOME": str(elsewhere / "cache"),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    environment.pop("KB_DATABASE", None)
    return subprocess.run(
        [sys.executable, "-S", "-c", code],
        cwd=elsewhere,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_wheel_carries_seed_schemas_and_licences(elsewhere: Path) -> None:
    site = elsewhere / "site"
    assert (site / "kb/seed_data/properties.csv").is_file()
    assert (site / "kb/seed_data/LICENSE").is_file()
    assert (site / "kb/LICENSE").is_file()
    assert list((site / "kb/schemas").glob("*.json"))
    assert not (site / "tests").exists()


def test_a_formula_is_swapped_from_the_wheel_alone(elsewhere: Path) -> None:
    (elsewhere / "cream.toml").write_text(FORMULA, encoding="utf-8")
    done = run(elsewhere, "swap", "cream.toml", "isopropyl palmitate", "--json")
    assert done.returncode == 0, done.stderr
    tree = json.loads(done.stdout)
    assert tree["line"]["ingredient"] == "isopropyl-palmitate"
    assert len(tree["swaps"]) == 10
    assert list((elsewhere / "cache").rglob("kb-*.sqlite"))
