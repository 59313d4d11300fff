#!/usr/bin/env python3
"""Work out facts from the structures in seed_data/structures.csv and write them to the seed.

Usage: python scripts/derive.py [--check]

A row is written only where nothing better stands; it is marked ``derived`` and its conditions name
the method. Running it twice changes nothing; with --check nothing is written and the exit code
says whether something would be. Needs the extra ``derive`` (RDKit).
"""

from __future__ import annotations

import argparse
import csv
import io
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

try:
    import fat_numbers
    import from_structure as structure
except ImportError:
    sys.exit("RDKit is missing: install the extra with `pip install -e '.[derive]'`.")

SEED = Path(__file__).resolve().parent.parent / "seed_data"
SOURCE = "computed-from-structure"
#: Derived rows of the same content that were entered by hand; a computed row takes their place.
SUPERSEDED = {
    "molar_mass": re.compile(r"from (the )?(molecular )?formula|^formula C"),
    "hlb": re.compile(r"^oxyethylene per cent divided by 5$"),
    "hansen_dd": re.compile(r"group contributions, from C"),
    "hansen_dp": re.compile(r"group contributions, from C"),
    "hansen_dh": re.compile(r"group contributions, from C"),
    "solubility_parameter": re.compile(r"group contributions, from C"),
    "natural_origin_index": re.compile(r"^renewable carbon \d+ of \d+"),
    "log_p": re.compile(r"(?!)"),
    "saponification_value": re.compile(r"(?!)"),
    "acid_value": re.compile(r"(?!)"),
    "hydroxyl_value": re.compile(r"(?!)"),
    "iodine_value": re.compile(r"(?!)"),
}
#: A published value is better everywhere. A recalled one is better too, except where the scales of
#: the recalled figures differ (total solubility parameter) or both stay side by side (HLB).
BETTER = {
    "molar_mass": {"published"},
    "hlb": set[str](),
    "hansen_dd": {"published", "memory", "derived", "common practice"},
    "hansen_dp": {"published", "memory", "derived", "common practice"},
    "hansen_dh": {"published", "memory", "derived", "common practice"},
    "solubility_parameter": {"published", "derived", "common practice"},
    "natural_origin_index": {"published", "memory", "derived", "common practice"},
    "log_p": {"published", "memory", "derived", "common practice"},
    "saponification_value": {"published", "derived"},
    "acid_value": {"published", "derived"},
    "hydroxyl_value": {"published", "derived"},
    "iodine_value": {"published", "derived"},
}
UNITS = {
    "molar_mass": "g/mol",
    "hlb": "1",
    "natural_origin_index": "1",
    "log_p": "1",
    "saponification_value": "mg KOH/g",
    "acid_value": "mg KOH/g",
    "hydroxyl_value": "mg KOH/g",
    "iodine_value": "g/100 g",
    "polyunsaturates": "%",
    "saturates": "%",
    "refractive_index": "1",
    "density": "g/ml",
    "viscosity": "mPa.s",
    "cloud_point": "degC",
}
#: How far published Hansen parameters lie below and above the group sums (90 %); measured on the
#: 20 materials that have both, see tests/libraries.
SPREAD = {
    "hansen_dd": (2.1, 1.0),
    "hansen_dp": (0.5, 2.7),
    "hansen_dh": (2.2, 2.2),
    "solubility_parameter": (1.6, 1.3),
}
#: Log P of a homologue moves by this much less or more a methylene than the fragment says.
LOG_P_LESS, LOG_P_MORE = 0.07, 0.02
#: From this share on a natural part counts (ISO 16128-2).
GATE = 0.5
#: Lowest cloud point the base holds, degC.
COLDEST = -80.0
#: Farther than this from 25 degC a density says nothing about the volume there, K.
_NEAR = 10.0
#: What a chain of any length does not settle: acids, alcohols and glycols by feedstock.
_NATURAL = {
    structure.Chem.CanonSmiles(smiles)
    for smiles in (
        "OCC(O)CO",  # glycerol, split from fats
        "OCC(O)COCC(O)CO",  # diglycerol, from glycerol
        "CC(C)CCCCCCCCCCCCCCC(=O)O",  # isostearic acid, left when plant oleic acid is dimerised
        "CC(C)CCCCCCCCCCCCCCCO",  # isostearyl alcohol, from that acid
        "CCO",  # fermented
        "CC(O)C(=O)O",  # fermented
        "OC(CC(=O)O)(CC(=O)O)C(=O)O",  # fermented
        "OCCCO",  # fermented
        "CC(C)CCO",  # fusel alcohol
        "OC(=O)CCCCCCCCC(=O)O",  # sebacic acid from castor oil
        "CCCCCCC(=O)O",  # heptanoic acid from castor oil
        "CCCCCCCO",  # heptanol from castor oil
        "CCCCCCCCC(=O)O",  # pelargonic acid from oleic acid
        "OC(=O)CCC(=O)O",  # fermented
    )
}

