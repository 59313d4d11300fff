"""Nothing of the user's is ever lost: two at once, full disk, kills, damage, other schemas."""

import os
import random
import shutil
import signal
import sqlite3
import stat
import subprocess
import sys
import time
from contextlib import closing, suppress
from pathlib import Path

import pytest

from kb.errors import DatabaseError, UsageError
from kb.own import file as own_file
from kb.own.content import changing, last_changes, read_content, undo
from kb.own.copies import backup, restore
from kb.own.tables import TABLES

ROOT = Path(__file__).parents[2]


def stock(name: str, grams: float = 1.0, lot: str = "") -> dict[str, object]:
    row: dict[str, object] = dict.fromkeys(("currency", "supplier", "expiry"), "")
    return {**row, "name": name, "lot": lot, "stock_g": grams, "price": None, "pack_g": None}


def put(path: Path, *names: str, grams: float = 1.0) -> None:
    with changing(path, "put " + ", ".join(names)) as change:
        for name in names:
            change.put("shelf", stock(name, grams))


def names(path: Path) -> list[str]:
    return [str(row["name"]) for row in read_content(path)["shelf"]]


def test_a_missing_or_empty_file_is_an_empty_world(own: Path) -> None:
    assert set(read_content(own)) == {table.name for table in TABLES}
    assert names(own) == []
    assert not own.parent.exists()
    own.parent.mkdir()
    own.touch()
    assert names(own) == []
    put(own, "Shea butter")
    assert names(own) == ["Shea butter"]


def test_what_the_file_says_of_itself(own: Path) -> None:
    put(own, "Shea butter")
    assert [p.name for p in own.parent.iterdir()] == ["own.sqlite"]
    assert stat.S_IMODE(own.stat().st_mode) == 0o600
    with closing(sqlite3.connect(own)) as raw:
        assert raw.execute("PRAGMA application_id").fetchone()[0] == own_file.APPLICATION_ID
        assert raw.execute("PRAGMA user_version").fetchone()[0] == len(own_file.MIGRATIONS)
        assert raw.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
        for (sql,) in raw.execute("SELECT sql FROM sqlite_master WHERE type = 'table'"):
            assert sql.rstrip().endswith("STRICT"), sql
        with pytest.raises(sqlite3.IntegrityError):
            raw.execute("UPDATE shelf SET stock_g = 'a jar'")
        for table in TABLES:
            found = [row[1] for row in raw.execute(f"PRAGMA table_info({table.name})")]
            assert sorted(found) == sorted(table.columns)


def test_the_place_follows_the_platform_unless_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("KB_OWN", raising=False)
    monkeypatch.setattr("platformdirs.user_data_dir", lambda name: f"there/{name}")
    assert own_file.own_path() == Path("there/like-for-like/own.sqlite")
    monkeypatch.setenv("KB_OWN", "here.sqlite")
    assert own_file.own_path() == Path("here.sqlite")


def test_undo_goes_back_step_by_step(own: Path) -> None:
    put(own, "Shea butter", grams=1)
    put(own, "Shea butter", "Beeswax", grams=2)
    with changing(own, "dropped all") as change:
        assert change.drop("shelf") == 2
    assert [c["what"] for c in last_changes(own)][0] == "dropped all"
    assert undo(own) == "dropped all"
    assert {r["name"]: r["stock_g"] for r in read_content(own)["shelf"]} == {
        "Shea butter": 2.0,
        "Beeswax": 2.0,
    }
    assert undo(own) == "put Shea butter, Beeswax"
    assert [(r["name"], r["stock_g"]) for r in read_content(own)["shelf"]] == [("Shea butter", 1.0)]
    undo(own)
    assert names(own) == []
    with pytest.raises(UsageError):
        undo(own)


