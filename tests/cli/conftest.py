"""The command line as a user meets it: in a folder with formulas, on the real base."""

import io
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from kb.cli.main import run
from kb.store import opening
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot

ROOT = Path(__file__).parents[2]
STRANGE = "Bees\x1b[31mwax\u202e \x07\x9b2J \U0001f9f4 \u200f" + "long " * 40


@dataclass(frozen=True)
class Said:
    """What a command said and how it left."""

    code: int
    out: str
    err: str


Kb = Callable[..., Said]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with two demo formulas; the command line stands in it."""
    formulas = seed_folder() / "formulas"
    shutil.copy(formulas / "winter-hand-cream.toml", tmp_path / "cream.toml")
    shutil.copy(formulas / "rinse-lotion.toml", tmp_path / "lotion.toml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def kb(
    base_path: Path,
    base: Snapshot,
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Kb:
    """Run a command in this process; the base is opened once for all tests."""
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    monkeypatch.setattr(opening, "open_snapshot", lambda path=None: base)

    def call(*arguments: str, stdin: bytes = b"") -> Said:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        capsys.readouterr()
        code = run(list(arguments))
        said = capsys.readouterr()
        return Said(code, said.out, said.err)

    return call


@pytest.fixture
def shell(base_path: Path, folder: Path) -> Callable[..., Said]:
    """Run a line in a real shell, where ``kb`` is the program."""

    def call(line: str, **environment: str) -> Said:
        settings = {**os.environ, "PYTHONPATH": str(ROOT), "KB_DATABASE": str(base_path)}
        settings.update(environment)
        script = f'set -o pipefail; kb() {{ "{sys.executable}" -m kb "$@"; }}; {line}'
        done = subprocess.run(
            ["bash", "-c", script], cwd=folder, env=settings, capture_output=True, timeout=60
        )
        return Said(done.returncode, done.stdout.decode(), done.stderr.decode())

    return call
