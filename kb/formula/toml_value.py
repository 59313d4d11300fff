"""Single values as TOML text."""

from __future__ import annotations

import datetime
import math
import re

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def number_text(number: float) -> str:
    """Return a number with six digits where that is the same within a part in 1e9, else in full."""
    brief = f"{number:.6g}"
    if math.isclose(float(brief), number, rel_tol=1e-9, abs_tol=0.0):
        return brief
    return repr(float(number))


def key_text(key: str) -> str:
    """Return a key, in quotes where it needs them."""
    return key if _BARE.fullmatch(key) else quoted(key)


def quoted(text: str) -> str:
    """Return text in quotes."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(_escaped(c) for c in escaped) + '"'


def _escaped(character: str) -> str:
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x20 or code == 0x7F else character


def value_text(value: object) -> str:
    """Return any value that TOML knows."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(value_text(v) for v in value) + "]"
    if isinstance(value, dict):
        pairs = (f"{key_text(str(k))} = {value_text(v)}" for k, v in value.items())
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return value.isoformat()
    return quoted(str(value))