def test_only_so_much_is_kept_for_undo(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kb.own.content.KEPT_CHANGES", 3)
    for n in range(5):
        put(own, f"n{n}")
    assert [c["what"] for c in last_changes(own, 9)] == ["put n4", "put n3", "put n2"]
    monkeypatch.setattr("kb.own.content.KEPT_CHARACTERS", 10)
    put(own, "n5")
    assert [c["what"] for c in last_changes(own, 9)] == ["put n5"]
    assert len(names(own)) == 6


def test_a_change_that_fails_half_way_leaves_nothing(own: Path) -> None:
    put(own, "Shea butter")
    before = own.read_bytes()
    with pytest.raises(ZeroDivisionError), changing(own, "half") as change:
        change.put("shelf", stock("Beeswax"))
        raise ZeroDivisionError
    assert own.read_bytes() == before


def test_two_processes_at_once_both_get_their_write(own: Path) -> None:
    put(own, "start")
    code = (
        "import sys; from pathlib import Path; from tests.own.test_file import put\n"
        "for n in range(15): put(Path(sys.argv[1]), f'{sys.argv[2]}{n:02}')"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    running = [
        subprocess.Popen([sys.executable, "-c", code, str(own), word], env=environment)
        for word in ("a", "b")
    ]
    assert [one.wait(60) for one in running] == [0, 0]
    wanted = [f"{word}{n:02}" for word in "ab" for n in range(15)] + ["start"]
    assert names(own) == sorted(wanted)


def test_a_writer_that_holds_on_is_told_of(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(own_file, "WAIT_S", 0.05)
    put(own, "Shea butter")
    with closing(sqlite3.connect(own, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(DatabaseError, match="Another process") as caught:
            put(own, "Beeswax")
        assert caught.value.code == 4
        assert names(own) == ["Shea butter"]
    put(own, "Beeswax")
    assert names(own) == ["Beeswax", "Shea butter"]


def test_a_full_disk_changes_nothing(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(own, "Shea butter")
    before = own.read_bytes()
    real = own_file.open_file

    def small(path: Path, mode: str) -> sqlite3.Connection:
        connection = real(path, mode)
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")
        return connection

    monkeypatch.setattr(own_file, "open_file", small)
    with pytest.raises(DatabaseError, match="disk is full") as caught:
        put(own, *(f"Material {n} {'x' * 200}" for n in range(200)))
    assert caught.value.code == 4
    assert own.read_bytes() == before
    monkeypatch.setattr(own_file, "open_file", real)
    assert names(own) == ["Shea butter"]
    assert os.listdir(own.parent) == ["own.sqlite"]


def test_a_size_limit_of_the_system_is_met_the_same_way(own: Path) -> None:
    resource = pytest.importorskip("resource")
    put(own, "Shea butter")
    size = own.stat().st_size

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    code = (
        "import sys; from pathlib import Path; from kb.errors import DatabaseError\n"
        "from tests.own.test_file import put\n"
        "try: put(Path(sys.argv[1]), *(f'{n} ' + 'x' * 200 for n in range(400)))\n"
        "except DatabaseError as error: print(error.message); sys.exit(error.code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(own)],
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        preexec_fn=limit,
        capture_output=True,
        timeout=60,
    )
    assert (done.returncode, b"disk is full" in done.stdout) == (4, True), done.stderr
    assert names(own) == ["Shea butter"]


@pytest.fixture
def refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Writing is refused, for a superuser too, as in a folder that may only be read."""
    real = own_file.open_file
    monkeypatch.setattr(own_file, "open_file", lambda path, mode: real(path, "ro"))


def test_a_read_only_file_is_read_and_not_written(own: Path, refused: None) -> None:
    with pytest.raises(DatabaseError, match="cannot be opened") as caught:
        put(own, "Beeswax")
    assert caught.value.code == 4
    assert "KB_OWN" in caught.value.fix


def test_a_read_only_folder_is_read_and_not_written(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(own, "Shea butter")
    own.chmod(0o400)
    own.parent.chmod(0o500)
    try:
        if os.access(own, os.W_OK):
            real = own_file.open_file
            monkeypatch.setattr(own_file, "open_file", lambda path, mode: real(path, "ro"))
        assert names(own) == ["Shea butter"]
        with pytest.raises(DatabaseError, match="cannot be opened") as caught:
            put(own, "Beeswax")
        assert "KB_OWN" in caught.value.fix
        assert os.listdir(own.parent) == ["own.sqlite"]
    finally:
        own.parent.chmod(0o700)


def test_a_folder_that_cannot_be_made_is_told_of(own: Path) -> None:
    own.parent.write_text("a file where the folder should be")
    assert names(own) == []
    with pytest.raises(DatabaseError, match="cannot be opened"):
        put(own, "Beeswax")


WRITER = """
import sys
from pathlib import Path
from kb.own.content import changing
from tests.own.test_file import stock
n = int(sys.argv[2])
print("ready", flush=True)
while True:
    with changing(Path(sys.argv[1]), "more") as change:
        for part in range(3):
            change.put("shelf", stock(f"{n:06}", lot=str(part)))
    print(n, flush=True)
    n += 1
"""


def test_killed_at_25_random_moments_nothing_that_was_said_is_lost(own: Path) -> None:
    put(own, "start")
    chance = random.Random(7)
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = 0
    for _ in range(25):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(own), str(done)],
            env=environment,
            stdout=subprocess.PIPE,
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == b"ready\n"
            time.sleep(chance.uniform(0.0, 0.06))
            writer.kill()
            said = [int(line) for line in writer.stdout.read().split()]
        written: dict[str, int] = {}
        for name in names(own):
            written[name] = written.get(name, 0) + 1
        written.pop("start")
        assert set(written.values()) <= {3}
        assert {f"{n:06}" for n in said} <= set(written)
        # One more than was said may have been written before the kill; no other.
        assert len(written) - (said[-1] + 1 if said else done) in {0, 1}
        done = len(written)
    assert done > 0
    put(own, "end")
    assert os.listdir(own.parent) == ["own.sqlite"]


def test_a_half_done_write_is_taken_back_by_a_reader(own: Path) -> None:
    put(own, "Shea butter")
    code = (
        "import os, sqlite3, sys\n"
        "c = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "c.execute('PRAGMA cache_size = 1'); c.execute('PRAGMA cache_spill = 1')\n"
        "c.execute('BEGIN IMMEDIATE')\n"
        'for n in range(4000): c.execute("INSERT INTO shelf VALUES '
        "(?, '', 1, NULL, NULL, '', '', '')\", (f'{n}' + 'x' * 300,))\n"
        "os.kill(os.getpid(), 9)"
    )
    subprocess.run([sys.executable, "-c", code, str(own)], timeout=60)
    assert Path(f"{own}-journal").exists()
    assert own.stat().st_size > 500_000
    assert names(own) == ["Shea butter"]


def test_a_newer_schema_is_refused_untouched(own: Path) -> None:
    put(own, "Shea butter")
    with closing(sqlite3.connect(own)) as raw:
        raw.execute(f"PRAGMA user_version = {len(own_file.MIGRATIONS) + 1}")
    before = own.read_bytes()
    for act in (lambda: names(own), lambda: put(own, "Beeswax"), lambda: undo(own)):
        with pytest.raises(DatabaseError, match="newer than this program") as caught:
            act()
        assert caught.value.code == 4
    assert own.read_bytes() == before
    assert os.listdir(own.parent) == ["own.sqlite"]


def test_another_programs_file_is_refused_untouched(own: Path) -> None:
    own.parent.mkdir()
    with closing(sqlite3.connect(own)) as raw:
        raw.execute("CREATE TABLE theirs (a)")
    before = own.read_bytes()
    with pytest.raises(DatabaseError, match="no file of your own world"):
        put(own, "Beeswax")
    assert own.read_bytes() == before


@pytest.mark.parametrize("how", ["cut", "flipped", "text", "value"])
def test_a_damaged_file_is_told_of_and_a_copy_brings_it_back(
    own: Path, tmp_path: Path, how: str
) -> None:
    put(own, "Shea butter", "Beeswax")
    copy = tmp_path / "copy.sqlite"
    backup(own, copy)
    good = own.read_bytes()
    if how == "cut":
        own.write_bytes(good[: len(good) // 2])
    elif how == "flipped":
        place = good.rindex(b"Shea butter")
        own.write_bytes(good[:place] + b"X" + good[place + 1 :])
    elif how == "text":
        own.write_text("no database at all")
    else:
        with closing(sqlite3.connect(own)) as raw:
            raw.execute("UPDATE shelf SET stock_g = 7")
            raw.commit()
    spoilt = own.read_bytes()
    for act in (lambda: names(own), lambda: put(own, "Jojoba oil"), lambda: undo(own)):
        with pytest.raises(DatabaseError, match="damaged") as caught:
            act()
        assert caught.value.code == 4
        assert "kb own restore" in caught.value.fix
    assert own.read_bytes() == spoilt
    aside = restore(own, copy)
    assert aside is not None and aside.read_bytes() == spoilt
    assert names(own) == ["Beeswax", "Shea butter"]


def test_backup_and_restore(own: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError):
        backup(own, tmp_path / "none.sqlite")
    put(own, "Shea butter")
    copy = tmp_path / "copy.sqlite"
    backup(own, copy)
    before = copy.read_bytes()
    put(own, "Beeswax")
    assert restore(own, copy) is None
    assert names(own) == ["Shea butter"]
    assert copy.read_bytes() == before
    undo(own)
    assert names(own) == ["Beeswax", "Shea butter"]
    for wrong in (tmp_path / "none.sqlite", tmp_path, own):
        with pytest.raises(UsageError):
            restore(own, wrong)
    (tmp_path / "text.sqlite").write_text("no copy")
    with pytest.raises(DatabaseError):
        restore(own, tmp_path / "text.sqlite")
    assert names(own) == ["Beeswax", "Shea butter"]


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program whose schema is one further."""
    real = own_file._script
    step = "ALTER TABLE change ADD COLUMN who TEXT NOT NULL DEFAULT '';\n"
    monkeypatch.setattr(own_file, "_script", lambda name: step if name == "two" else real(name))
    monkeypatch.setattr(own_file, "MIGRATIONS", (*own_file.MIGRATIONS, "two"))


def test_an_older_schema_is_migrated_with_a_copy_kept(
    own: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    put(own, "Shea butter")
    old = own.read_bytes()
    request.getfixturevalue("later")
    assert names(own) == ["Shea butter"]
    kept = [p for p in own.parent.iterdir() if p != own]
    assert len(kept) == 1 and f"schema-{len(own_file.MIGRATIONS) - 1}" in kept[0].name
    with closing(sqlite3.connect(own)) as raw:
        assert raw.execute("PRAGMA user_version").fetchone()[0] == len(own_file.MIGRATIONS)
        assert raw.execute("SELECT who FROM change").fetchall() == [("",)]
    own.write_bytes(old)
    put(own, "Beeswax")
    assert names(own) == ["Beeswax", "Shea butter"]


def test_a_migration_that_fails_changes_nothing(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(own, "Shea butter")
    before = own.read_bytes()
    real = own_file._script
    bad = "ALTER TABLE change ADD COLUMN who TEXT;\nDROP TABLE not_there;\n"
    monkeypatch.setattr(own_file, "_script", lambda name: bad if name == "two" else real(name))
    monkeypatch.setattr(own_file, "MIGRATIONS", (*own_file.MIGRATIONS, "two"))
    with pytest.raises(DatabaseError):
        names(own)
    assert own.read_bytes() == before
    now = len(own_file.MIGRATIONS) - 1
    kept = next(p for p in own.parent.iterdir() if f"schema-{now}" in p.name)
    monkeypatch.undo()
    assert names(own) == names(kept) == ["Shea butter"]


def test_a_copy_in_the_making_never_replaces_a_whole_one(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(own, "Shea butter")
    copy = tmp_path / "copy.sqlite"
    backup(own, copy)
    whole = copy.read_bytes()
    put(own, "Beeswax")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(own_file.os, "fsync", full)
    with pytest.raises(DatabaseError):
        backup(own, copy)
    assert copy.read_bytes() == whole
    assert [p.name for p in tmp_path.glob("*.part")] == []
    shutil.rmtree(own.parent)


def test_a_disk_that_is_really_full_loses_nothing(own: Path, tmp_path: Path) -> None:
    place = tmp_path / "small"
    place.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=192k", "tmpfs", str(place)], capture_output=True
    )
    if made.returncode:
        pytest.skip("no small disk may be mounted here")
    try:
        path = place / "own.sqlite"
        put(path, "Shea butter")
        before = path.read_bytes()
        with pytest.raises(DatabaseError, match="disk is full") as caught:
            put(path, *(f"Material {n} {'x' * 200}" for n in range(2000)))
        assert caught.value.code == 4
        assert names(path) == ["Shea butter"]
        assert path.read_bytes() == before
        with suppress(OSError):
            (place / "rest").write_bytes(b"x" * 1_000_000)
        with pytest.raises(DatabaseError, match="disk is full"):
            backup(path, place / "copy.sqlite")
        assert not (place / "copy.sqlite").exists()
        assert names(path) == ["Shea butter"]
        (place / "rest").unlink()
        put(path, "Beeswax")
        assert names(path) == ["Beeswax", "Shea butter"]
    finally:
        subprocess.run(["umount", str(place)], check=True)
