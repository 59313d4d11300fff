"""What holds for the package as a whole: its examples, its imports, its purity."""

import ast
import doctest
import importlib
import pkgutil
import sys
from pathlib import Path

import numpy as np
import pytest

import kb.science

from .sources import case

NAMES = sorted(module.name for module in pkgutil.iter_modules(kb.science.__path__))


@pytest.mark.parametrize("name", NAMES)
def test_examples_run(name):
    module = importlib.import_module(f"kb.science.{name}")
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("name", NAMES)
def test_imports_only_numpy_and_the_standard_library(name):
    source = Path(importlib.import_module(f"kb.science.{name}").__file__).read_text("utf-8")
    imported = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            imported |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            imported.add(node.module)
    for name_ in imported:
        root = name_.split(".")[0]
        assert name_.startswith("kb.science.") or root == "numpy" or root in sys.stdlib_module_names


@pytest.mark.parametrize("name", NAMES)
def test_touches_nothing_outside(name):
    source = Path(importlib.import_module(f"kb.science.{name}").__file__).read_text("utf-8")
    called = {
        node.func.id
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & {"open", "print", "input", "eval", "exec", "__import__"}


@pytest.mark.parametrize("name", NAMES)
def test_every_public_function_is_documented_in_full(name):
    module = importlib.import_module(f"kb.science.{name}")
    for attribute, value in vars(module).items():
        if attribute.startswith("_") or getattr(value, "__module__", "") != module.__name__:
            continue
        if callable(value) and not isinstance(value, type):
            text = value.__doc__
            assert "Parameters\n" in text, attribute
            assert "Examples\n" in text, attribute


def test_a_source_must_be_named():
    with pytest.raises(ValueError, match="source must be"):
        case(1.0, source="somewhere", where="here")


def test_one_number_in_one_number_out():
    from kb.science.blending import vbi

    assert isinstance(vbi(10.0), float)
    assert isinstance(vbi(np.array([10.0, 20.0])), np.ndarray)
