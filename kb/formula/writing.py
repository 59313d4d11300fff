"""Write a formula as TOML that reads back the same."""

from __future__ import annotations

from kb.formula.model import QS, Formula


def to_toml(formula: Formula) -> str:
    """Return the TOML text of a formula."""
    out: list[str] = []
    for key, value in (("name", formula.name), ("system", formula.system), ("note", formula.note)):
        if value:
            out.append(f"{key} = {_quoted(value)}")
    if formula.ph is not None:
        out.insert(min(len(out), 2), f"ph = {formula.ph:g}")
    for name, block in (("product", formula.product), ("measured", formula.measured)):
        if block:
            out += ["", f"[{name}]"] + [f"{k} = {_value(v)}" for k, v in block.items()]
    for line in formula.lines:
        out += ["", "[[line]]", f"ingredient = {_quoted(line.given)}"]
        out.append(f'percent = "{QS}"' if line.qs else f"percent = {line.percent:.6g}")
        if line.stage:
            out.append(f"stage = {_quoted(line.stage)}")
        if line.role:
            out.append(f"role = {_quoted(line.role)}")
        if line.active is not None:
            out.append(f"active = {str(line.active).lower()}")
        if line.locked:
            out.append("locked = true")
    return "\n".join(out).strip() + "\n"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    escaped = "".join(c if c >= " " else f"\\u{ord(c):04x}" for c in escaped)
    return f'"{escaped}"'


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (int, float)):
        return f"{value:.12g}"
    if isinstance(value, list):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {_value(v)}" for k, v in value.items()) + " }"
    return _quoted(str(value))
