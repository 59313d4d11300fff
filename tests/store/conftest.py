from pathlib import Path

import pytest

from kb.store.build import build
from kb.store.opening import open_snapshot

from .tiny import write_tiny


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    return write_tiny(tmp_path / "seed")


@pytest.fixture(scope="session")
def tiny_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tiny")
    build(write_tiny(folder / "seed"), folder / "kb.sqlite")
    return folder / "kb.sqlite"


@pytest.fixture(scope="session")
def tiny_base(tiny_path: Path):
    return open_snapshot(tiny_path)
