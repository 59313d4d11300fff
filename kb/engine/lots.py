"""Same name, other supplier: what differs between two grades or lots, and what to test."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.roles import Here
from kb.engine.traits import compare
from kb.errors import UnknownNameError
from kb.formula.specification import Specification
from kb.store.records import Known, Material, Records
from kb.store.snapshot import Snapshot
from kb.store.tables import DATA_SHEET

_TESTS = {
    "melting_point": "drop or melting point",
    "acid_value": "acid value",
    "saponification_value": "saponification value",
    "iodine_value": "iodine value and peroxide value",
    "hydroxyl_value": "hydroxyl value",
    "viscosity": "viscosity at 25 degC",
    "density": "density",
    "refractive_index": "refractive index",
    "particle_size": "particle size and sieve residue",
    "oil_absorption": "oil absorption by rub-out",
    "gel_viscosity": "viscosity of a 1 % dispersion",
    "hlb": "a small emulsion beside the old lot",
    "critical_gelling_concentration": "tilt test of a dose series in your oil",
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One property of two lots: values, whether it matters for the line's role."""

    property: str
    old: float | None
    new: float | None
    unit: str
    matters: bool
    test: str


def lay_over(specification: Specification, base: Snapshot) -> tuple[Snapshot, str]:
    """Return a view that holds the specified lot as a grade of its material, and its id.

    Raises
    ------
    UnknownNameError
        The INCI name or a property is not known.
    """
    answer = base.names.resolve(specification.inci)
    if answer.match is None:
        near = tuple(m.matched for m in answer.nearest[:3])
        raise UnknownNameError(
            f"{specification.inci!r} is not known for certain.",
            specification.origin,
            "Did you mean " + ", ".join(near) + "?" if near else "Use the INCI name.",
            near,
        )
    for name in specification.values:
        if name not in base.records.units:
            from rapidfuzz import process

            found = process.extract(name, sorted(base.records.units), limit=3)
            near = tuple(n for n, _, _ in found)
            raise UnknownNameError(
                f"There is no property {name!r}.",
                specification.origin,
                "Did you mean " + ", ".join(near) + "?",
                near,
            )
    generic = base.materials[base.materials[answer.match.material].generic]
    own = f"{generic.id}--{specification.slug}"
    material = Material(
        own,
        generic.inci,
        specification.grade,
        generic.cas,
        generic.origin,
        generic.form,
        generic.charge,
        generic.phase,
        generic.tags,
        f"specification {specification.origin}",
    )
    records = Records(
        materials=[material],
        known={
            own: {
                name: Known(middle, low, high, DATA_SHEET, "")
                for name, (low, middle, high) in specification.values.items()
            }
        },
    )
    return base.overlay(records), own


def differences(old: str, new: str, here: tuple[Here, ...], base: Snapshot) -> list[Difference]:
    """Return what differs between two lots or grades, what matters for the role first."""
    deciding = {
        found.trait.property: found for want in here for found in compare(want.role, old, new, base)
    }
    names = {
        name
        for material in (old, new)
        for name in (
            *base.records.known.get(material, {}),
            *base.records.known.get(material.split("--")[0], {}),
        )
    }
    found = []
    for name in sorted(names):
        mine, theirs = base.known(old, name), base.known(new, name)
        if name == "viscosity_slope" or (mine == theirs):
            continue
        comparison = deciding.get(name)
        matters = comparison is not None and (comparison.fit < 0.8 or _apart(mine, theirs))
        found.append(
            Difference(
                name,
                None if mine is None else mine.value,
                None if theirs is None else theirs.value,
                base.records.units.get(name, ""),
                matters,
                _TESTS.get(name, name.replace("_", " ")),
            )
        )
    return sorted(found, key=lambda d: (not d.matters, d.property))


def _apart(mine: Known | None, theirs: Known | None) -> bool:
    """Tell whether a deciding value moved by more than a fifth: the dose will move with it."""
    if mine is None or theirs is None or mine.value == 0:
        return True
    return abs(theirs.value / mine.value - 1.0) > 0.2


def incoming_tests(found: list[Difference], here: tuple[Here, ...], base: Snapshot) -> list[str]:
    """Return what to measure when the lot comes in: what differs, then what decides its role."""
    named = [d.test for d in found if d.matters]
    for want in here[:1]:
        for trait in base.roles[want.role].traits:
            if trait.decisive:
                named.append(_TESTS.get(trait.property, trait.property.replace("_", " ")))
    return ["appearance, odour, identity", *dict.fromkeys(named)]
