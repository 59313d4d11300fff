#!/usr/bin/env python3
"""Work out indices from the fatty acids of fats and from structures, and write them to the seed.

Usage: python scripts/derive_values.py [--check]

From ``fatty_acids.csv``: saponification and iodine value, saturated and polyunsaturated share, mean
molar mass, solubility parameters, and for liquid fats refractive index, density and viscosity. From
``structures.csv``: density, refractive index and cloud point of a liquid and the share of
polyunsaturated chains (their fat numbers are the business of ``derive.py``, which is run after
this). From the name alone: the molar mass of some. Where a published value stands,
nothing is written. A recalled value that agrees with the computed one adds nothing and goes; one
that disagrees stays: beside the value of a fat, for ``kb data conflicts`` to list, and in place of
the value of a compound, since what is sold under its name is then a mixture. Running it twice
changes nothing. With --check nothing is written; the exit code says whether something would be.
Needs RDKit.
"""

from __future__ import annotations

import argparse
import math
import re
import statistics
import sys
from collections.abc import Iterable, Iterator

import derive
import from_composition as fats
import from_formula as counting
import from_groups as volume_groups
import from_name as names
import from_structure as structure

FROM_FATS, FROM_COUNTING = "computed-from-composition", "computed-by-counting"
FROM_GROUPS, FROM_NAME = "computed-by-volume-groups", "computed-from-name"
FROM_MELTING = "computed-from-melting-point"
OWN = (FROM_FATS, FROM_COUNTING, FROM_GROUPS, FROM_NAME, FROM_MELTING)
#: Measured against published values in tests/libraries: 90 % lie within.
REFRACTION_ERROR, REFRACTION_ERROR_FATS, DENSITY_ERROR_FATS = 0.006, 0.0025, 0.005
#: Refraction from a volume that is itself a sum of groups: 90 % lie within.
REFRACTION_ERROR_GROUPS = 0.009
#: Factor within which the viscosity of an oil lies.
VISCOSITY_ERROR_FATS = 1.08
#: A liquid of one compound clouds where it melts, give or take this, K.
CLOUD_ERROR = 3.0
#: What is sold is not quite the pure compound, points.
TRACES = 2.0
#: Below this no one asks for the indices of a fat or an ester.
_FEWEST_CARBONS = 14
#: Derived rows of the same content that were entered by hand; a computed row takes their place.
SUPERSEDED = re.compile(
    r"^theory from formula, usual spread|^3 x 56106 / saponification value$"
    r"|^line on iodine value: |^from fatty acid compositions, widened"
    r"|^pure (mono)?ester|, pure acid$"
)
PLACES = {"refractive_index": 4, "density": 4}
TEMPERED = {"refractive_index", "density", "viscosity", *derive.SPREAD}
#: Farther apart than this two values are of different temperatures, K.
_NEAR_K = 10.0
_HYDROXYL = structure.Chem.MolFromSmarts("[O,N;!H0]")
#: Density of a fat of hydroxy acids at 25 degC (castor oil), g/ml.
CASTOR_DENSITY = 0.957
#: Where any value stands already, a group sum adds nothing.
GROUP_SUMS = frozenset(derive.SPREAD)

Range = fats.Range


def composed() -> dict[str, fats.Fat]:
    """Return the fats whose acids are known."""
    shares: dict[str, dict[fats.Acid, tuple[float, float]]] = {}
    rest: dict[str, tuple[float, float]] = {}
    for row in derive.read(derive.SEED / "fatty_acids.csv"):
        ends = float(row["low"]), float(row["high"])
        if row["acid"] == "unsaponifiable":
            rest[row["material"]] = ends
        else:
            shares.setdefault(row["material"], {})[fats.acid(row["acid"])] = ends
    return {m: fats.Fat(own, rest.get(m, fats.UNSAPONIFIABLE)) for m, own in shares.items()}


def recalled() -> set[str]:
    """Return the fats of which an acid is recalled and not read."""
    rows = derive.read(derive.SEED / "fatty_acids.csv")
    return {r["material"] for r in rows if r["evidence"] == "memory" and ":" in r["acid"]}


