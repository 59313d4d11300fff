"""The numbers the analyst of fats finds in a pure compound, counted from its structure."""

from __future__ import annotations

from from_structure import Chem, molar_mass

#: Potassium hydroxide in mg per mol; iodine in g per mol of double bonds.
_ALKALI, _IODINE = 56106.0, 253.81
_ACYL = Chem.MolFromSmarts("[#6][CX3](=[OX1])[OX2]")
_CARBONATE = Chem.MolFromSmarts("[OX2][CX3](=[OX1])[OX2]")
_CARBOXYL = Chem.MolFromSmarts("[#6][CX3](=[OX1])[OX2H1]")
_HYDROXYL = Chem.MolFromSmarts("[CX4][OX2H1]")
_OLEFIN = Chem.MolFromSmarts("[CX3]=[CX3]")
_ETHER = Chem.MolFromSmarts("[CX4][OX2][CX4]")
_CONJUGATED = Chem.MolFromSmarts("C=CC=[C,O]")
#: Fewer carbons than this and it is no fatty compound.
LEAST_CARBONS = 8
#: How far a recalled figure may lie from the pure compound's (share; difference for iodine).
#: Farther off, what is sold is another mixture and the structure is silent.
SOLD_OTHERWISE = {
    "saponification_value": 0.04,
    "acid_value": 0.04,
    "hydroxyl_value": 0.1,
    "iodine_value": 8.0,
}


def analytical_numbers(mol: Chem.Mol) -> dict[str, float]:
    """Return saponification, acid and hydroxyl value (mg KOH/g) and iodine value (g/100 g).

    Only for fatty compounds: open chains of carbon, hydrogen and oxygen with eight carbons or
    more, no carbonate, no double bonds in conjugation (these take up iodine only in part). Free
    acid in an ester or some ester in an alcohol is impurity and no matter of the structure: what
    takes up alkali is told only where there is such a group. Nobody titrates ethers with iodine.
    """
    atoms = list(mol.GetAtoms())
    only = all(a.GetSymbol() in {"C", "O"} and not a.GetFormalCharge() for a in atoms)
    fatty = sum(a.GetSymbol() == "C" for a in atoms) >= LEAST_CARBONS
    if not only or not fatty or mol.GetRingInfo().NumRings():
        return {}
    if mol.HasSubstructMatch(_CARBONATE) or mol.HasSubstructMatch(_CONJUGATED):
        return {}

    def per_mass(pattern: Chem.Mol, equivalent: float) -> float:
        return equivalent * len(mol.GetSubstructMatches(pattern, maxMatches=1000)) / mass

    mass = molar_mass(mol)
    found = {
        "saponification_value": per_mass(_ACYL, _ALKALI),
        "acid_value": per_mass(_CARBOXYL, _ALKALI),
        "hydroxyl_value": per_mass(_HYDROXYL, _ALKALI),
        "iodine_value": per_mass(_OLEFIN, 100.0 * _IODINE),
    }
    if mol.HasSubstructMatch(_ETHER):
        del found["iodine_value"]
    return {name: value for name, value in found.items() if value or name == "iodine_value"}


def sold_otherwise(name: str, recalled: float, computed: float) -> bool:
    """Tell whether a recalled figure says that the article is not the pure compound."""
    limit = SOLD_OTHERWISE.get(name)
    if limit is None:
        return False
    if name == "iodine_value" or computed == 0.0:
        return abs(recalled - computed) > SOLD_OTHERWISE["iodine_value"]
    return abs(recalled - computed) > limit * computed
