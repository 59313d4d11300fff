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

#: Lists of a user's own world, as they are handed to `kb own`.
OWN_LISTS = {
    "materials": """\
name,inci,cas,origin,form,charge,phase,tags,roles,composition,source,note,melting_point
Valley beeswax,Cera Alba,,,,,,,,,sheet 2025,filtered,62-65
Meadow butter,Meadow Seed Butter,,plant,semisolid,none,oil,,butter 2-10,,sheet 2025,,34-38
""",
    "facts": """\
material,property,value,unit,temperature_c,source
Jojoba oil,viscosity,52,mPa.s,25,sheet 2025
Cera Alba,melting_point,63,degC,,sheet 2025
""",
    "stock": """\
name,stock,price,pack,currency,supplier,lot,expiry
Meadow butter,2.5 kg,18.50,1 kg,EUR,the mill,24-117,2099-03-31
Shea butter,400,,,,,,
""",
    "bad": "name,stock\nBeeswax,a jar\n",
}


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


@pytest.fixture(scope="session")
def own_copy(base_path: Path, base: Snapshot, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file of the user's own with two materials, one value for ours and a shelf."""
    from kb.own.adding import add_file
    from kb.own.shelf import take_shelf

    place = tmp_path_factory.mktemp("own")
    path = place / "own.sqlite"
    for name in ("materials", "facts", "stock"):
        (place / f"{name}.csv").write_text(OWN_LISTS[name], "utf-8")
    take_shelf(str(place / "stock.csv"), path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("KB_DATABASE", str(base_path))
        for name in ("materials", "facts"):
            add_file(str(place / f"{name}.csv"), path, lambda: base)
    return path


@pytest.fixture
def own_place(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the user's own file would be; no command meets the one of whoever runs the tests."""
    path = tmp_path_factory.mktemp("mine") / "own.sqlite"
    monkeypatch.setenv("KB_OWN", str(path))
    return path


@pytest.fixture
def own(own_place: Path, own_copy: Path) -> Path:
    """The user's own file, apart from the folder of the test."""
    shutil.copy(own_copy, own_place)
    return own_place


def lay_out_own(folder: Path, own_place: Path, own_copy: Path) -> None:
    """Put the user's lists, the file and a copy of it where they are not yet."""
    for name, text in OWN_LISTS.items():
        if not (folder / f"{name}.csv").exists():
            (folder / f"{name}.csv").write_text(text, "utf-8")
    for target in (own_place, folder / "copy.sqlite"):
        if not target.exists():
            shutil.copy(own_copy, target)


@pytest.fixture
def kb(
    base_path: Path,
    base: Snapshot,
    folder: Path,
    own_place: Path,
    own_copy: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Kb:
    """Run a command in this process; the base is opened once for all tests."""
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    # Runs over a folder keep their answers in the cache: not in that of whoever runs the tests.
    monkeypatch.setenv("XDG_CACHE_HOME", str(own_place.parent / "cache"))
    monkeypatch.setattr(opening, "open_snapshot", lambda path=None: base)

    laid_out: list[bool] = []

    def call(*arguments: str, stdin: bytes = b"") -> Said:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        capsys.readouterr()
        if arguments[:1] == ("own",) and not laid_out:
            lay_out_own(folder, own_place, own_copy)
            laid_out.append(True)
        code = run(list(arguments))
        said = capsys.readouterr()
        return Said(code, said.out, said.err)

    return call


@pytest.fixture
def shell(base_path: Path, folder: Path, own_place: Path) -> Callable[..., Said]:
    """Run a line in a real shell, where ``kb`` is the program."""

    def call(line: str, **environment: str) -> Said:
        settings = {**os.environ, "PYTHONPATH": str(ROOT), "KB_DATABASE": str(base_path)}
        settings["KB_OWN"] = str(own_place)
        settings.update(environment)
        script = f'set -o pipefail; kb() {{ "{sys.executable}" -m kb "$@"; }}; {line}'
        done = subprocess.run(
            ["bash", "-c", script], cwd=folder, env=settings, capture_output=True, timeout=60
        )
        return Said(done.returncode, done.stdout.decode(), done.stderr.decode())

    return call
