"""A user file of each earlier schema opens: nothing lost, a copy of it kept first."""

import os
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from kb.own import file as own_file
from kb.own.content import last_changes, read_content, undo
from kb.own.copies import restore

EARLIER = Path(__file__).parent / "earlier"
SCHEMAS = sorted(int(path.stem.split("-")[1]) for path in EARLIER.glob("schema-*.sql"))


def as_file(schema: int, path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript((EARLIER / f"schema-{schema}.sql").read_text("utf-8"))
        assert raw.execute("PRAGMA user_version").fetchone()[0] == schema
    return path


def test_there_is_a_file_of_each_earlier_schema() -> None:
    assert list(range(1, len(own_file.MIGRATIONS))) == SCHEMAS


@pytest.mark.parametrize("schema", SCHEMAS)
def test_it_opens_with_all_that_was_in_it_and_a_copy_is_kept(schema: int, own: Path) -> None:
    before = as_file(schema, own).read_bytes()
    content = read_content(own)
    assert [row["material"] for row in content["material"]] == ["own-meadow-butter"]
    assert content["shelf"][0]["supplier"] == "the cooperative"
    measured = content["measurement"][0]
    assert (measured["value"], measured["spindle"], measured["recipe"]) == (42000.0, "4", "")
    # What the user read on a sheet is not called published any more.
    assert {row["evidence"] for t in ("play", "fact") for row in content[t]} == {"data sheet"}
    kept = [path for path in own.parent.iterdir() if path != own]
    assert len(kept) == 1 and f"schema-{schema}" in kept[0].name
    with closing(sqlite3.connect(kept[0])) as raw:
        assert raw.execute("PRAGMA user_version").fetchone()[0] == schema
        assert raw.execute("SELECT count(*) FROM measurement").fetchone()[0] == 1
    # A change made before can still be taken back.
    assert last_changes(own)[0]["what"] == "measured consistency of a cream"
    undo(own)
    assert read_content(own)["measurement"] == []
    own.write_bytes(before)
    assert read_content(own) == content


@pytest.mark.parametrize("schema", SCHEMAS)
def test_an_old_copy_is_brought_back_without_being_touched(
    schema: int, own: Path, tmp_path: Path
) -> None:
    copy = as_file(schema, tmp_path / "copies" / "old.sqlite")
    before = copy.read_bytes()
    restore(own, copy)
    assert read_content(own)["measurement"][0]["value"] == 42000.0
    assert copy.read_bytes() == before
    assert [path.name for path in copy.parent.iterdir()] == ["old.sqlite"]


@pytest.mark.parametrize("schema", SCHEMAS)
def test_killed_while_it_is_brought_up_to_date_it_is_old_or_new(schema: int, own: Path) -> None:
    as_file(schema, own)
    before = own.read_bytes()
    code = (
        "import sys; from pathlib import Path; from kb.own.content import read_content\n"
        "print('ready', flush=True); read_content(Path(sys.argv[1]))"
    )
    root = str(Path(__file__).parents[2])
    wanted = None
    for n in range(8):
        own.write_bytes(before)
        with subprocess.Popen(
            [sys.executable, "-c", code, str(own)],
            env={**os.environ, "PYTHONPATH": root},
            stdout=subprocess.PIPE,
        ) as reader:
            assert reader.stdout is not None and reader.stdout.readline() == b"ready\n"
            time.sleep(0.003 * n)
            reader.kill()
        content = read_content(own)
        wanted = wanted or content
        assert content == wanted
