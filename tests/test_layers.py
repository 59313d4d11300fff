"""The shape of the tree: which layer may import which, what is documented, what is not said."""

import ast
import re
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "kb"

#: Layers from the ground up; a layer imports from its own and lower floors only.
FLOORS = {
    "errors": 0,
    "units": 0,
    "science": 1,
    "formula": 2,
    "store": 3,
    "own": 4,
    "engine": 5,
    "adapt": 6,
    "folder": 7,
    "report": 8,
    "cli": 9,
    "web": 9,
}
#: The two faces; neither may lean on the other.
FACES = {"cli", "web"}
#: Modules of the package itself, which start everything and belong to no layer.
DOORS = {"__init__", "__main__"}

MODULES = sorted(PACKAGE.rglob("*.py"))


@cache
def tree_of(path):
    return ast.parse(path.read_text("utf-8"))


def layer_of(path):
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported_by(path):
    """Return every dotted name a module imports, wherever in it the import stands."""
    package = ".".join(("kb", *path.relative_to(PACKAGE).parts[:-1]))
    found = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            start = node.module or ""
            if node.level:
                parts = package.split(".")
                above = parts[: len(parts) - node.level + 1]
                start = ".".join([*above, start]).rstrip(".")
            found.add(start)
            if start == "kb":
                found |= {f"kb.{alias.name}" for alias in node.names}
    return found


def layers_used_by(path):
    return {name.split(".")[1] for name in imported_by(path) if name.startswith("kb.")}


def named(path):
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_a_layer_imports_only_what_lies_below_it(path):
    layer = layer_of(path)
    if layer in DOORS:
        return
    assert layer in FLOORS, f"{named(path)} belongs to no layer"
    for used in layers_used_by(path):
        if used in DOORS or used.startswith("__"):
            continue
        assert used == layer or FLOORS[used] < FLOORS[layer], f"{layer} imports {used}"


def test_the_two_faces_do_not_know_each_other():
    for path in MODULES:
        layer = layer_of(path)
        if layer in FACES:
            assert not layers_used_by(path) & (FACES - {layer}), named(path)


@pytest.mark.parametrize("path", [p for p in MODULES if layer_of(p) == "science"], ids=named)
def test_the_science_needs_only_numpy_and_the_standard_library(path):
    for name in imported_by(path):
        root = name.split(".")[0]
        assert name.startswith("kb.science") or root == "numpy" or root in sys.stdlib_module_names


SQL = re.compile(r"\s*(SELECT\s.+\sFROM|INSERT\s+INTO|CREATE\s+TABLE|UPDATE\s.+\sSET|PRAGMA)\s")


def test_only_the_store_and_the_users_file_know_sql():
    for path in MODULES:
        if layer_of(path) in {"store", "own"}:
            continue
        assert "sqlite_utils" not in imported_by(path), named(path)
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert not SQL.match(node.value), f"{named(path)}: {node.value}"
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                called = node.func.attr
                assert called not in {"execute", "executemany", "executescript"}, named(path)


def test_sql_is_told_from_plain_words():
    assert SQL.match("select id from materials where 1".upper())
    assert not SQL.match("Select a swap from the list, then set it.")


def test_the_lower_floors_print_and_ask_nothing():
    for path in MODULES:
        if layer_of(path) in {"science", "formula", "store", "own", "engine", "adapt", "folder"}:
            called = {
                node.func.id
                for node in ast.walk(tree_of(path))
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            }
            assert not called & {"print", "input", "eval", "exec"}, named(path)


def public_parts(tree):
    """Yield the public classes, functions and methods of a module with their names."""
    kinds = (ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)

    def walk(node, above):
        for child in node.body:
            if isinstance(child, kinds) and not child.name.startswith("_"):
                name = f"{above}{child.name}"
                yield name, child
                if isinstance(child, ast.ClassDef):
                    yield from walk(child, f"{name}.")

    yield from walk(tree, "")


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_everything_public_says_what_it_is(path):
    tree = tree_of(path)
    if tree.body:
        assert ast.get_docstring(tree), f"{named(path)} says not what it is for"
    for name, node in public_parts(tree):
        assert ast.get_docstring(node), f"{named(path)}: {name}"


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_no_file_is_a_catch_all(path):
    """A file is named after one idea."""
    assert path.stem not in {"utils", "util", "helpers", "common", "misc", "manager"}
    for name, node in public_parts(tree_of(path)):
        if isinstance(node, ast.ClassDef):
            assert not name.endswith(("Manager", "Helper", "Util", "Utils")), name


