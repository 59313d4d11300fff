"""Workbooks: read as the list they hold, nothing run, hostile ones refused with what to do."""

import datetime
import io
import time
import zipfile
from collections.abc import Callable
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import FormulaError
from kb.formula.reading import MAX_WORKBOOK, decode, parse_formula
from kb.formula.workbook_in import MAX_ROWS
from kb.formula.workbook_out import Page, to_workbook

Fill = Callable[[Any], None]


def book(*rows: tuple[object, ...], also: Fill | None = None) -> bytes:
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(row)
    if also is not None:
        also(made)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def rebuilt(raw: bytes, **parts: bytes | None) -> bytes:
    """Return a workbook with parts replaced or added; names with ``__`` for ``/``."""
    out = io.BytesIO()
    new = {name.replace("__", "/").replace("_dot_", "."): data for name, data in parts.items()}
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(out, "w", 8) as made:
        for name in old.namelist():
            if name not in new:
                made.writestr(name, old.read(name))
        for name, data in new.items():
            if data is not None:
                made.writestr(name, data)
    return out.getvalue()


PLAIN = (("Rohstoff", "Anteil %", "Phase"), ("Bienenwachs", 8, "Fett"), ("Olivenöl", 92, "Fett"))


def lines(raw: bytes) -> list[tuple[str, float]]:
    formula = parse_formula(decode(raw, "cream.xlsx"), "cream.xlsx")
    return [(line.given, line.percent) for line in formula.lines]


def test_a_formula_is_read_from_its_sheet_with_its_rows_as_places() -> None:
    raw = book(("Handcreme",), (), *PLAIN)
    formula = parse_formula(decode(raw, "cream.xlsx"), "cream.xlsx")
    assert [(x.given, x.percent, x.stage, x.place) for x in formula.lines] == [
        ("Bienenwachs", 8.0, "Fett", "cream.xlsx:4"),
        ("Olivenöl", 92.0, "Fett", "cream.xlsx:5"),
    ]


def test_the_sheet_that_names_ingredients_is_taken_and_a_hidden_one_never() -> None:
    def also(made: Any) -> None:
        made.active.append(("only a cover",))
        hidden = made.create_sheet("alt")
        hidden.sheet_state = "hidden"
        for row in (("ingredient", "percent"), ("Talc", 100)):
            hidden.append(row)
        for row in PLAIN:
            made.create_sheet("Rezept") if "Rezept" not in made.sheetnames else None
            made["Rezept"].append(row)

    assert lines(book(also=also)) == [("Bienenwachs", 8.0), ("Olivenöl", 92.0)]


@pytest.mark.parametrize(
    ("value", "shape", "text"),
    [
        (0.025, "0.0%", "2.5 %"),
        (0.29, "0%", "29 %"),
        (2.5, '0.0" %"', "2.5"),
        (2.5, "0.0\\%", "2.5"),
        (0.1 + 0.2, "General", "0.3"),
        (1e-05, "General", "1e-05"),
        (True, "General", "true"),
        (datetime.date(2027, 3, 31), "dd.mm.yyyy", "2027-03-31"),
        (datetime.datetime(2027, 3, 31, 12, 30), "dd.mm.yyyy", "2027-03-31 12:30:00"),
        (" two\nlines\u200b ", "General", "two lines"),
        ("a\ttab", "General", "a tab"),
    ],
)
def test_a_cell_reads_as_it_is_meant(value: object, shape: str, text: str) -> None:
    def also(made: Any) -> None:
        made.active["A1"] = "name"
        made.active["B2"] = value
        made.active["B2"].number_format = shape

    assert decode(book(also=also), "x.xlsx").splitlines()[1] == f"\t{text}"


def test_a_formula_counts_as_what_was_stored_for_it() -> None:
    raw = book(*PLAIN, ("Summe", "=SUM(B2:B3)"))
    assert lines(raw) == [("Bienenwachs", 8.0), ("Olivenöl", 92.0)]
    sheet = zipfile.ZipFile(io.BytesIO(raw)).read("xl/worksheets/sheet1.xml")
    sheet = sheet.replace(b'<c r="B2" t="n"><v>8</v>', b'<c r="B2"><f>4+4+1</f><v>8</v>')
    assert b"4+4+1" in sheet
    assert lines(rebuilt(raw, xl__worksheets__sheet1_dot_xml=sheet))[0] == ("Bienenwachs", 8.0)


def test_a_formula_never_worked_out_is_said_not_guessed() -> None:
    raw = book(("ingredient", "percent"), ("Beeswax", "=4+4"), ("Olive Oil", 92))
    with pytest.raises(FormulaError, match="=4\\+4") as caught:
        lines(raw)
    assert caught.value.where == "cream.xlsx:2"
    assert "open the file in a spreadsheet program" in caught.value.fix


def macros(raw: bytes) -> bytes:
    return rebuilt(raw, xl__vbaProject_dot_bin=b"\xd0\xcf\x11\xe0")


def bomb(raw: bytes) -> bytes:
    return rebuilt(raw, xl__sharedStrings_dot_xml=b" " * 50_000_000)