Row = dict[str, str]


@dataclass(frozen=True, slots=True)
class Found:
    """One computed value."""

    material: str
    name: str
    value: str
    low: str
    high: str
    temperature: str
    conditions: str
    note: str
    source: str = SOURCE

    def row(self) -> Row:
        """Return it as a row of the facts."""
        return {
            "material": self.material,
            "property": self.name,
            "value": self.value,
            "low": self.low,
            "high": self.high,
            "unit": UNITS.get(self.name, "MPa^0.5"),
            "temperature_c": self.temperature,
            "conditions": self.conditions,
            "source": self.source,
            "place": "",
            "evidence": "derived",
            "note": self.note,
        }


def read(path: Path) -> list[Row]:
    """Return the rows of a seed file."""
    with path.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def facts(name: str) -> list[Row]:
    """Return the facts of a property."""
    return read(SEED / "facts" / f"{name}.csv")


def forms() -> dict[str, str]:
    """Return the physical form of each material."""
    return {
        row["material"]: row["form"]
        for path in sorted((SEED / "materials").glob("*.csv"))
        for row in read(path)
    }


def volumes(
    masses: dict[str, float], densities: list[Row] | None = None, but: str = ""
) -> dict[str, float]:
    """Return molar volumes of liquids at 25 degC from their best density, cm3/mol.

    From the rows given, or those of the seed; rows of the source ``but`` are passed over.
    """
    form = forms()
    ladder = ("published", "derived", "memory", "common practice")
    chosen: dict[str, tuple[int, float, float]] = {}
    for row in facts("density") if densities is None else densities:
        if row["source"] == but:
            continue
        apart = abs(float(row["temperature_c"] or 25.0) - 25.0)
        if not row["value"] or apart > _NEAR or form[row["material"]] != "liquid":
            continue
        rank = (ladder.index(row["evidence"]), apart, float(row["value"]))
        chosen[row["material"]] = min(chosen.get(row["material"], rank), rank)
    return {m: masses[m] / rank[2] for m, rank in chosen.items() if m in masses}


def mass_of(material: str, mol: structure.Chem.Mol) -> Found:
    """Return the molar mass."""
    said = f"from structure: {structure.formula(mol)}, IUPAC standard atomic weights"
    value = f"{structure.molar_mass(mol):.2f}"
    return Found(material, "molar_mass", value, "", "", "", said, "")


def hlb_of(material: str, mol: structure.Chem.Mol) -> Iterator[Found]:
    """Yield the HLB of an ethoxylated alcohol."""
    value = structure.hlb_of_ethoxylate(mol)
    if value is not None:
        said = "from structure: oxyethylene per cent divided by 5 (Griffin 1954), mean structure"
        yield Found(material, "hlb", f"{value:.1f}", "", "", "", said, "")


