"""Result trees: plain dicts that a machine can read, six digits, no NaN."""

from __future__ import annotations

import json
import math
from typing import Any

from kb import __version__
from kb.units import significant

SCHEMA = 1

Tree = dict[str, Any]


def envelope(build: str, body: Tree) -> Tree:
    """Add what every object carries: schema, version, build of the seed text."""
    return {"schema": SCHEMA, "version": __version__, "build": build, **body}


def clean(value: Any) -> Any:
    """Round numbers to six digits, turn what is not finite into null."""
    if isinstance(value, bool) or value is None or isinstance(value, (int, str)):
        return value
    if isinstance(value, float):
        return significant(value) if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(k): clean(v) for k, v in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        items = sorted(value) if isinstance(value, (set, frozenset)) else value
        return [clean(v) for v in items]
    return clean(float(value))


def to_json(tree: Tree) -> str:
    """Return a tree as JSON text."""
    return json.dumps(clean(tree), ensure_ascii=False, indent=2, allow_nan=False)
