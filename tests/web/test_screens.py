"""The pictures of README: there, small, made by the script, and of the pages as they are."""

import re
import struct
import subprocess
import sys
from pathlib import Path

import pytest

from tests.web.browser import missing

ROOT = Path(__file__).parent.parent.parent
SHOWN = re.findall(
    r"!\[([^\]]+)\]\((scripts/pictures/[\w-]+\.png)\)", (ROOT / "README.md").read_text()
)
PAGES = [(words, path) for words, path in SHOWN if not path.endswith("/growth.png")]
"""The pictures of pages; the growth of times is drawn by scripts/bench.py, which takes minutes."""
LARGEST = 150_000


def size_of(path):
    """Return width and height of a PNG."""
    raw = path.read_bytes()
    assert raw.startswith(b"\x89PNG\r\n\x1a\n"), path
    return struct.unpack(">II", raw[16:24])


def test_readme_shows_three_pictures_that_are_kept_and_no_other_is():
    assert len(PAGES) == 3
    assert {path for _, path in SHOWN} == {
        path.relative_to(ROOT).as_posix() for path in (ROOT / "scripts" / "pictures").iterdir()
    }
    assert all(len(words) > 20 for words, _ in SHOWN)


@pytest.mark.parametrize(("words", "path"), SHOWN)
def test_a_picture_is_small_and_large_enough_to_read(words, path):
    file = ROOT / path
    assert file.stat().st_size < LARGEST
    assert min(size_of(file)) >= 390


@pytest.mark.skipif(bool(missing()), reason=f"no {' and no '.join(missing())}")
def test_the_script_makes_them_again(tmp_path, base_path, monkeypatch):
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    command = [sys.executable, str(ROOT / "scripts" / "screens"), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    for _, path in PAGES:
        made = tmp_path / Path(path).name
        assert made.stat().st_size < LARGEST
        assert size_of(made) == size_of(ROOT / path)
