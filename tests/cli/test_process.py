"""The program as the system sees it: start-up, pipes, repeats, other settings, completion."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from kb import __version__
from tests.cli.conftest import ROOT, Said

Shell = Callable[..., Said]
HEAVY = (
    "numpy openpyxl rich networkx pydantic sqlite_utils datasette sqlite3 rapidfuzz typer click"
).split()
LOADED = f"import sys; print(*(m for m in {HEAVY} if m in sys.modules), file=sys.stderr)"


def loaded(shell: Shell, *arguments: str) -> set[str]:
    """Return which heavy modules a command imports."""
    program = (
        f"import sys; sys.argv = ['kb', *{list(arguments)!r}]\n"
        "from kb.__main__ import main\n"
        "try:\n    main()\nexcept SystemExit as e:\n    assert not e.code, e.code\n" + LOADED
    )
    said = shell(f'"{sys.executable}" -c "$PROGRAM" > /dev/null', PROGRAM=program)
    assert said.code == 0, said.err
    return set(said.err.split())


def test_version_imports_nothing_heavy(shell: Shell) -> None:
    assert loaded(shell, "--version") == set()


def test_find_imports_no_arrays(shell: Shell) -> None:
    assert loaded(shell, "find", "beeswax") <= {
        "sqlite3",
        "rapidfuzz",
        "typer",
        "click",
        "pydantic",
    }


def test_swap_imports_neither_builder_nor_server(shell: Shell) -> None:
    assert {"rich", "networkx", "sqlite_utils", "datasette", "openpyxl"}.isdisjoint(
        loaded(shell, "swap", "cream.toml", "beeswax", "--top", "1")
    )


@pytest.mark.parametrize(
    "line", ["kb find oil --limit 200", "kb roles", "kb show zinc-oxide --json", "kb --help"]
)
def test_a_closed_pipe_is_quiet(shell: Shell, line: str) -> None:
    said = shell(f"{line} | head -1")
    assert (said.code, said.err) == (0, "")
    assert len(said.out.splitlines()) == 1
    said = shell(f"{line} | true")
    assert (said.code, said.err) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_disk_is_told(shell: Shell) -> None:
    said = shell("kb find oil > /dev/full")
    assert said.code == 1
    assert "Traceback" not in said.err
    assert "No space" in said.err
    assert len(said.err.splitlines()) <= 4


def test_closed_streams(shell: Shell) -> None:
    assert shell("kb find oil >&-").code in {0, 1}
    assert shell("kb check - <&-").code in {2, 3}
    said = shell("kb show nothing-like-this 2>&-")
    assert (said.code, said.out) == (3, "")


def test_the_same_answer_twice_and_anywhere(shell: Shell) -> None:
    line = "kb swap cream.toml beeswax --top 3 --json; kb check lotion.toml"
    first = shell(line, PYTHONHASHSEED="1", LC_ALL="C", LANG="C", TZ="UTC")
    other = shell(
        line,
        PYTHONHASHSEED="77",
        LC_ALL="C.UTF-8",
        PYTHONIOENCODING="latin-1",
        TZ="Asia/Tokyo",
        COLUMNS="200",
    )
    assert first.code == 0, first.err
    assert first == other


def test_no_network_and_no_home_are_needed(shell: Shell, folder: Path) -> None:
    said = shell("kb find beeswax", HOME="/nonexistent", PATH=os.environ["PATH"])
    assert said.code == 0


def test_version_and_module_and_program_agree(shell: Shell) -> None:
    assert shell("kb --version").out == f"kb {__version__}\n"


def test_interrupt_leaves_no_file(base_path: Path, folder: Path) -> None:
    program = subprocess.Popen(
        [sys.executable, "-m", "kb", "check", "-"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT), "KB_DATABASE": str(base_path)},
        cwd=folder,
    )
    time.sleep(1.0)
    program.send_signal(signal.SIGINT)
    out, err = program.communicate(timeout=20)
    assert program.returncode == 130
    assert (out, err) == (b"", b"Stopped.\n")
    assert sorted(os.listdir(folder)) == ["cream.toml", "lotion.toml"]


def complete(shell: Shell, words: str) -> list[str]:
    said = shell(
        "kb", _KB_COMPLETE="complete_bash", COMP_WORDS=words, COMP_CWORD=str(words.count(" "))
    )
    assert said.err == ""
    return said.out.split("\n")


def test_completion(shell: Shell) -> None:
    assert "find" in complete(shell, "kb fi")
    assert "--policy" in complete(shell, "kb swap --pol")
    assert "vegan" in complete(shell, "kb swap cream.toml beeswax --policy ve")
    assert "light-ester" in complete(shell, "kb roles light-e")
    assert "cera-alba" in complete(shell, "kb show cera-a")
    script = shell("kb", _KB_COMPLETE="source_bash").out
    assert "_KB_COMPLETE=complete_bash" in script
    assert "--install-completion" in shell("kb --help").out


def test_completion_without_a_base_is_quiet(shell: Shell) -> None:
    said = shell(
        "kb",
        _KB_COMPLETE="complete_bash",
        COMP_WORDS="kb show cera-a",
        COMP_CWORD="2",
        KB_DATABASE="/nonexistent/base.sqlite",
    )
    assert said.err == ""
    assert said.out.strip() == ""
