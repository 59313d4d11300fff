"""Read the seed text: every CSV row with its file and line, every policy and demo formula."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from kb.errors import SeedError
from kb.store.tables import TABLES, Table


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a seed file, as text."""

    file: str
    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        """Return the text in a column."""
        return self.cells[column]


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault of the seed text: where, what was read, what was wanted.

    ``mendable`` faults are of form only: no row is lost and the formatter takes them away.
    """

    file: str
    line: int
    column: str
    read: str
    wanted: str
    mendable: bool = False

    def __str__(self) -> str:
        """Return one line a reader can act on."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        column = f" [{self.column}]" if self.column else ""
        return f"{place}{column} read {self.read!r}; wanted {self.wanted}"


@dataclass(slots=True)
class Seed:
    """All seed text in memory."""

    folder: Path
    tables: dict[str, list[Row]] = field(default_factory=dict)
    policies: dict[str, str] = field(default_factory=dict)
    formulas: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def seed_folder() -> Path:
    """Return the folder of the seed text: beside the package in a checkout, inside it in a wheel.

    Raises
    ------
    SeedError
        Neither place holds it.
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "seed_data", package.parent / "seed_data"):
        if (folder / "properties.csv").is_file():
            return folder
    raise SeedError(
        "The seed text is missing from this installation.",
        str(package / "seed_data"),
        "Install the package again; a wheel or a checkout carries it.",
    )


def seed_files(folder: Path) -> list[Path]:
    """Return every file of the seed text in a fixed order."""
    found = [
        path
        for path in folder.rglob("*")
        if path.suffix in {".csv", ".toml"} and not path.name.startswith(".")
    ]
    return sorted(found, key=lambda path: path.relative_to(folder).as_posix())


def seed_hash(folder: Path) -> str:
    """Return the hash of the seed text (line ends made equal), 64 hexadecimal digits.

    Raises
    ------
    SeedError
        A file cannot be read.
    """
    digest = hashlib.sha256()
    for path in seed_files(folder):
        try:
            text = path.read_bytes().replace(b"\r\n", b"\n")
        except OSError as error:
            raise SeedError(
                f"The seed text cannot be read: {error.strerror}.",
                str(path),
                "Allow reading that file, or install the package again.",
            ) from None
        digest.update(path.relative_to(folder).as_posix().encode() + b"\0" + text + b"\0")
    return digest.hexdigest()


def table_files(folder: Path, table: Table) -> list[Path]:
    """Return the files that hold a table."""
    if table.folder:
        return sorted((folder / table.path).glob("*.csv"))
    path = folder / table.path
    return [path] if path.is_file() else []


def read_text(path: Path, name: str, problems: list[Problem]) -> str | None:
    """Return the text of a seed file; what cannot be read becomes a problem."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        problems.append(Problem(name, 0, "", str(error.strerror), "a file that can be read"))
        return None
    if raw.startswith(b"\xef\xbb\xbf"):
        problems.append(Problem(name, 1, "", "a byte-order mark", "plain UTF-8 text", True))
        raw = raw[3:]
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        problems.append(Problem(name, line, "", repr(raw[error.start : error.end]), "UTF-8 text"))
        return None


def read_rows(path: Path, folder: Path, table: Table, problems: list[Problem]) -> Iterator[Row]:
    """Yield the rows of one file; what cannot be read becomes a problem."""
    name = path.relative_to(folder).as_posix()
    text = read_text(path, name, problems)
    if text is None:
        return
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        records = [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        problems.append(Problem(name, reader.line_num, "", str(error), "rows of CSV"))
        return
    header = records[0][1] if records else []
    width = len(table.header)
    if header[:width] != table.header or any(header[width:]):
        problems.append(Problem(name, 1, "", ",".join(header), "header " + ",".join(table.header)))
        return
    if len(header) > width:
        read = f"{len(header)} cells"
        problems.append(Problem(name, 1, "", read, f"{width} cells", mendable=True))
    for line, cells in records[1:]:
        if not any(cells):
            problems.append(Problem(name, line, "", "an empty line", "one row a line", True))
        elif len(cells) > width and not any(cells[width:]):
            if len(cells) != len(header):
                read = f"{len(cells)} cells"
                problems.append(Problem(name, line, "", read, f"{width} cells", mendable=True))
            yield Row(name, line, dict(zip(table.header, cells[:width], strict=True)))
        elif len(cells) != width:
            problems.append(Problem(name, line, "", f"{len(cells)} cells", f"{width} cells"))
        else:
            yield Row(name, line, dict(zip(table.header, cells, strict=True)))


def read_seed(folder: Path) -> Seed:
    """Read the whole seed text; faults of form are collected in ``problems``."""
    seed = Seed(folder)
    for table in TABLES:
        files = table_files(folder, table)
        if not files:
            seed.problems.append(Problem(table.path, 0, "", "nothing", "this file of the seed"))
        seed.tables[table.name] = [
            row for path in files for row in read_rows(path, folder, table, seed.problems)
        ]
    for kind, target in (("policies", seed.policies), ("formulas", seed.formulas)):
        for path in sorted((folder / kind).glob("*.toml")):
            text = read_text(path, f"{kind}/{path.name}", seed.problems)
            if text is not None:
                target[path.stem] = text.replace("\r\n", "\n")
    return seed