# -- the tree as a whole -----------------------------------------------------------------------

#: All that may lie at the top.
TOP = {
    ".ci",
    ".gitignore",
    "DEVELOPERS.md",
    "README.md",
    "kb",
    "pyproject.toml",
    "scripts",
    "seed_data",
    "tests",
}
#: What tools leave behind; never kept.
LEFT_BEHIND = re.compile(
    r"\.git|\.venv|build|dist|.*\.egg-info|\..*_cache|\.hypothesis|\.benchmarks"
)
READ = {".py", ".md", ".toml", ".csv", ".sql", ".css", ".js", ".html", ".json", ".txt", ""}


def kept_files():
    """Return the files of the tree that are kept, as far as they are text."""
    found = []
    for top in TOP:
        place = ROOT / top
        inside = [place] if place.is_file() else sorted(place.rglob("*"))
        found += [
            p for p in inside if p.is_file() and p.suffix in READ and "__pycache__" not in p.parts
        ]
    return found


def words(*parts):
    """Put a word together from pieces, so that this file does not hold it."""
    return "".join(parts)


#: Words that point away from the product: at how or where it was written.
FORBIDDEN = [
    words("pro", "mpt engineering"),
    words("language ", "model"),
    words("chat", "bot"),
    words("as an ", "AI"),
    words("sub", "agent"),
    words("trans", "cript"),
    words("issue ", "tracker"),
    words("pull ", "request"),
    words("to", "do:"),
    words("fix", "me"),
    words("/wo", "rk/"),
    words("/tm", "p/"),
    words("/ro", "ot/"),
    words("/ho", "me/"),
    words("C:", "\\Users"),
    words("py", "pi.org"),
    words("python", "hosted"),
    words("crates", ".io"),
    words("npm", "js"),
    words("ana", "conda"),
    words("proxy.go", "lang"),
    words("local", "host:"),
]
#: Words that pytest and the like have a use for, but the product has not.
FORBIDDEN_IN_THE_PRODUCT = [words("ses", "sion"), words("pro", "mpt")]


def mention(word):
    """Return the pattern of a word as such or in the plural, letter case apart."""
    end = r"s?(?!\w)" if word[-1].isalnum() else ""
    return re.compile(rf"(?<!\w){re.escape(word.casefold())}{end}")


def test_a_mention_is_found_and_a_longer_word_is_not():
    word = words("trans", "cript")
    assert mention(word).search(f"see the {word}s")
    assert not mention(word).search(f"a {word}ion of the law")
    assert mention(words("/wo", "rk/")).search(words("read /wo", "rk/notes"))


def test_nothing_else_lies_at_the_top():
    there = {p.name for p in ROOT.iterdir() if not LEFT_BEHIND.fullmatch(p.name)}
    assert there <= TOP, there - TOP
    assert {"README.md", "kb", "seed_data", "tests", "pyproject.toml"} <= there


def test_no_text_points_away_from_the_product():
    files = kept_files()
    assert len(files) > 150
    said = []
    for path in files:
        text = path.read_text("utf-8").casefold()
        product = path.relative_to(ROOT).parts[0] in {"kb", "seed_data", "README.md"}
        looked_for = FORBIDDEN + (FORBIDDEN_IN_THE_PRODUCT if product else [])
        said += [f"{named(path)}: {word}" for word in looked_for if mention(word).search(text)]
    assert not said


def test_every_text_is_utf_8_with_plain_line_ends():
    for path in kept_files():
        raw = path.read_bytes()
        assert b"\r" not in raw, named(path)
        raw.decode("utf-8")
        assert not raw or raw.endswith(b"\n"), named(path)
