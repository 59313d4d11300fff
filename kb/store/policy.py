"""Policies as data: what a brand allows."""

from __future__ import annotations

import tomllib

from kb.store.seed import Problem
from kb.store.tables import ORIGINS, TAGS

_KEYS = {
    "forbid": {"origins", "tags", "materials"},
    "allow": {"materials"},
    "unknown": {"origins", "tags", "ask"},
    "need": {"natural_origin_index"},
}
_TOP = {"name", "title", "meaning", "source", "evidence", *_KEYS}


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
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return [Problem(file, 0, "", str(error), "valid TOML")]
    problems = []
    for key in sorted(set(tree) - _TOP):
        problems.append(Problem(file, 0, key, key, "one of " + ", ".join(sorted(_TOP))))
    if tree.get("name") != name:
        problems.append(Problem(file, 0, "name", str(tree.get("name")), name))
    allowed = {"origins": set(ORIGINS), "tags": set(TAGS), "materials": materials}
    for section, keys in _KEYS.items():
        block = tree.get(section, {})
        for key in sorted(set(block) - keys):
            problems.append(Problem(file, 0, section, key, "one of " + ", ".join(sorted(keys))))
        for key, words in allowed.items():
            for word in block.get(key, []):
                if word not in words:
                    problems.append(Problem(file, 0, f"{section}.{key}", word, "a known word"))
    return problems
