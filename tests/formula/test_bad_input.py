import io
import os
import sys
from pathlib import Path

import pytest

from kb.errors import FormulaError
from kb.formula.reading import MAX_BYTES, MAX_LINES, parse_formula, read_formula


def refused(text, origin="a.toml"):
    with pytest.raises(FormulaError) as caught:
        parse_formula(text, origin)
    return checked(caught.value)


def refused_file(path):
    with pytest.raises(FormulaError) as caught:
        read_formula(str(path))
    return checked(caught.value)


def checked(error):
    assert error.code == 3
    assert error.message and error.where and error.fix
    assert error.fix != "Run `kb --help` for the commands and their options."
    assert len(error.message) < 500
    assert all(character.isprintable() for character in error.message)
    return error


def line(name="X", percent="5"):
    return f'[[line]]\ningredient = "{name}"\npercent = {percent}\n'


@pytest.mark.parametrize(
    ("percent", "read"),
    [
        ("-1", "-1"),
        ("100.5", "100.5"),
        ("1e300", "1e+09"),
        ("9" * 40, "1e+09"),
        ("nan", "nan"),
        ("true", "True"),
        ('"some"', "some"),
        ('"2-3"', "2-3"),
        ('"-5"', "-5"),
        ('"1 kg"', "1 kg"),
        ('"350"', "350"),
        ('""', "''"),
        ("[1]", "[1]"),
        ("{a = 1}", "{'a': 1}"),
        ("2024-01-02", "datetime.date"),
    ],
)
def test_a_percent_that_is_none(percent, read):
    error = refused(line("Water", "50") + line(percent=percent))
    assert "'X'" in error.message and read in error.message
    assert error.where == "a.toml:4"


@pytest.mark.parametrize(
    ("row", "fix"),
    [
        ("percent = 2,5", "point"),
        ("percent = q.s.", '"q.s."'),
        ("percent = ad 100", '"q.s."'),
        ("percent = 2.5 %", "bare number"),
        ("stage = oil", "quotes"),
        ("percent 5", "one key a line"),
        ("percent = inf inf", ""),
    ],
)
def test_broken_toml_names_line_and_cure(row, fix):
    error = refused(f'[[line]]\ningredient = "X"\n{row}\n')
    assert error.where == "a.toml:3"
    assert fix in error.fix


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('name = "x"', "[[line]]"),
        ('[[lines]]\ningredient = "X"\npercent = 5', "`lines`"),
        ('line = "Water"', "[[line]]"),
        ("line = [1, 2]", "not a table"),
        ("line = []", "[[line]]"),
        ("[[line]]\npercent = 5", "ingredient"),
        ('[[line]]\ningredient = " "\npercent = 5', "ingredient"),
        ("[[line]]\ningredient = 5\npercent = 5", "ingredient"),
        ('[[line]]\ningredient = "X"', "percent"),
        ('[[line]]\ningredient = "X"\npercnt = 5', "percnt"),
        ('[[line]]\ningredeint = "X"\npercent = 5', "ingredeint"),
        ('product = "eu"\n' + line(), "product"),
        ("measured = 5\n" + line(), "measured"),
        ("name = 5\n" + line(), "name"),
        ("name = ['a']\n" + line(), "name"),
        ('ph = "5,2"\n' + line(), "ph"),
        ("ph = true\n" + line(), "ph"),
        ("ph = nan\n" + line(), "ph"),
        ("ph = 15\n" + line(), "ph"),
        ("ph = -0.1\n" + line(), "ph"),
        ('system = "cream"\n' + line(), "system"),
        (line() + "active = 1", "active"),
        (line() + 'locked = "yes"', "locked"),
        (line() + "stage = 5", "stage"),
        (line("A", '"q.s."') + line("B", '"ad 100"'), "q.s."),
        (line("A", "90") + line("B", "20") + line("C", '"q.s."'), "110"),
        (line("A", "0") + line("B", "0"), "zero"),
    ],
)
def test_faults_of_a_toml_formula(text, word):
    error = refused(text)
    assert word in f"{error.message} {error.fix}"