def entities(raw: bytes) -> bytes:
    text = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa">]><x>&a;</x>'
    return rebuilt(raw, docProps__app_dot_xml=text)


def entities_in_utf_16(raw: bytes) -> bytes:
    text = '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE x [<!ENTITY a "aa">]><x/>'
    return rebuilt(raw, xl__sharedStrings_dot_xml=text.encode("utf-16"))


def repeated_text(raw: bytes) -> bytes:
    """One long text that many cells point to."""
    long = "x" * 30_000
    shared = (
        '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        f"<si><t>{long}</t></si></sst>"
    )
    cells = "".join(f'<row r="{n}"><c r="A{n}" t="s"><v>0</v></c></row>' for n in range(1, 5000))
    sheet = (
        '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        f"<sheetData>{cells}</sheetData></worksheet>"
    )
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    types = zipfile.ZipFile(io.BytesIO(raw)).read("[Content_Types].xml").decode()
    entry = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}" /></Types>'
    return rebuilt(
        raw,
        **{"[Content_Types]_dot_xml": types.replace("</Types>", entry).encode()},
        xl__sharedStrings_dot_xml=shared.encode(),
        xl__worksheets__sheet1_dot_xml=sheet.encode(),
    )


def far_cell(raw: bytes) -> bytes:
    sheet = zipfile.ZipFile(io.BytesIO(raw)).read("xl/worksheets/sheet1.xml")
    sheet = sheet.replace(b"A1:C3", b"A1:XFD1048576").replace(
        b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    )
    return rebuilt(raw, xl__worksheets__sheet1_dot_xml=sheet)


def many_rows(raw: bytes) -> bytes:
    return book(*PLAIN, *(("Talc", 0.001) for _ in range(MAX_ROWS)))


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (macros, "holds macros"),
        (bomb, "unpacks to more"),
        (entities, "not as workbooks are built"),
        (entities_in_utf_16, "not as workbooks are built"),
        (repeated_text, "more than any list"),
        (many_rows, "more than any list"),
        (lambda raw: raw[: len(raw) // 2], "damaged"),
        (lambda raw: raw[:200] + bytes(200) + raw[400:], "damaged"),
        (lambda raw: rebuilt(raw, xl__workbook_dot_xml=b"<broken"), "damaged"),
        (lambda raw: rebuilt(raw, xl__workbook_dot_xml=None), "an archive"),
        (lambda raw: rebuilt(raw, xl__workbook_dot_bin=b"x"), "binary workbook"),
        (lambda raw: b"\xd0\xcf\x11\xe0" + raw, "old binary workbook"),
        (lambda raw: raw + b"\0" * MAX_WORKBOOK, "larger than 5 MB"),
        (lambda raw: book(), "empty"),
    ],
)
def test_a_workbook_that_cannot_be_trusted_is_refused_in_time(
    spoil: Callable[[bytes], bytes], said: str
) -> None:
    raw = spoil(book(*PLAIN))
    start = time.perf_counter()
    with pytest.raises(FormulaError, match=said) as caught:
        decode(raw, "cream.xlsx")
    assert time.perf_counter() - start < 10.0
    assert caught.value.code == 3
    assert caught.value.fix


def test_a_stated_size_of_the_whole_sheet_costs_nothing() -> None:
    start = time.perf_counter()
    assert lines(far_cell(book(*PLAIN))) == [("Bienenwachs", 8.0), ("Olivenöl", 92.0)]
    assert time.perf_counter() - start < 5.0


def test_other_archives_are_named() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("content.xml", "<x/>")
    with pytest.raises(FormulaError, match="OpenDocument"):
        decode(out.getvalue(), "cream.ods")


GOOD = book(*PLAIN, ("Summe", "=SUM(B2:B3)"))


@given(
    st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 255)), max_size=4),
    st.floats(0.1, 1.0),
)
def test_a_spoilt_workbook_gives_text_or_an_error_of_ours(
    spoilt: list[tuple[float, int]], kept: float
) -> None:
    raw = bytearray(GOOD[: int(kept * len(GOOD))] if kept < 0.3 else GOOD)
    for place, value in spoilt:
        raw[int(place * len(raw))] = value
    try:
        text = decode(bytes(raw), "cream.xlsx")
    except FormulaError as error:
        assert error.fix
    else:
        assert isinstance(text, str)


def test_what_is_written_keeps_text_as_text() -> None:
    rows = [["name", "stock"], ["=1+1", 2.5], ["+cmd|x", None], ["\x00\x1b[1m", 1e-7], []]
    raw = to_workbook([Page("a/b:c*" + "x" * 40, rows, frozenset({0}))])
    book = openpyxl.load_workbook(io.BytesIO(raw))
    sheet = book.worksheets[0]
    assert [cell.data_type for cell in sheet["A"]] == ["s", "s", "s", "s"]
    assert decode(raw, "x.xlsx").splitlines() == [
        "name\tstock",
        "=1+1\t2.5",
        "+cmd|x\t",
        "[1m\t1e-07",
    ]
