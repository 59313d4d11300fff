"""The real base, built once a session; tests of all layers may ask for it."""

import os
from importlib.util import find_spec
from pathlib import Path

import pytest
from hypothesis import settings

from kb.store.build import build
from kb.store.opening import open_snapshot
from kb.store.seed import seed_folder, seed_hash
from kb.store.snapshot import Snapshot

settings.register_profile("kb", deadline=None)
settings.load_profile("kb")


@pytest.fixture(scope="session")
def base_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Path of a file built from the real seed text; ``KB_DATABASE`` when that is up to date."""
    named = os.environ.get("KB_DATABASE")
    if named and Path(named).is_file() and open_snapshot(Path(named)).build == _seed():
        return Path(named)
    path = tmp_path_factory.mktemp("base") / "kb.sqlite"
    build(seed_folder(), path)
    return path


def _seed() -> str:
    return seed_hash(seed_folder())


@pytest.fixture(scope="session")
def base(base_path: Path) -> Snapshot:
    """The real base in memory; read it, never write to it."""
    return open_snapshot(base_path)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say aloud which extras are missing, so that skipped comparisons are not taken for passed."""
    wanted = {"check": ("chemicals", "thermo", "rdkit"), "plot": ("matplotlib",)}
    for extra, names in wanted.items():
        missing = [name for name in names if find_spec(name) is None]
        if missing:
            terminalreporter.write_line(
                f"NOT CHECKED: tests that need {', '.join(missing)} were skipped; "
                f"pip install -e '.[{extra}]' brings them.",
                yellow=True,
            )