def solubility_of(material: str, mol: structure.Chem.Mol, volume: float | None) -> Iterator[Found]:
    """Yield Hansen's three parameters and their total by groups."""
    found = structure.solubility_parameters(mol, volume)
    if found is None:
        return
    origin = "molar volume by Fedors" if volume is None else "molar volume from density"
    said = f"from structure: group contributions of van Krevelen and Hoftyzer, {origin}"
    for name, value in (
        ("hansen_dd", found.dispersion),
        ("hansen_dp", found.polar),
        ("hansen_dh", found.bonding),
        ("solubility_parameter", found.total),
    ):
        less, more = SPREAD[name]
        if name in {"hansen_dp", "hansen_dh"} and value == 0.0:
            less = more = 0.0
        low, high = max(value - less, 0.0), value + more
        note = "group values recalled; range from published Hansen parameters"
        if name == "solubility_parameter":
            note += "; do not mix with the lower-lying scale of 1985 and 1991"
        text = (f"{value:.1f}", f"{low:.1f}", f"{high:.1f}", "25", f"{said}, 25 degC", note)
        yield Found(material, name, *text)


def natural(mol: structure.Chem.Mol) -> bool:
    """Tell whether an acid or alcohol is made from plants: a straight even chain, or listed."""
    if structure.Chem.MolToSmiles(mol, isomericSmiles=False) in _NATURAL:
        return True
    carbons = [a for a in mol.GetAtoms() if a.GetSymbol() == "C"]
    ends = [a for a in carbons if sum(n.GetSymbol() == "C" for n in a.GetNeighbors()) == 1]
    straight = len(ends) == 2 and not mol.GetRingInfo().NumRings()
    oxygens = sum(a.GetSymbol() == "O" for a in mol.GetAtoms())
    only = len(carbons) + oxygens == mol.GetNumAtoms()
    return straight and only and len(carbons) >= 8 and len(carbons) % 2 == 0 and oxygens <= 3


def origin_of(material: str, mol: structure.Chem.Mol) -> Iterator[Found]:
    """Yield the natural origin index of an ester by renewable carbon."""
    parts = structure.moieties(mol)
    if parts is None:
        return
    carbons = [sum(a.GetSymbol() == "C" for a in part.GetAtoms()) for part in parts]
    kinds = [natural(part) for part in parts]
    masses = [structure.molar_mass(part) for part in parts]
    n = sum(c for c, kind in zip(carbons, kinds, strict=True) if kind)
    total = sum(carbons)
    by_carbon = n / total
    # Each bond made has lost one water between its two parts, half a water to either side.
    lost = 18.015 * (len(parts) - 1)
    bound = [mass - lost * mass / sum(masses) for mass in masses]
    by_mass = sum(b for b, kind in zip(bound, kinds, strict=True) if kind) / sum(bound)
    low, high = sorted((by_carbon, by_mass))
    value, low, high = (x if x > GATE else 0.0 for x in (by_carbon, low, high))
    said = f"from structure: renewable carbon {n} of {total}, usual feedstock; range to mass share"
    text = (f"{value:.2f}", f"{low:.2f}", f"{high:.2f}", "", said, "")
    yield Found(material, "natural_origin_index", *text)


def numbers_of(material: str, mol: structure.Chem.Mol) -> Iterator[Found]:
    """Yield saponification, acid, hydroxyl and iodine value of a fatty compound."""
    for name, value in fat_numbers.analytical_numbers(mol).items():
        said = f"from structure: {'groups counted, pure compound' if value else 'no such group'}"
        yield Found(material, name, f"{value:.1f}" if value else "0", "", "", "", said, "")


def told_otherwise(row: Row, one: Found | None) -> bool:
    """Tell whether a recalled row is of an article that is another mixture."""
    if one is None or row["evidence"] != "memory":
        return False
    ends = [float(row[column]) for column in ("low", "value", "high") if row[column]]
    middle = float(row["value"]) if row["value"] else (ends[0] + ends[-1]) / 2.0
    return fat_numbers.sold_otherwise(row["property"], middle, float(one.value))


