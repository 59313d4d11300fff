"""Two formulas beside each other: lines, figures, findings, ingredient list."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.answers import Change
from kb.engine.findings import Finding, find_all
from kb.engine.label import Named, ingredient_list
from kb.engine.opening import Opened
from kb.engine.profile import Profile
from kb.engine.swap import change
from kb.store.snapshot import Snapshot

#: Percents nearer than this are the same.
SAME = 1e-6


@dataclass(frozen=True, slots=True)
class LineChange:
    """A material in both formulas, all its lines together; nothing where it does not stand."""

    name: str
    material: str | None
    before: float | None
    after: float | None

    @property
    def what(self) -> str:
        """``new``, ``gone``, ``more``, ``less`` or ``same``."""
        if self.before is None:
            return "new"
        if self.after is None:
            return "gone"
        if abs(self.after - self.before) <= SAME:
            return "same"
        return "more" if self.after > self.before else "less"


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two formulas."""

    before: Profile
    after: Profile
    lines: tuple[LineChange, ...]
    effects: dict[str, Change]
    appear: tuple[Finding, ...]
    go: tuple[Finding, ...]
    stay: int
    label_before: tuple[Named, ...]
    label_after: tuple[Named, ...]


def compare(
    first: Opened, second: Opened, before: Profile, after: Profile, base: Snapshot
) -> Comparison:
    """Compare two formulas; percents are of 100 % in each.

    Parameters
    ----------
    first, second : Opened
        The two formulas.
    before, after : Profile
        What is predicted of each.
    base : Snapshot
    """
    old = find_all(first.formula, first.answers, before, base)
    new = find_all(second.formula, second.answers, after, base)
    old_keys, new_keys = {_key(f) for f in old}, {_key(f) for f in new}
    return Comparison(
        before,
        after,
        tuple(_lines(first, second, base)),
        {
            name: change(before.quantities[name], after.quantities[name])
            for name in before.quantities
            if name in after.quantities
        },
        tuple(f for f in new if _key(f) not in old_keys),
        tuple(f for f in old if _key(f) not in new_keys),
        len(old_keys & new_keys),
        tuple(ingredient_list(first.batch, base)),
        tuple(ingredient_list(second.batch, base)),
    )


def _key(found: Finding) -> tuple[str, str, str]:
    """A finding is the same whatever line it stands on."""
    return found.level, found.rule, found.message


def _lines(first: Opened, second: Opened, base: Snapshot) -> list[LineChange]:
    old, new = _amounts(first, base), _amounts(second, base)
    found = []
    for key in dict.fromkeys([*old, *new]):
        name, material = (old.get(key) or new[key])[:2]
        before = old[key][2] if key in old else None
        after = new[key][2] if key in new else None
        found.append(LineChange(name, material, before, after))
    return found


def _amounts(opened: Opened, base: Snapshot) -> dict[str, tuple[str, str | None, float]]:
    """Return name, material and percent by material, or by name where none is known."""
    found: dict[str, tuple[str, str | None, float]] = {}
    total = opened.formula.total
    for line, answer in zip(opened.formula.lines, opened.answers, strict=True):
        material = answer.match.material if answer.match is not None else None
        key = material or f"? {line.given.casefold()}"
        about = base.materials[material] if material else None
        name = about.inci + (f" ({about.grade})" if about.grade else "") if about else line.given
        held = found[key][2] if key in found else 0.0
        found[key] = (name, material, held + 100.0 * line.percent / total)
    return found


def label_moves(before: tuple[Named, ...], after: tuple[Named, ...]) -> list[str]:
    """Return what changes on the label: names that come or go, and the order where it counts."""
    old, new = [n.inci for n in before], [n.inci for n in after]
    found = [f"{name} comes in." for name in new if name not in old]
    found += [f"{name} goes." for name in old if name not in new]
    old_bound = [n.inci for n in before if not n.free and n.inci in new]
    new_bound = [n.inci for n in after if not n.free and n.inci in old]
    if old_bound != new_bound:
        found.append("The order changes: " + ", ".join(n.inci for n in after if not n.free) + ".")
    return found
