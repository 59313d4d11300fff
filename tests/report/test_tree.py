"""Objects for machines: valid JSON, six digits, no NaN, nothing raw that hides."""

import json
import math
from decimal import Decimal
from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from kb import __version__
from kb.report.tree import SCHEMA, clean, envelope, to_json

TREES: Any = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**6), 10**6) | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=12,
)


@given(st.dictionaries(st.text(max_size=8), TREES, max_size=5))
def test_any_tree_is_json_that_reads_back(tree: dict[str, Any]) -> None:
    text = to_json(tree)
    text.encode("utf-8")
    assert json.loads(text) == clean(tree)
    hidden = [c for c in text if ord(c) < 32 and c != "\n" or 0x7F <= ord(c) < 0xA0]
    assert hidden == []


@given(st.floats())
def test_numbers_have_six_digits_or_are_null(value: float) -> None:
    found = json.loads(to_json({"x": value}), parse_float=Decimal)["x"]
    if not math.isfinite(value):
        assert found is None
        return
    assert len(Decimal(found).normalize().as_tuple().digits) <= 6
    assert math.isclose(float(found), value, rel_tol=1e-5, abs_tol=1e-12)


def test_what_is_left_of_rounding_is_zero() -> None:
    assert clean([3.55e-15, -5.8e-16, 1e-7]) == [0.0, 0.0, 1e-7]


def test_arrays_and_sets_become_plain() -> None:
    tree = {"a": np.float64(1.23456789), "b": {"y", "x"}, "c": (1, np.float32(0.5)), 4: True}
    assert clean(tree) == {"a": 1.23457, "b": ["x", "y"], "c": [1, 0.5], "4": True}


def test_directions_and_escapes_are_written_out() -> None:
    text = to_json({"name": "a\x1b[2J\u202eb\x9bc\ud800\u200f\u2028"})
    assert text.isascii()
    assert json.loads(text)["name"] == "a\x1b[2J\u202eb\x9bc\ud800\u200f\u2028"
    assert "é" in to_json({"name": "é"})


def test_envelope() -> None:
    tree = envelope("abc", {"x": 1})
    assert tree == {"schema": SCHEMA, "version": __version__, "build": "abc", "x": 1}