def log_p_of(mols: dict[str, structure.Chem.Mol]) -> Iterator[Found]:
    """Yield log P of straight-chain homologues of an acid or alcohol that was measured.

    An estimate from atoms lies one to two units low for long chains; it is not used at all.
    """
    chains = {m: chain for m, mol in mols.items() if (chain := structure.straight_chain(mol))}
    anchors: dict[str, tuple[int, float]] = {}
    for row in facts("log_p"):
        chain = chains.get(row["material"])
        seen = row["evidence"] == "published" or row["source"] == "hansch-leo-1995"
        if chain and seen and row["value"]:
            anchors[chain[0]] = max(
                anchors.get(chain[0], (0, 0.0)), (chain[1], float(row["value"]))
            )
    for material, (kind, n) in sorted(chains.items()):
        if kind not in anchors or n <= anchors[kind][0]:
            continue
        start, measured = anchors[kind]
        more = n - start
        value = measured + structure.LOG_P_METHYLENE * more
        said = (
            f"from structure: {kind} of {start} carbons and {structure.LOG_P_METHYLENE} for each of"
            f" {more} methylenes (Hansch and Leo)"
        )
        low, high = value - LOG_P_LESS * more, value + LOG_P_MORE * more
        text = (f"{value:.2f}", f"{low:.2f}", f"{high:.2f}", "25", said, "neutral form")
        yield Found(material, "log_p", *text)


def computed() -> list[Found]:
    """Return everything the structures give."""
    rows = read(SEED / "structures.csv")
    mols = {row["material"]: structure.molecule(row["smiles"]) for row in rows}
    # A mean chain stands for a mixture of chains; it does not tell what they are made from.
    means = {row["material"] for row in rows if row["source"] == "mean-chain-structure"}
    volume = volumes({m: structure.molar_mass(mol) for m, mol in mols.items()})
    found: list[Found] = []
    for material, mol in mols.items():
        found.append(mass_of(material, mol))
        found.extend(hlb_of(material, mol))
        found.extend(solubility_of(material, mol, volume.get(material)))
        if material not in means:
            found.extend(origin_of(material, mol))
        found.extend(numbers_of(material, mol))
    return [*found, *log_p_of(mols)]


def superseded(row: Row) -> bool:
    """Tell whether a hand-entered derived row says what the structure says."""
    name = row["property"]
    if row["evidence"] != "derived" or not SUPERSEDED[name].search(row["conditions"]):
        return False
    if name == "molar_mass":
        return not row["low"] and not row["high"]
    if name == "natural_origin_index":
        # A wide range tells of feedstocks that differ, which no structure shows.
        return float(row["high"] or 0) - float(row["low"] or 0) <= 0.1
    return True


def merged(name: str, found: list[Found]) -> list[Row]:
    """Return the rows a facts file should have."""
    rows = [row for row in facts(name) if row["source"] != SOURCE]
    new = {one.material: one for one in found if one.name == name}
    kept: list[Row] = []
    better: set[str] = set()
    for row in rows:
        if row["material"] in new and superseded(row):
            continue
        kept.append(row)
        one = new.get(row["material"])
        if row["evidence"] in BETTER[name] or told_otherwise(row, one):
            better.add(row["material"])
    return kept + [one.row() for m, one in new.items() if m not in better]


def as_text(rows: list[Row]) -> str:
    """Return rows in the one form of the seed: sorted, LF."""
    header = list(rows[0])
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(sorted([row[column] for column in header] for row in rows))
    return out.getvalue()


def main(arguments: list[str] | None = None) -> int:
    """Write the facts, or with --check say whether they are up to date."""
    parser = argparse.ArgumentParser(description="Work out facts from structures.")
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 if needed")
    check = parser.parse_args(arguments).check
    found = computed()
    changed = 0
    for name in SUPERSEDED:
        path = SEED / "facts" / f"{name}.csv"
        rows = merged(name, found)
        text = as_text(rows)
        own = sum(row["source"] == SOURCE for row in rows)
        differs = text != path.read_text(encoding="utf-8")
        changed += differs
        state = "up to date" if not differs else "not up to date" if check else "written"
        print(f"{name}: {own} rows from structure, {state}")
        if differs and not check:
            path.write_text(text, encoding="utf-8", newline="")
    return 1 if check and changed else 0


if __name__ == "__main__":
    sys.exit(main())
