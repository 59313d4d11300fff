"""The names of the base in the order in which they win, for the index that resolves them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def name_rows(
    materials: Sequence[tuple[str, str, str, str]], names: Iterable[Sequence[str]]
) -> Iterable[tuple[str, str, str]]:
    """Yield (name, material, how known): INCI names first, then ids, synonyms, numbers.

    Parameters
    ----------
    materials : sequence of (str, str, str, str)
        Id, INCI name, grade and registry number of each material.
    names : iterable of sequences
        Synonyms: name and material first.
    """
    for material, inci, grade, _ in materials:
        if not grade:
            yield inci, material, "inci"
    for material, _, _, _ in materials:
        yield material, material, "id"
    for row in names:
        yield row[0], row[1], "synonym"
    for material, _, grade, number in materials:
        if number and not grade:
            yield number, material, "registry"
