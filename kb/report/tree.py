"""Result trees: plain dicts that a machine can read, six digits, no NaN."""

from __future__ import annotations

import json
import math
import re
from typing import TYPE_CHECKING, Any

from kb import __version__
from kb.units import significant

if TYPE_CHECKING:
    from kb.store.snapshot import Snapshot

SCHEMA = 1
#: Smaller figures are left over from rounding.
_NOISE = 1e-12

Tree = dict[str, Any]
#: Controls, directions and broken pairs that JSON allows raw and terminals or editors act on.
_UNSEEN = re.compile("[\x7f-\x9f\xad\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff]")


def envelope(build: str, body: Tree) -> Tree:
    """Add what every object carries: schema, version, build of the seed text."""
    return {"schema": SCHEMA, "version": __version__, "build": build, **body}


def naming(material: str, base: Snapshot) -> Tree:
    """Return what a material is called: id, INCI name, grade or null for the generic one."""
    about = base.materials[material]
    return {"ingredient": material, "inci": about.inci, "grade": about.grade or None}


def clean(value: Any) -> Any:
    """Round numbers to six digits, turn what is not finite into null."""
    if isinstance(value, bool) or value is None or isinstance(value, (int, str)):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            return None
        return significant(value) if abs(value) > _NOISE else 0.0
    if isinstance(value, dict):
        return {str(k): clean(v) for k, v in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        items = sorted(value) if isinstance(value, (set, frozenset)) else value
        return [clean(v) for v in items]
    return clean(float(value))


def to_json(tree: Tree) -> str:
    """Return a tree as JSON text; what no reader sees is written as an escape."""
    text = json.dumps(clean(tree), ensure_ascii=False, indent=2, allow_nan=False)
    return _UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
