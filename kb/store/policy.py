"""Policies as data: what a brand allows."""

from __future__ import annotations

import tomllib
from collections.abc import Callable

from kb.store.seed import Problem
from kb.store.tables import EVIDENCE, ORIGINS, TAGS

_KEYS = {
    "forbid": {"origins", "tags", "materials"},
    "allow": {"materials"},
    "unknown": {"origins", "tags", "ask"},
    "need": {"natural_origin_index"},
}
_TEXTS = ("name", "title", "meaning", "source", "evidence")
_TOP = {*_TEXTS, *_KEYS}


def policy_problems(name: str, text: str, materials: set[str]) -> list[Problem]:
    """Return every fault of one policy file.

    Parameters
    ----------
    name : str
        File name without its ending.
    text : str
        The TOML text.
    materials : set of str
        Known material ids.
    """
    file = f"policies/{name}.toml"
    problems: list[Problem] = []

    def fault(column: str, read: object, wanted: str) -> None:
        problems.append(Problem(file, 0, column, str(read), wanted))

    try:
        tree = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        fault("", error, "valid TOML")
        return problems
    for key in sorted(set(tree) - _TOP):
        fault(key, key, "one of " + ", ".join(sorted(_TOP)))
    for key in _TEXTS:
        if not isinstance(tree.get(key), str):
            fault(key, tree.get(key, ""), "text")
    if tree.get("name") != name:
        fault("name", tree.get("name", ""), name)
    if tree.get("evidence") not in EVIDENCE:
        fault("evidence", tree.get("evidence", ""), "one of " + ", ".join(EVIDENCE))
    if not any(tree.get(section) for section in ("forbid", "unknown", "need")):
        fault("forbid", "nothing", "something forbidden, unknown or needed")
    allowed = {"origins": set(ORIGINS), "tags": set(TAGS), "materials": materials}
    for section, keys in _KEYS.items():
        block = tree.get(section, {})
        if not isinstance(block, dict):
            fault(section, block, f"a table [{section}]")
            continue
        for key in sorted(set(block) - keys):
            fault(section, key, "one of " + ", ".join(sorted(keys)))
        for key in sorted(keys & set(block)):
            _value_problems(f"{section}.{key}", block[key], allowed.get(key), fault)
    return problems


def _value_problems(
    column: str, value: object, known: set[str] | None, fault: Callable[[str, object, str], None]
) -> None:
    if column.endswith(".ask"):
        if not isinstance(value, str):
            fault(column, value, "text")
    elif known is None:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or not 0 <= float(str(value)) <= 1:
            fault(column, value, "a number from 0 to 1")
    elif not isinstance(value, list):
        fault(column, value, "a list of words")
    else:
        for word in value:
            if not isinstance(word, str) or word not in known:
                fault(column, word, "a known word")
