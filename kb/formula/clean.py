"""Text as people type and paste it: no invisible characters, one space between words."""

from __future__ import annotations

import unicodedata

#: Controls, directions, soft hyphens, private and unassigned code points: nothing to read there.
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})


def one_line(text: str) -> str:
    r"""Return text on one line, without invisible characters or stray spaces.

    Examples
    --------
    >>> one_line("  Shea\u00a0\u200b Butter\x1b ")
    'Shea Butter'
    """
    return " ".join("".join(map(_seen, text)).split())


def many_lines(text: str) -> str:
    """Return text with its line breaks, each line without invisible characters."""
    return "\n".join(one_line(line) for line in text.splitlines()).strip()


def _seen(character: str) -> str:
    if character.isspace():
        return " "
    return "" if unicodedata.category(character) in _UNSEEN else character
