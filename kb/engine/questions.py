"""What to ask before weighing: which grade, which function is claimed, the one missing value."""

from __future__ import annotations

from kb.engine.answers import Swap
from kb.engine.context import Context
from kb.engine.traits import traits_of
from kb.store.snapshot import Snapshot

#: Grades whose values lie further apart than this many tolerances are different materials.
_APART = 1.5
_FUNCTIONS = ("declared-protectant", "uv-filter", "pigment", "barrier-powder", "active")


def questions(shown: list[Swap], c: Context) -> list[str]:
    """Return what the maker or the supplier should be asked, most decisive first."""
    found = []
    function = _which_function(c)
    if function:
        found.append(function)
    for swap in shown[:3]:
        grade = _which_grade(swap.candidate.material, c)
        if grade:
            found.append(grade)
    unknown = _deciding_unknown(shown, c.base)
    if unknown:
        found.append(unknown)
    return found


def _which_function(c: Context) -> str:
    """Ask which function is claimed when the old material has several that bind by law or test."""
    item = c.before.batch.items[c.index]
    if item.role or item.active is not None:
        return ""
    base = c.base
    able = [name for name in _FUNCTIONS if base.does(item.material, name) >= 0.5]
    if len(able) < 2 or not set(able) & {"declared-protectant", "uv-filter"}:
        return ""
    words = ", ".join(base.roles[name].label for name in able)
    return (
        f"Which function of {c.label(item.material)} is claimed: {words}? Say it with `role` or "
        "`active`; this answer takes it as "
        f"{base.roles[c.leading].label}, not declared."
    )


def _which_grade(material: str, c: Context) -> str:
    """Ask for the grade when grades of one name differ on what decides here, or in kind."""
    base = c.base
    if base.materials[material].grade:
        return ""
    grades = base.grades(material)
    if len(grades) < 2:
        return ""
    apart: list[str] = []
    for trait in traits_of(c.leading, base):
        values = [base.records.known.get(g, {}).get(trait.property) for g in grades]
        known = [k.value for k in values if k is not None]
        if len(known) < 2:
            continue
        low, high = min(known), max(known)
        scale = (1.0 + trait.tolerance) ** _APART
        far = high > low * scale if trait.kind == "ratio" else high - low > _APART * trait.tolerance
        if far:
            apart.append(trait.property.replace("_", " "))
    notes = [base.materials[g].grade for g in grades]
    kinds = {base.materials[g].tags for g in grades}
    if not apart and len(kinds) < 2 and len(set(notes)) < 2:
        return ""
    what = f" (they differ in {', '.join(apart[:3])})" if apart else ""
    return f"Which {c.label(material)}: {'; '.join(notes[:4])}?{what}"


def _deciding_unknown(shown: list[Swap], base: Snapshot) -> str:
    """Name the one unknown value that could change the order of the first answers."""
    for found in shown[:3]:
        missing = [
            x for x in found.candidate.comparisons if x.candidate is None and x.trait.weight >= 0.2
        ]
        if missing:
            worst = max(missing, key=lambda x: x.trait.weight)
            inci = base.materials[found.candidate.material].inci
            return (
                f"Ask the supplier of {inci} for its {worst.trait.property.replace('_', ' ')}: it "
                "could change the order."
            )
    return ""
