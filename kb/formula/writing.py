"""Write a formula as TOML that reads back the same."""

from __future__ import annotations

import datetime
import math
import re

from kb.formula.model import QS, Formula

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def to_toml(formula: Formula) -> str:
    """Return the TOML text of a formula.

    A percent is written with six digits where that is the same number within a part in 1e9, in
    full otherwise.
    """
    out: list[str] = []
    for key, text in (("name", formula.name), ("system", formula.system)):
        if text:
            out.append(f"{key} = {_quoted(text)}")
    if formula.ph is not None:
        out.append(f"ph = {_number(formula.ph)}")
    if formula.note:
        out.append(f"note = {_quoted(formula.note)}")
    for name, block in (("product", formula.product), ("measured", formula.measured)):
        if block:
            out += ["", f"[{name}]"] + [f"{_key(k)} = {_value(v)}" for k, v in block.items()]
    for line in formula.lines:
        out += ["", "[[line]]", f"ingredient = {_quoted(line.given)}"]
        out.append(f'percent = "{QS}"' if line.qs else f"percent = {_number(line.percent)}")
        if line.stage:
            out.append(f"stage = {_quoted(line.stage)}")
        if line.role:
            out.append(f"role = {_quoted(line.role)}")
        if line.active is not None:
            out.append(f"active = {str(line.active).lower()}")
        if line.locked:
            out.append("locked = true")
    return "\n".join(out).strip() + "\n"


def _number(number: float) -> str:
    brief = f"{number:.6g}"
    if math.isclose(float(brief), number, rel_tol=1e-9, abs_tol=0.0):
        return brief
    return repr(float(number))


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _quoted(key)


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(_escaped(c) for c in escaped) + '"'


def _escaped(character: str) -> str:
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x20 or code == 0x7F else character


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(str(k))} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return value.isoformat()
    return _quoted(str(value))
