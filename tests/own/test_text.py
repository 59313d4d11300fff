"""Own data written as text and read in again is the same data, whatever stands in it."""

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.own.content import changing, read_content
from kb.own.tables import OWN_TABLES, TABLES
from kb.own.text import from_text, to_text
from kb.store.seed import Problem
from tests.own.conftest import MATERIALS

WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
SOME = WORDS.filter(bool)
NUMBERS = st.none() | st.floats(allow_nan=False, allow_infinity=False)
OWN_ID = st.from_regex(r"own-[a-z0-9]{1,8}", fullmatch=True)
EVIDENCE = st.sampled_from(["data sheet", "memory", "common practice", "derived"])


@st.composite
def contents(draw: st.DrawFn) -> dict[str, list[dict[str, object]]]:
    """Draw rows of every table, keys unique, numbers where numbers stand."""
    found: dict[str, list[dict[str, object]]] = {}
    for table in TABLES:
        rows: dict[tuple[object, ...], dict[str, object]] = {}
        for _ in range(draw(st.integers(0, 3))):
            row: dict[str, object] = {}
            for column in table.columns:
                if column in table.numbers:
                    value = draw(NUMBERS)
                    row[column] = 1.0 if value is None and column == "value" else value
                elif column == "material":
                    row[column] = draw(OWN_ID)
                elif column == "evidence":
                    row[column] = draw(EVIDENCE)
                else:
                    row[column] = draw(SOME if column in table.key else WORDS)
            rows[tuple(row[k] for k in table.key)] = row
        found[table.name] = list(rows.values())
    return found


@given(contents())
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_table_survives_the_text(content: dict[str, list[dict[str, object]]]) -> None:
    batch, rest = from_text(to_text(content), "mine.toml")
    problems: list[Problem] = batch.problems
    assert problems == []
    back: dict[str, list[dict[str, object]]] = {table.name: [] for table in TABLES}
    back |= {name: list(rows) for name, rows in rest.items()}
    for given_row in batch.rows:
        name = next(t.name for t in TABLES if t.seed == given_row.table)
        back[name].append(dict(given_row.cells))
    assert back == content


@given(contents())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_what_the_file_holds_is_what_was_put_there(
    tmp_path_factory, content: dict[str, list[dict[str, object]]]
) -> None:
    path: Path = tmp_path_factory.mktemp("own") / "own.sqlite"
    with changing(path, "all of it") as change:
        for name, rows in content.items():
            for row in rows:
                change.put(name, row)
    held = read_content(path)
    for name, rows in content.items():
        key = OWN_TABLES[name].key
        assert sorted(held[name], key=lambda r: [r[k] for k in key]) == sorted(
            rows, key=lambda r: [r[k] for k in key]
        )


def test_the_whole_way_by_the_commands(own: Path, tmp_path: Path, base, monkeypatch) -> None:
    from kb.own.adding import add_file
    from kb.own.shelf import take_shelf

    (tmp_path / "m.csv").write_text(MATERIALS, "utf-8")
    for name in ("m.csv", "facts.csv"):
        add_file(name, own, lambda: base)
    take_shelf("stock.csv", own)
    content = read_content(own)
    (tmp_path / "mine.toml").write_text(to_text(content), "utf-8")
    other = tmp_path / "other.sqlite"
    add_file("mine.toml", other, lambda: base)
    assert read_content(other) == content