def test_toml_without_end():
    assert "5000 characters" in refused(line("N" * 5000)).message
    assert "nested" in refused("a = " + "[" * 5000 + "]" * 5000).message
    assert "number" in refused("a = " + "9" * 5000).message
    refused("a" + ".a" * 3000 + " = 1")


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("ingredient;percent\nWater;70\nX;-5", "a.csv:3"),
        ("ingredient;percent\nWater;70\nX;101", "a.csv:3"),
        ("ingredient;percent\nWater;70\nX;nan", "a.csv:3"),
        ("ingredient;percent\nWater;70\nX;2-3", "a.csv:3"),
        ("ingredient;percent\nWater;70\nX;=B2*2", "a.csv:3"),
        ("ingredient;percent\nWater;70\nX;50 ml", "a.csv:3"),
        ("ingredient;percent\nWater;70\n\nXyz;", "a.csv:4"),
        ("ingredient;percent\nWater;70\n;5", "a.csv:3"),
        ("ingredient;grams\nWater;70\nX;-5", "a.csv:3"),
        ("ingredient;grams\nWater;70\nX;some", "a.csv:3"),
        ("ingredient;grams\nWater;0\nX;0", "a.csv:2"),
        ("ingredient;percent\nWater;q.s.\nX;q.s.", "a.csv:3"),
        ("ingredient;percent\nWater;0\nX;0", "a.csv"),
        ("ingredient;percent", "a.csv"),
        ("ingredient;percent\nTotal;100", "a.csv"),
        ("ingredient;quantum\nWater;lots", "a.csv:1"),
        ("just a sentence", "a.csv:1"),
        ("one, two\nthree, four", "a.csv:1"),
        ('ingredient,percent\n"Water,70\nGlycerin,30', "a.csv:2"),
    ],
)
def test_faults_of_a_sheet(text, where):
    assert refused(text, "a.csv").where == where


def test_a_wrong_total_with_a_balance_says_what_is_left():
    error = refused("ingredient;percent\nWater;q.s.\nA;60\nB;60", "a.csv")
    assert "120" in error.message and "Water" in error.message


def test_too_many_lines():
    text = "ingredient;percent\n" + "X;0.01\n" * 10_000
    error = refused(text, "a.csv")
    assert str(MAX_LINES) in error.message and "10000" in error.message
    assert len(parse_formula("ingredient;percent\n" + "X;0.1\n" * MAX_LINES).lines) == MAX_LINES


def test_an_endless_cell():
    refused('ingredient;percent\n"' + "x" * 200_000 + '";5', "a.csv")


@pytest.mark.parametrize(
    ("raw", "word"),
    [
        (b"", "empty"),
        (b" \r\n\t\n", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b"\xff\xfe", "empty"),
        (b"PK\x03\x04" + bytes(50), "workbook"),
        (b"\xd0\xcf\x11\xe0" + bytes(50), "workbook"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "binary"),
        (b"SQLite format 3\0" + bytes(100), "binary"),
        (b"\xff\xfea", "text"),
        (b"name;percent\nX\x81\x8d;5", "text"),
        (b"x" * (5 * 2**20), "1 MB"),
    ],
)
def test_files_that_are_no_formula(tmp_path, raw, word):
    path = tmp_path / "a.csv"
    path.write_bytes(raw)
    error = refused_file(path)
    assert word in error.message and error.where == str(path)


def test_a_file_of_the_largest_size_is_read_whole(tmp_path):
    path = tmp_path / "a.toml"
    head = b'[[line]]\ningredient = "X"\npercent = 5\n#'
    path.write_bytes(head + b"x" * (MAX_BYTES - len(head)))
    assert read_formula(str(path)).lines[0].percent == 5.0


def test_a_folder_and_a_missing_file(tmp_path):
    assert "folder" in refused_file(tmp_path).message
    assert "no such" in refused_file(tmp_path / "none.toml").message
    refused_file(tmp_path / ("x" * 400))
    refused_file("a\0b")
    file = tmp_path / "f"
    file.write_text("x")
    refused_file(file / "below.toml")


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch):
    path = tmp_path / "a.toml"
    path.write_text(line())
    if os.geteuid() == 0:

        def forbid(self, *args, **kwargs):
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr(Path, "open", forbid)
    else:
        path.chmod(0)
    assert "may not be read" in refused_file(path).message


def test_standard_input_that_is_empty_or_closed(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"")))
    assert "empty" in refused_file("-").message
    monkeypatch.setattr(sys, "stdin", None)
    assert "standard input" in refused_file("-").message


HOSTILE = [
    "'; DROP TABLE material; --",
    "<script>alert(1)</script>",
    "../../etc/passwd",
    "%s%n{0}{__class__}",
    "=cmd|' /C calc'!A0",
    "\U0001f9f4 cream",
    "مرحبا",
    "(" * 250,
    "a\u202eb",
    "NULL",
]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_are_only_names(name, base):
    text = f"ingredient\tpercent\n{name}\t5\nWater\t95"
    formula = parse_formula(text, "a.csv")
    assert formula.lines[0].given.isprintable()
    assert formula.lines[1].given == "Water"
    assert base.names.resolve(formula.lines[0].given).match is None
