import hashlib
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

import kb.store.build as building
from kb.errors import DatabaseError, SeedError
from kb.store.build import build
from kb.store.opening import open_snapshot
from kb.store.seal import check_seal

ROOT = Path(building.__file__).parents[2]


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def drafts(folder):
    return sorted(p.name for p in folder.iterdir() if p.name.startswith(".kb-"))


def in_a_process(*words, **environment):
    return [sys.executable, "-c", *words], {
        "env": {**os.environ, "PYTHONPATH": str(ROOT), **environment},
        "cwd": ROOT,
    }


BUILD = "import sys; from pathlib import Path; from kb.store.build import build; "
ONCE = BUILD + "build(Path(sys.argv[1]), Path(sys.argv[2]), force=True)"


def test_the_file_holds_every_row(tiny, tmp_path):
    words = []
    counts = build(tiny, tmp_path / "kb.sqlite", progress=words.append)
    assert words == ["reading the seed text", "writing tables", "sealing"]
    connection = sqlite3.connect(tmp_path / "kb.sqlite")
    for table, count in counts.items():
        assert connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == count > 0
    assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert connection.execute("PRAGMA application_id").fetchone()[0] == building.APPLICATION_ID
    assert connection.execute("PRAGMA user_version").fetchone()[0] == building.SCHEMA
    names = connection.execute("SELECT material FROM name_fts WHERE name_fts MATCH 'beeswax'")
    assert names.fetchall() == [("cera-alba",)]
    connection.close()
    assert counts["material"] == 7 and counts["fact"] == 12


def test_empty_cells_are_null_never_zero(tiny_path):
    connection = sqlite3.connect(tiny_path)
    row = connection.execute("SELECT low, high, note FROM play WHERE material = 'aqua'").fetchone()
    assert row == (None, None, None)
    grade = connection.execute("SELECT grade FROM material WHERE material = 'aqua'").fetchone()
    assert grade == (None,)
    connection.close()


def test_everyone_may_read_the_file(tiny_path):
    assert tiny_path.stat().st_mode & 0o777 == 0o644


def test_an_existing_file_needs_force(tiny, tmp_path):
    target = tmp_path / "kb.sqlite"
    target.write_text("mine")
    with pytest.raises(DatabaseError, match="exists") as caught:
        build(tiny, target)
    assert "--force" in caught.value.fix
    assert target.read_text() == "mine"
    build(tiny, target, force=True)
    check_seal(target)


def test_two_builds_are_the_same_bytes(tiny, tmp_path):
    for name in ("a", "b"):
        build(tiny, tmp_path / name)
    assert digest(tmp_path / "a") == digest(tmp_path / "b")


@pytest.mark.parametrize(
    "environment",
    [
        {"PYTHONHASHSEED": "1", "LC_ALL": "C"},
        {"PYTHONHASHSEED": "4242", "LC_ALL": "de_DE.UTF-8", "TZ": "Asia/Tokyo"},
        {"PYTHONHASHSEED": "7", "LC_ALL": "POSIX", "PYTHONUTF8": "0", "PYTHONOPTIMIZE": "1"},
    ],
)
def test_hash_seed_and_locale_do_not_matter(tiny, tiny_path, tmp_path, environment):
    command, options = in_a_process(ONCE, **environment)
    target = tmp_path / "kb.sqlite"
    subprocess.run([*command, str(tiny), str(target)], check=True, **options)
    assert digest(target) == digest(tiny_path)


def test_order_of_rows_and_line_ends_do_not_matter(tiny, tiny_path, tmp_path):
    for path in tiny.rglob("*.csv"):
        header, *rows = path.read_text(encoding="utf-8").splitlines()
        path.write_bytes("\r\n".join([header, *reversed(rows), ""]).encode())
    build(tiny, tmp_path / "kb.sqlite")
    assert open_snapshot(tmp_path / "kb.sqlite").records == open_snapshot(tiny_path).records


STAGES = [
    ("read_seed", OSError(5, "Input/output error")),
    ("lint", RuntimeError("bug")),
    ("seed_hash", SeedError("unreadable", "x", "y")),
    ("_asserted", sqlite3.OperationalError("database or disk is full")),
    ("_computed", MemoryError()),
    ("_roles", KeyboardInterrupt()),
    ("best_of", KeyError("bug")),
    ("seal", OSError(28, "No space left on device")),
    ("os.replace", OSError(13, "Permission denied")),
]


