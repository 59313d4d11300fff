"""Help is found every way it is asked for, and its examples run."""

import re
import shlex

import pytest

from kb import __version__
from kb.cli.helping import EXAMPLES
from kb.cli.main import app
from tests.cli.cases import COMMANDS
from tests.cli.conftest import Kb


@pytest.mark.parametrize("command", COMMANDS)
def test_help_is_the_same_every_way(kb: Kb, command: str) -> None:
    words = command.split()
    long, short, asked = kb(*words, "--help"), kb(*words, "-h"), kb("help", *words)
    assert (long.code, short.code, asked.code) == (0, 0, 0)
    assert long.out == short.out == asked.out
    assert long.err == ""
    assert long.out.startswith(f"Usage: kb {command} ")


@pytest.mark.parametrize("command", COMMANDS)
def test_help_has_sentence_then_two_examples_then_options(kb: Kb, command: str) -> None:
    lines = kb(*command.split(), "--help").out.splitlines()
    sentence = next(line for line in lines[1:] if line.strip())
    assert sentence.endswith(".")
    examples, options = lines.index("Examples:"), lines.index("Options:")
    assert lines.index(sentence) < examples < options
    shown = [line.strip() for line in lines[examples + 1 : options] if line.startswith("  kb ")]
    assert tuple(shown) == EXAMPLES[command]
    assert len(shown) >= 2
    assert max(map(len, lines)) <= 80


def test_every_command_has_examples(kb: Kb) -> None:
    shown = re.findall(r"^  (\w+) ", kb("--help").out.split("Commands:")[1], re.MULTILINE)
    assert {name.split()[0] for name in COMMANDS} == set(shown)
    assert set(EXAMPLES) == {"", *COMMANDS}
    assert app.info.name == "kb"


@pytest.mark.parametrize("line", sorted({line for lines in EXAMPLES.values() for line in lines}))
def test_examples_run(kb: Kb, line: str, monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    words = shlex.split(line)
    assert words[0] == "kb"
    if words[1:2] == ["build"]:
        monkeypatch.setenv("KB_DATABASE", str(tmp_path / "fresh.sqlite"))
    if "--folder" in words:
        from kb.store.seed import seed_folder

        words[words.index("--folder") + 1] = str(seed_folder())
    if words[1] == "serve":
        monkeypatch.setattr("kb.web.app.serve", lambda app, listener: listener.close())
        monkeypatch.setattr("webbrowser.open", lambda address: True)
        words = [word if word != "8765" else "0" for word in words]
    stdin = b""
    if "<" in words:
        place = words.index("<")
        stdin = (tmp_path / words[place + 1]).read_bytes()
        del words[place : place + 2]
    said = kb(*words[1:], stdin=stdin)
    assert said.code == 0, said.err
    assert said.out


def test_bare_call_and_version(kb: Kb) -> None:
    assert kb().out == kb("--help").out == kb("-h").out == kb("help").out
    assert kb().code == 0
    assert kb("data").out == kb("data", "--help").out
    assert kb("--version").out == f"kb {__version__}\n"


def test_a_slip_in_a_command_is_answered_with_the_nearest(kb: Kb) -> None:
    said = kb("swpa", "cream.toml", "beeswax")
    assert said.code == 2
    assert "swap" in said.err
    assert kb("data", "lnt").err.count("lint") == 1
    assert kb("help", "chek").code == 2


def test_a_slip_in_an_option_is_answered_with_the_nearest(kb: Kb) -> None:
    said = kb("swap", "cream.toml", "beeswax", "--polcy", "vegan")
    assert said.code == 2
    assert "--policy" in said.err
