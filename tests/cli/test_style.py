"""Bold and one accent on a terminal that takes them; the words alone say everything."""

import re

import pytest

from kb.report.paper import columns
from tests.cli.conftest import Kb

CODES = re.compile("\x1b\\[[0-9;]*m")
COMMAND = ("swap", "cream.toml", "beeswax", "--top", "6")


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kb.cli.output.may_style", lambda stream: True)


def test_style_adds_nothing_to_the_words(kb: Kb, monkeypatch: pytest.MonkeyPatch) -> None:
    plain = kb(*COMMAND).out
    monkeypatch.setattr("kb.cli.output.may_style", lambda stream: True)
    styled = kb(*COMMAND).out
    assert CODES.sub("", styled) == plain
    assert set(CODES.findall(styled)) <= {"\x1b[1m", "\x1b[33m", "\x1b[0m"}
    assert "\x1b[1m" in styled
    for line in styled.splitlines():
        assert line.count("\x1b") in {0, 2}
        assert columns(CODES.sub("", line)) <= 80


def test_alarm_lines_say_so_in_words(kb: Kb, terminal: None) -> None:
    out = kb("suits", "xanthan gum", "--system", "w/o").out
    alarms = [line for line in out.splitlines() if "\x1b[33m" in line]
    assert alarms
    assert "fails" in alarms[0]


def test_names_cannot_style(kb: Kb, terminal: None) -> None:
    sheet = b"name,percent\n\x1b[31mBeeswax\x1b[0m,50\nOdd\x1b[5m thing,50\n"
    said = kb("check", "-", stdin=sheet)
    assert set(CODES.findall(said.out)) <= {"\x1b[1m", "\x1b[33m", "\x1b[0m"}
    assert "\x1b[31m" not in said.out


@pytest.mark.parametrize(
    ("tty", "settings", "wanted"),
    [
        (True, {}, True),
        (False, {}, False),
        (True, {"NO_COLOR": "1"}, False),
        (True, {"NO_COLOR": ""}, True),
        (True, {"TERM": "dumb"}, False),
    ],
)
def test_when_it_may_style(
    monkeypatch: pytest.MonkeyPatch, tty: bool, settings: dict[str, str], wanted: bool
) -> None:
    from kb.cli.output import may_style

    class Stream:
        def isatty(self) -> bool:
            return tty

    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for name, value in settings.items():
        monkeypatch.setenv(name, value)
    assert may_style(Stream()) is wanted  # type: ignore[arg-type]
    assert may_style(None) is False


def test_json_is_never_styled(kb: Kb, terminal: None) -> None:
    assert "\x1b" not in kb("find", "beeswax", "--json").out