@pytest.mark.parametrize(("stage", "failure"), STAGES)
@pytest.mark.parametrize("existing", [True, False])
def test_a_failure_at_any_stage_leaves_the_old_file(
    tiny, tmp_path, monkeypatch, stage, failure, existing
):
    folder = tmp_path / "out"
    target = folder / "kb.sqlite"
    if existing:
        build(tiny, target)
    before = digest(target) if existing else None

    def fail(*args, **kwargs):
        raise failure

    monkeypatch.setattr(f"kb.store.build.{stage}", fail)
    with pytest.raises(BaseException) as caught:
        build(tiny, target, force=True)
    if isinstance(failure, OSError | sqlite3.Error) and stage != "read_seed":
        assert isinstance(caught.value, DatabaseError)
        assert caught.value.code == 4 and "KB_DATABASE" in caught.value.fix
    assert (digest(target) if existing else None) == before
    assert not folder.exists() or drafts(folder) == []
    monkeypatch.undo()
    build(tiny, target, force=True)
    check_seal(target)


def test_a_folder_that_cannot_be_written(tiny, tmp_path, monkeypatch):
    file = tmp_path / "file"
    file.write_text("x")
    places = [file / "kb.sqlite", Path("/proc/none/kb.sqlite")]
    if os.geteuid() != 0:
        folder = tmp_path / "locked"
        folder.mkdir(mode=0o500)
        places.append(folder / "kb.sqlite")
    for place in places:
        with pytest.raises(DatabaseError) as caught:
            build(tiny, place)
        assert caught.value.code == 4 and "KB_DATABASE" in caught.value.fix

    def refuse(*args, **kwargs):
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(tempfile, "mkstemp", refuse)
    with pytest.raises(DatabaseError, match="Read-only"):
        build(tiny, tmp_path / "kb.sqlite")


def test_a_folder_in_the_place_of_the_file(tiny, tmp_path):
    (tmp_path / "out" / "kb.sqlite").mkdir(parents=True)
    with pytest.raises(DatabaseError):
        build(tiny, tmp_path / "out" / "kb.sqlite", force=True)
    assert drafts(tmp_path / "out") == []


def test_a_full_disk(tiny, tmp_path):
    """A process that may write 64 kB to a file and no more."""
    code = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536))\n"
        "from pathlib import Path; from kb.errors import DatabaseError\n"
        "from kb.store.build import build\n"
        "try: build(Path(sys.argv[1]), Path(sys.argv[2]), force=True)\n"
        "except DatabaseError as error: sys.exit(error.code)"
    )
    target = tmp_path / "out" / "kb.sqlite"
    build(tiny, target)
    before = digest(target)
    command, options = in_a_process(code, PYTHONDONTWRITEBYTECODE="1")
    done = subprocess.run([*command, str(tiny), str(target)], **options)
    assert done.returncode == 4
    assert digest(target) == before and drafts(target.parent) == []


def test_a_killed_build_leaves_the_old_file_and_blocks_nothing(tiny, tmp_path):
    target = tmp_path / "out" / "kb.sqlite"
    build(tiny, target)
    before = digest(target)
    command, options = in_a_process(
        BUILD + "print('go', flush=True)\n"
        "while True: build(Path(sys.argv[1]), Path(sys.argv[2]), force=True)"
    )
    rng = random.Random(9)
    for _ in range(8):
        with subprocess.Popen(
            [*command, str(tiny), str(target)], stdout=subprocess.PIPE, **options
        ) as process:
            process.stdout.readline()
            time.sleep(rng.uniform(0.0, 0.12))
            process.send_signal(signal.SIGKILL)
        assert digest(target) == before
        check_seal(target)
    build(tiny, target, force=True)
    assert digest(target) == before


def test_old_drafts_are_cleared_away_and_fresh_ones_left(tiny, tmp_path):
    old, fresh = tmp_path / ".kb-old.part", tmp_path / ".kb-new.part"
    for path in (old, fresh):
        path.write_text("x")
    os.utime(old, (0, 0))
    build(tiny, tmp_path / "kb.sqlite")
    assert drafts(tmp_path) == [".kb-new.part"]


def test_readers_see_the_old_or_the_new_file_never_a_part(tiny, tiny_path, tmp_path):
    target = tmp_path / "kb.sqlite"
    build(tiny, target)
    command, options = in_a_process(
        BUILD + "print('go', flush=True)\n"
        "for _ in range(6): build(Path(sys.argv[1]), Path(sys.argv[2]), force=True)"
    )
    with subprocess.Popen(
        [*command, str(tiny), str(target)], stdout=subprocess.PIPE, **options
    ) as process:
        process.stdout.readline()
        seen = 0
        while process.poll() is None or seen == 0:
            assert len(open_snapshot(target).materials) == 7
            seen += 1
        assert process.returncode == 0


def test_faults_of_the_seed_stop_the_build(tiny, tmp_path):
    with (tiny / "roles.csv").open("a", encoding="utf-8") as stream:
        stream.write("stray,nowhere,stray,Nothing above,function-lost,yes\n")
    with pytest.raises(SeedError, match="roles.csv:11"):
        build(tiny, tmp_path / "kb.sqlite")
