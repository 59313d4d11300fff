"""Every command: text, JSON, failure in both shapes, no colour, a base that is not there."""

import json
import os
import re
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from kb.report.paper import columns, printable
from kb.store import opening
from kb.store.seal import _BLANK, _MARK, seal
from kb.store.snapshot import Snapshot
from tests.cli.cases import CASES, Case
from tests.cli.conftest import Kb
from tests.cli.schemas import faults

EVERY = pytest.mark.parametrize("case", CASES, ids=lambda c: c.name)


def tidy(text: str) -> None:
    """Assert that text fits the page and holds nothing a terminal would act on."""
    for line in text.splitlines():
        assert line == printable(line)
        assert columns(line) <= 80, line
        assert not re.search(r"\de[+-]\d|\d (nan|inf)\b|\bNone\b(?! of)", line), line


def numbers(value: Any) -> list[Decimal]:
    """Return every number of a tree as it was written."""
    if isinstance(value, Decimal):
        return [value]
    if isinstance(value, dict):
        return [n for one in value.values() for n in numbers(one)]
    return [n for one in value for n in numbers(one)] if isinstance(value, list) else []


@EVERY
def test_text(kb: Kb, case: Case) -> None:
    said = kb(*case.good)
    assert said.code == 0, said.err
    assert said.err == ""
    assert said.out.strip()
    tidy(said.out)


@EVERY
def test_json(kb: Kb, case: Case) -> None:
    said = kb(*case.good, "--json")
    assert said.code == 0, said.err
    assert said.err == ""
    tree = json.loads(said.out, parse_float=Decimal)
    assert faults(case.schema, json.loads(said.out)) == []
    for number in numbers(tree):
        assert number.is_finite()
        assert len(number.normalize().as_tuple().digits) <= 6


@EVERY
def test_failure_as_text(kb: Kb, case: Case) -> None:
    said = kb(*case.bad)
    assert said.code == case.code
    assert said.out == ""
    first, *rest = said.err.splitlines()
    assert first.strip()
    assert any(line.startswith("  ") for line in rest)
    tidy(said.err)


@EVERY
def test_failure_as_json(kb: Kb, case: Case) -> None:
    said = kb(*case.bad, "--json")
    assert said.code == case.code
    assert said.err == ""
    tree = json.loads(said.out)
    assert faults("error", tree) == []
    assert tree["error"]["code"] == case.code


@EVERY
def test_no_escape_without_a_terminal_or_with_no_color(
    kb: Kb, case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    if case.name != "build":
        assert "\x1b" not in kb(*case.good).out


def damaged(base_path: Path, folder: Path) -> dict[str, Path]:
    """Return paths of files that are no base of ours, each in its own way."""
    good = base_path.read_bytes()
    cut, flipped, other, old = (folder / f"{n}.sqlite" for n in ("cut", "flip", "other", "old"))
    cut.write_bytes(good[: len(good) // 2])
    middle = len(good) // 3
    flipped.write_bytes(good[:middle] + bytes([good[middle] ^ 8]) + good[middle + 1 :])
    other.write_text("not a base")
    mark = _MARK.search(good)
    assert mark is not None
    data = good.replace(b"content-sha256:" + mark[1], _BLANK)
    old.write_bytes(data[:60] + (0).to_bytes(4, "big") + data[64:])
    seal(old)
    empty = folder / "empty.sqlite"
    empty.touch()
    return {
        "missing": folder / "none.sqlite",
        "cut": cut,
        "flipped": flipped,
        "other": other,
        "old": old,
        "empty": empty,
        "folder": folder,
    }


@pytest.mark.parametrize("case", [c for c in CASES if c.reads_base], ids=lambda c: c.name)
def test_a_base_that_is_missing_damaged_or_old(
    kb: Kb, case: Case, base_path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = {"open_snapshot": REAL_OPEN}
    monkeypatch.setattr(opening, "open_snapshot", real["open_snapshot"])
    for name, path in damaged(base_path, folder).items():
        monkeypatch.setenv("KB_DATABASE", str(path))
        said = kb(*case.good)
        assert said.code == 4, name
        assert said.out == ""
        assert "kb build" in said.err
        tidy(said.err)
        tree = json.loads(kb(*case.good, "--json").out)
        assert faults("error", tree) == []
        assert tree["error"]["code"] == 4


REAL_OPEN = opening.open_snapshot


def test_a_base_may_be_read_only(kb: Kb, base_path: Path, folder: Path, monkeypatch) -> None:
    closed = folder / "closed"
    closed.mkdir()
    own = closed / "own.sqlite"
    shutil.copy(base_path, own)
    own.chmod(0o444)
    closed.chmod(0o555)
    try:
        monkeypatch.setattr(opening, "open_snapshot", REAL_OPEN)
        monkeypatch.setenv("KB_DATABASE", str(own))
        assert kb("roles").code == 0
        assert os.listdir(closed) == ["own.sqlite"]
    finally:
        closed.chmod(0o755)


def test_names_alone_answer_like_the_whole(base: Snapshot, base_path: Path) -> None:
    names = opening.open_names(base_path)
    assert names.build == base.build
    assert names.inci == {m.id: m.inci for m in base.materials.values()}
    for text in ("beeswax", "shea buter", "1314-13-2", "PEG-40", "wachs", ""):
        assert names.index.search(text, 20) == base.names.search(text, 20)