def of_fat(material: str, fat: fats.Fat, liquid: bool, unsure: bool) -> Iterator[derive.Found]:
    """Yield what the acids of one fat settle."""
    said = "from fatty acids: triglycerides, range of the shares"
    note = "a share of the acids is recalled" if unsure else ""
    saponification, iodine = fats.saponification_value(fat), fats.iodine_value(fat)
    simple = {
        "saponification_value": saponification,
        "iodine_value": iodine,
        "polyunsaturates": fats.polyunsaturates(fat),
        "saturates": fats.saturates(fat),
        "molar_mass": fats.molar_mass(fat),
    }
    if fat.hydroxylated:
        simple["hydroxyl_value"] = fats.hydroxyl_value(fat)
    for name, ends in simple.items():
        yield found(material, name, ends, said, note)
    yield from solubility_of(material, fat, note)
    if fat.hydroxylated or not liquid:
        return
    lines = (
        ("refractive_index", fats.refractive_index, REFRACTION_ERROR_FATS, "Pickering-Cowlishaw"),
        ("density", fats.density, DENSITY_ERROR_FATS, "Lund"),
    )
    for name, line, error, who in lines:
        value = line(saponification[1], iodine[1])
        ends = [line(s, i) for s in saponification[::2] for i in iodine[::2]]
        low, high = min([*ends, value - error]), max([*ends, value + error])
        said = f"from fatty acids: line of {who} on saponification and iodine value, 25 degC"
        yield found(material, name, (low, value, high), said, note)
    thick = [fats.viscosity(s, i) for s, i in zip(saponification[::-1], iodine[::-1], strict=True)]
    if None not in thick:
        low, value, high = (float(x or 0.0) for x in thick)
        ends = low / VISCOSITY_ERROR_FATS, value, high * VISCOSITY_ERROR_FATS
        said = "from fatty acids: line through twelve published oils on saponification and iodine"
        yield found(material, "viscosity", ends, f"{said} value, 25 degC", note)


def solubility_of(material: str, fat: fats.Fat, note: str) -> Iterator[derive.Found]:
    """Yield Hansen's parameters of the mean triglyceride, as a liquid at 25 degC."""
    saponification, iodine = fats.saponification_value(fat)[1], fats.iodine_value(fat)[1]
    density = CASTOR_DENSITY if fat.hydroxylated else fats.density(saponification, iodine)
    three = fats.solubility_parameters(fat, fats.molar_mass(fat)[1] / density)
    said = "from fatty acids: group contributions of van Krevelen and Hoftyzer, liquid at 25 degC"
    total = math.sqrt(sum(x * x for x in three))
    for name, value in zip(derive.SPREAD, (*three, total), strict=True):
        less, more = derive.SPREAD[name]
        yield found(material, name, (value - less, value, value + more), said, note)


def of_compound(
    material: str, mol: structure.Chem.Mol, volume: float | None, summed: float | None
) -> Iterator[derive.Found]:
    """Yield what counting settles of one compound; ``summed`` is its volume by groups."""
    if not counting.plain(mol):
        return
    used = volume if volume is not None else summed
    if used is not None and not counting.conjugated(mol):
        value = counting.refractive_index(mol, used)
        said = "by counting: Lorentz and Lorenz, Eisenlohr's refractions, density at 25 degC"
        off = REFRACTION_ERROR if volume is not None else REFRACTION_ERROR_GROUPS
        ends = value - off, value, value + off
        yield found(material, "refractive_index", ends, said, "", FROM_COUNTING)
    if counting.carbons(mol) < _FEWEST_CARBONS:
        return
    share = counting.polyunsaturates(mol)
    if share is not None:
        ends = max(share - TRACES, 0.0), share, min(share + TRACES, 100.0)
        said = "by counting: chains with two double bonds or more, traces allowed"
        yield found(material, "polyunsaturates", ends, said, "", FROM_COUNTING)


def of_liquid(material: str, mass: float, volume: float) -> derive.Found:
    """Return the density of a liquid from its molar mass and its volume by groups."""
    value = mass / volume
    off = volume_groups.DENSITY_ERROR * value
    said = "by groups: molar volume at 25 degC, fitted to published liquids"
    return found(material, "density", (value - off, value, value + off), said, "", FROM_GROUPS)


def of_names(materials: Iterable[str]) -> Iterator[derive.Found]:
    """Yield the molar masses that names settle."""
    for material in materials:
        told = names.molar_mass(material)
        if told is not None:
            yield found(material, "molar_mass", *told, "", FROM_NAME)


def of_melting(liquids: Iterable[str]) -> Iterator[derive.Found]:
    """Yield the cloud point of liquids of one compound from published melting points."""
    wanted = set(liquids)
    points: dict[str, list[float]] = {}
    for row in derive.facts("melting_point"):
        if row["material"] in wanted and row["evidence"] == "published":
            ends = [float(row[c]) for c in ("low", "high") if row[c]]
            value = float(row["value"]) if row["value"] else statistics.mean(ends)
            points.setdefault(row["material"], []).append(value)
    for material, values in sorted(points.items()):
        ends = min(values) - CLOUD_ERROR, statistics.median(values), max(values) + CLOUD_ERROR
        said = "from the published melting point: a liquid of one compound clouds where it melts"
        yield found(material, "cloud_point", ends, said, "it may stay clear colder", FROM_MELTING)


def found(
    material: str, name: str, ends: Range, said: str, note: str, source: str = FROM_FATS
) -> derive.Found:
    """Return one computed value as text, its range not below nought but for temperatures."""
    digits = PLACES.get(name, 1)
    least = derive.COLDEST if name == "cloud_point" else 0.0
    low, value, high = (f"{max(x, least):.{digits}f}" for x in ends)
    t_c = "25" if name in TEMPERED else ""
    return derive.Found(material, name, value, low, high, t_c, said, note, source)


