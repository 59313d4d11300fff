"""Every function is held against values that say where they come from, and enough of them."""

import ast
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import kb.science

HERE = Path(__file__).parent
#: Tools, not science: reading numbers, and points spread evenly, which have laws and no values.
TOOLS = {"as_array", "components", "falling", "forbid", "tidy", "weighted_mean", "points"}
LEAST = 3
LEAST_CITED = 200


def public_functions():
    """Return the name of every public function of the package but the tools."""
    found = set()
    for module in pkgutil.iter_modules(kb.science.__path__):
        loaded = importlib.import_module(f"kb.science.{module.name}")
        found |= {
            name
            for name, value in vars(loaded).items()
            if inspect.isfunction(value)
            and value.__module__ == loaded.__name__
            and not name.startswith("_")
        }
    return found - TOOLS


def named_in(node):
    """Return every name and attribute below a node."""
    return {n.id for n in ast.walk(node) if isinstance(n, ast.Name)} | {
        n.attr for n in ast.walk(node) if isinstance(n, ast.Attribute)
    }


def reached(name, functions, seen=frozenset()):
    """Return what a test's body names, through the helpers of its file."""
    found = set().union(*(named_in(part) for part in functions[name].body))
    for helper in found & set(functions) - seen - {name}:
        found |= reached(helper, functions, seen | {name})
    return found


def collected():
    """Return test file, test and source line of every check value."""
    command = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-o", "addopts=", str(HERE)]
    listed = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    pattern = r"(test_\w+\.py)::(\w+)\[((?:published|memory|computed): .*)\]$"
    return [m.groups() for m in map(re.compile(pattern).search, listed.splitlines()) if m]


def counts():
    """Return how many check values each function has, and how many name a publication."""
    public, values, cited = public_functions(), Counter(), 0
    bodies = {}
    for path in HERE.glob("test_*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        bodies[path.name] = {n.name: n for n in tree.body if isinstance(n, ast.FunctionDef)}
    for file, test, source in collected():
        kind, _, where = source.partition(": ")
        cited += kind != "computed"
        # A table names the function before the place; elsewhere the body of the test tells.
        named = {where.split(":")[0]} & public
        for name in named or reached(test, bodies[file]) & public:
            values[name] += 1
    return public, values, cited


def test_each_function_has_three_values_and_two_hundred_are_cited():
    public, values, cited = counts()
    few = {name: values[name] for name in sorted(public) if values[name] < LEAST}
    print(f"{cited} cited values, {sum(values.values())} in all, {len(public)} functions")
    assert not few
    assert cited >= LEAST_CITED


def test_a_function_without_values_would_be_noticed():
    _, values, _ = counts()
    assert values["no_such_function"] == 0
    assert values["blend_hlb"] >= LEAST
