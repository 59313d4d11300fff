"""The shipped seed text: built twice alike, fast enough, and safe in a spreadsheet."""

import csv
import hashlib
import io
import random
import shutil
import time

import pytest

from kb.store.build import build
from kb.store.format import format_seed
from kb.store.lint import lint
from kb.store.seed import read_seed, seed_folder

WANTED_S = 10.0


def test_two_builds_are_the_same_bytes_and_take_less_than_ten_seconds(tmp_path):
    started = time.process_time()
    build(seed_folder(), tmp_path / "one.sqlite")
    took = time.process_time() - started
    # From a copy in another place: neither path nor clock may leave a trace.
    shutil.copytree(seed_folder(), tmp_path / "seed")
    build(tmp_path / "seed", tmp_path / "two.sqlite")
    digests = {hashlib.sha256(path.read_bytes()).digest() for path in tmp_path.glob("*.sqlite")}
    print(f"one build: {took:.1f} s of processor time")
    assert len(digests) == 1
    assert took < WANTED_S


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "byte order mark"])
@pytest.mark.parametrize("quoting", [csv.QUOTE_ALL, csv.QUOTE_MINIMAL], ids=["all", "few"])
def test_every_seed_file_survives_a_spreadsheet(tmp_path, mark, quoting):
    """Saved as a spreadsheet saves: CRLF, its own quotes, rows resorted, an empty column."""
    seed = tmp_path / "seed"
    shutil.copytree(seed_folder(), seed)
    before = {p: p.read_bytes() for p in seed.rglob("*.csv")}
    rng = random.Random(3)
    for path in before:
        header, *rows = csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline=""))
        rng.shuffle(rows)
        out = io.StringIO(newline="")
        writer = csv.writer(out, quoting=quoting, lineterminator="\r\n")
        writer.writerow([*header, ""])
        writer.writerows([*row, ""] for row in rows)
        path.write_bytes(mark + out.getvalue().encode())
    assert len(format_seed(seed, check=False)) == len(before)
    assert {p: p.read_bytes() for p in before} == before


def spoilt(path, line, column, text):
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
    place = rows[0].index(column)
    rows[line - 1][place] = text
    with path.open("w", encoding="utf-8", newline="") as handle:
        csv.writer(handle, lineterminator="\n").writerows(rows)


@pytest.mark.parametrize(
    ("file", "column", "text"),
    [
        ("materials/liquids.csv", "cas", "1957-12-05"),
        ("facts/density.csv", "value", "0,914"),
        ("facts/density.csv", "value", "05.12.2001"),
        ("facts/viscosity.csv", "value", "6.1E+01"),
        ("names.csv", "name", "“shea”"),
        ("compositions.csv", "low", "12-May"),
    ],
)
def test_what_a_spreadsheet_changes_for_good_is_named(tmp_path, file, column, text):
    seed = tmp_path / "seed"
    shutil.copytree(seed_folder(), seed)
    spoilt(seed / file, 7, column, text)
    problems = [p for p in lint(read_seed(seed)) if p.file == file]
    assert any((p.line, p.column, p.read) == (7, column, text) for p in problems)
