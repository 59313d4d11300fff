"""The table that is written says what was answered, in either format."""

import sqlite3
from contextlib import closing

import pytest

from kb.errors import UsageError
from kb.report.folder import COLUMNS, rows_of
from kb.store import results
from kb.store.results import check_ending, write_rows


def test_sqlite_holds_every_line(asked, tmp_path):
    path = tmp_path / "lines.sqlite"
    rows = rows_of(asked)
    write_rows(str(path), COLUMNS, rows)
    with closing(sqlite3.connect(path)) as connection:
        found = connection.execute("SELECT * FROM line").fetchall()
        names = [c[1] for c in connection.execute("PRAGMA table_info(line)")]
    assert names == list(COLUMNS)
    assert found == [tuple(row.get(name) for name in COLUMNS) for row in rows]
    assert len(found) == sum(len(a["lines"]) for a in asked) + 1


def test_parquet_holds_the_same(asked, tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet")
    rows = rows_of(asked)
    write_rows(str(tmp_path / "lines.parquet"), COLUMNS, rows)
    found = parquet.read_table(tmp_path / "lines.parquet").to_pylist()
    assert found == [{name: row.get(name) for name in COLUMNS} for row in rows]


def test_nothing_is_left_when_writing_fails(tmp_path):
    path = tmp_path / "lines.sqlite"
    path.write_bytes(b"before")
    with pytest.raises(UsageError):
        write_rows(str(path), {"line": int}, [{"line": "three"}])
    assert path.read_bytes() == b"before"
    assert [p.name for p in tmp_path.iterdir()] == ["lines.sqlite"]


def test_another_ending_or_a_missing_library_is_told(monkeypatch):
    with pytest.raises(UsageError, match=r"\.csv"):
        check_ending("lines.csv")
    monkeypatch.setattr(results, "find_spec", lambda name: None)
    with pytest.raises(UsageError, match="pyarrow") as caught:
        check_ending("lines.parquet")
    assert "like-for-like[scale]" in caught.value.fix
    check_ending("lines.sqlite")