def computed() -> list[derive.Found]:
    """Return everything the acids and the structures give."""
    forms, unsure = derive.forms(), recalled()
    made: list[derive.Found] = []
    for material, fat in composed().items():
        made.extend(of_fat(material, fat, forms[material] == "liquid", material in unsure))
    rows = derive.read(derive.SEED / "structures.csv")
    mols = {row["material"]: structure.molecule(row["smiles"]) for row in rows}
    masses = {m: structure.molar_mass(mol) for m, mol in mols.items()}
    summed = {
        m: v
        for m, mol in mols.items()
        if forms[m] == "liquid" and (v := volume_groups.molar_volume(mol)) is not None
    }
    made.extend(of_liquid(m, masses[m], v) for m, v in summed.items())
    # Sums stand for densities that were measured nowhere; what goes with them is not measured.
    measured = derive.volumes(masses, merged("density", made), FROM_GROUPS)
    for material, mol in mols.items():
        made.extend(of_compound(material, mol, measured.get(material), summed.get(material)))
    made.extend(of_names(forms))
    # A hydroxyl keeps a melt from freezing for weeks: glycols, glycerol, oleic acid stay clear.
    made.extend(
        of_melting(
            m
            for m, mol in mols.items()
            if forms[m] == "liquid" and not mol.HasSubstructMatch(_HYDROXYL)
        )
    )
    return made


def agrees(row: derive.Row, one: derive.Found, tolerance: tuple[str, float]) -> bool:
    """Tell whether a recalled value says no more than the computed one.

    Its middle lies in the computed range, or within half the property's tolerance of its ends.
    """
    numbers = [float(row[c]) for c in ("low", "value", "high") if row[c]]
    middle = float(row["value"]) if row["value"] else sum(numbers) / len(numbers)
    low, high = float(one.low), float(one.high)
    kind, width = tolerance
    if one.source == FROM_GROUPS:
        # A sum of groups is no witness against what is sold: no room beside its own range.
        width = 0.0
    if kind == "ratio":
        return low / (1.0 + 0.5 * width) <= middle <= high * (1.0 + 0.5 * width)
    return low - 0.5 * width <= middle <= high + 0.5 * width


def apart(one: derive.Found, rows: list[derive.Row], tolerance: tuple[str, float]) -> bool:
    """Tell whether a recalled value contradicts the pure compound: then what is sold is not."""
    return any(
        row["evidence"] == "memory" and near(row, one) and not agrees(row, one, tolerance)
        for row in rows
        if row["material"] == one.material
    )


def near(row: derive.Row, one: derive.Found) -> bool:
    """Tell whether two values are of one temperature."""
    if not one.temperature or not row["temperature_c"]:
        return True
    return abs(float(row["temperature_c"]) - float(one.temperature)) <= _NEAR_K


def merged(name: str, made: Iterable[derive.Found]) -> list[derive.Row]:
    """Return the rows a facts file should have."""
    new = {one.material: one for one in made if one.name == name}
    about = {
        row["property"]: (row["tolerance_kind"], float(row["tolerance"]))
        for row in derive.read(derive.SEED / "properties.csv")
    }
    rows = [row for row in derive.facts(name) if row["source"] not in OWN]
    new = {
        m: one
        for m, one in new.items()
        if one.source == FROM_FATS or not apart(one, rows, about[name])
    }
    better = {
        row["material"]
        for row in rows
        if row["material"] in new
        and near(row, new[row["material"]])
        and (
            row["evidence"] == "published"
            or name in GROUP_SUMS
            or (row["evidence"] == "derived" and not SUPERSEDED.search(row["conditions"]))
        )
    }
    kept = []
    for row in rows:
        one = new.get(row["material"])
        if one is not None and row["material"] not in better and near(row, one):
            if row["evidence"] == "derived":
                continue
            if row["evidence"] == "memory" and agrees(row, one, about[name]):
                continue
        kept.append(row)
    return kept + [one.row() for material, one in new.items() if material not in better]


def main(arguments: list[str] | None = None) -> int:
    """Write the facts, or with --check say whether they are up to date."""
    parser = argparse.ArgumentParser(description="Work out indices of fats and compounds.")
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 if needed")
    check = parser.parse_args(arguments).check
    made = computed()
    changed = 0
    for name in sorted({one.name for one in made}):
        path = derive.SEED / "facts" / f"{name}.csv"
        rows = merged(name, made)
        text = derive.as_text(rows)
        differs = text != path.read_text(encoding="utf-8")
        changed += differs
        own = sum(row["source"] in OWN for row in rows)
        state = "up to date" if not differs else "not up to date" if check else "written"
        print(f"{name}: {own} rows worked out, {state}")
        if differs and not check:
            path.write_text(text, encoding="utf-8", newline="")
    return 1 if check and changed else 0


if __name__ == "__main__":
    sys.exit(main())
