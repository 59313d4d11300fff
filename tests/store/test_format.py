import csv
import io
import random

import pytest

from kb.errors import SeedError
from kb.store.format import format_seed
from kb.store.lint import lint
from kb.store.seed import read_seed


def contents(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*.csv")}


def test_formatting_twice_changes_nothing(tiny):
    first = format_seed(tiny, check=False)
    text = contents(tiny)
    assert format_seed(tiny, check=False) == []
    assert format_seed(tiny, check=True) == []
    assert contents(tiny) == text
    assert "roles.csv" in first


def test_a_check_writes_nothing(tiny):
    before = contents(tiny)
    assert format_seed(tiny, check=True)
    assert contents(tiny) == before


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_what_a_spreadsheet_does_is_undone(tiny, mark):
    format_seed(tiny, check=False)
    before = contents(tiny)
    rng = random.Random(3)
    for path in tiny.rglob("*.csv"):
        header, *rows = csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline=""))
        rng.shuffle(rows)
        out = io.StringIO(newline="")
        writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
        writer.writerow([*header, ""])
        for row in rows:
            writer.writerow([f" {cell}" for cell in row] + [""])
        writer.writerow([""] * (len(header) + 1))
        path.write_bytes(mark + out.getvalue().encode())
    assert lint(read_seed(tiny))
    assert len(format_seed(tiny, check=False)) == len(before)
    assert contents(tiny) == before
    assert lint(read_seed(tiny)) == []


@pytest.mark.parametrize(
    "raw", [b"\xff\n", b"other,header\n", b"name,material,language,kind\na,b\n"]
)
def test_a_file_that_cannot_be_read_is_left_alone_and_named(tiny, raw):
    format_seed(tiny, check=False)
    (tiny / "names.csv").write_bytes(raw)
    assert format_seed(tiny, check=False) == []
    assert (tiny / "names.csv").read_bytes() == raw
    assert format_seed(tiny, check=True) == ["names.csv"]


def test_a_file_that_cannot_be_written_stays_whole(tiny, monkeypatch):
    def full(*args):
        raise OSError(28, "No space left on device")

    before = contents(tiny)
    monkeypatch.setattr("kb.store.format.os.replace", full)
    with pytest.raises(SeedError, match="No space"):
        format_seed(tiny, check=False)
    assert contents(tiny) == before
    assert not list(tiny.rglob("*.part"))
