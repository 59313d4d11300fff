import random
import re
import shutil
import sqlite3
import warnings

import pytest

from kb.errors import DatabaseError
from kb.store import opening
from kb.store.build import build
from kb.store.opening import connect, default_path, ensure_file, open_snapshot
from kb.store.seal import check_seal, seal
from kb.store.seed import seed_folder, seed_hash


@pytest.fixture
def copy(tiny_path, tmp_path):
    return shutil.copy(tiny_path, tmp_path / "kb.sqlite")


def refused(path):
    with pytest.raises(DatabaseError) as caught:
        open_snapshot(path)
    error = caught.value
    assert error.code == 4 and error.message
    assert error.where == str(path)
    assert "kb build" in error.fix
    return error


def resealed(path, change):
    """Change a file with SQL and give it a seal that holds."""
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = MEMORY")
    change(connection)
    connection.commit()
    connection.close()
    data = re.sub(
        rb"content-sha256:[0-9a-f]{64}", b"content-sha256:" + b"0" * 64, path.read_bytes()
    )
    path.write_bytes(data)
    seal(path)
    return path


def test_a_sealed_file_opens(copy):
    check_seal(copy)
    assert len(open_snapshot(copy).materials) == 7


def test_any_flipped_byte_is_seen(copy):
    good = copy.read_bytes()
    rng = random.Random(11)
    mark = good.index(b"content-sha256:")
    places = [rng.randrange(len(good)) for _ in range(100)]
    for place in [*places, 0, 20, mark, mark + 20, len(good) - 1]:
        data = bytearray(good)
        data[place] ^= 1 << rng.randrange(8)
        copy.write_bytes(data)
        refused(copy)
    copy.write_bytes(good)
    check_seal(copy)


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data[: len(data) // 2],
        lambda data: data[:-1],
        lambda data: data + b"\0",
        lambda data: data + data,
        lambda data: b"",
        lambda data: b"just text",
        lambda data: b"SQLite format 3\0",
        lambda data: data.replace(b"content-sha256:", b"content-sha512:"),
        lambda data: bytes(len(data)),
    ],
)
def test_damaged_files_are_refused(copy, change):
    copy.write_bytes(change(copy.read_bytes()))
    refused(copy)


def test_files_of_others_are_refused(tmp_path):
    path = tmp_path / "other.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE build (seed_hash TEXT)")
    connection.commit()
    connection.close()
    assert "not ours" in refused(path).message


def test_a_missing_file_and_a_folder(tmp_path):
    assert "missing" in refused(tmp_path / "none.sqlite").message
    refused(tmp_path)


@pytest.mark.parametrize(("version", "word"), [(0, "older"), (99, "newer")])
def test_another_schema_is_refused(copy, version, word):
    resealed(copy, lambda c: c.execute(f"PRAGMA user_version = {version}"))
    check_seal(copy)
    assert word in refused(copy).message


@pytest.mark.parametrize(
    "statement",
    [
        "DROP TABLE snapshot",
        "DELETE FROM snapshot",
        "DELETE FROM snapshot WHERE part = 'roles'",
        "UPDATE snapshot SET data = x'00' WHERE part = 'names'",
        "UPDATE snapshot SET data = CAST('[[1]]' AS BLOB) WHERE part = 'materials'",
        "UPDATE snapshot SET data = CAST('{\"a\": {\"b\": [1]}}' AS BLOB) WHERE part = 'known'",
        "UPDATE snapshot SET data = CAST('[]' AS BLOB) WHERE part = 'known'",
    ],
)
def test_a_sealed_file_with_other_content_is_refused(copy, statement):
    resealed(copy, lambda c: c.execute(statement))
    refused(copy)


def test_connections_cannot_write(tiny_path):
    connection = connect(tiny_path)
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        connection.execute("DELETE FROM material")
    connection.close()
    assert not list(tiny_path.parent.glob("*-journal")) + list(tiny_path.parent.glob("*-wal"))


def test_a_path_with_odd_signs(tiny_path, tmp_path):
    path = tmp_path / "a b?c#d%20é" / "kb.sqlite"
    path.parent.mkdir()
    shutil.copy(tiny_path, path)
    assert len(open_snapshot(path).materials) == 7


def test_no_connection_is_left_open(copy):
    with warnings.catch_warnings():
        warnings.simplefilter("error", ResourceWarning)
        open_snapshot(copy)
        resealed(copy, lambda c: c.execute("PRAGMA user_version = 99"))
        refused(copy)


def test_a_named_file_is_used(tiny_path, monkeypatch):
    monkeypatch.setenv("KB_DATABASE", str(tiny_path))
    assert default_path() == tiny_path
    assert ensure_file() == tiny_path
    assert len(open_snapshot().materials) == 7


def test_a_named_file_is_never_built_unasked(tmp_path, monkeypatch):
    monkeypatch.setenv("KB_DATABASE", str(tmp_path / "none.sqlite"))
    with pytest.raises(DatabaseError, match="KB_DATABASE") as caught:
        ensure_file()
    assert "kb build" in caught.value.fix and list(tmp_path.iterdir()) == []


def test_a_named_file_may_start_at_home(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("KB_DATABASE", "~/kb.sqlite")
    assert default_path() == tmp_path / "kb.sqlite"


def test_the_cached_name_carries_schema_seed_and_code(tmp_path, monkeypatch):
    monkeypatch.delenv("KB_DATABASE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    path = default_path()
    assert path.is_relative_to(tmp_path)
    assert path.name.startswith(f"kb-{opening.SCHEMA}-{seed_hash(seed_folder())[:12]}-")
    assert default_path() == path
    monkeypatch.setattr(opening, "seed_hash", lambda folder: "0" * 64)
    assert default_path() != path


def test_the_cached_file_is_built_on_first_use_and_kept(tiny, tmp_path, monkeypatch):
    monkeypatch.delenv("KB_DATABASE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(opening, "seed_folder", lambda: tiny)
    path = ensure_file()
    stamp = path.stat().st_mtime_ns
    assert open_snapshot().build == seed_hash(tiny)
    assert ensure_file() == path and path.stat().st_mtime_ns == stamp


def test_another_process_may_build_it_first(tiny, tmp_path, monkeypatch):
    monkeypatch.delenv("KB_DATABASE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(opening, "seed_folder", lambda: tiny)

    def overtaken(folder, target):
        build(folder, target)
        raise DatabaseError("The file exists already.", str(target), "Add --force.")

    monkeypatch.setattr("kb.store.build.build", overtaken)
    assert len(open_snapshot(ensure_file()).materials) == 7


def test_schema_numbers_agree():
    from kb.store import build as building

    assert building.SCHEMA == opening.SCHEMA
