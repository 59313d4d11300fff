"""What counting settles in a single compound beside its fat numbers: refraction, fatty chains."""

from __future__ import annotations

import math

from from_structure import moieties, molar_mass
from rdkit import Chem

#: Eisenlohr's atomic refractions for the sodium line (1910), cm3/mol.
REFRACTION = {"C": 2.418, "H": 1.100, "O hydroxyl": 1.525, "O ether": 1.643, "O carbonyl": 2.211}
REFRACTION_BOND = 1.733
#: A chain of this many carbons is a fatty one.
FATTY = 8
_ACID = Chem.MolFromSmarts("[CX3](=[OX1])[OX2H1]")
_CONJUGATED = Chem.MolFromSmarts("[#6]=[#6]-[#6]=[#6,#8]")
_BOND = Chem.MolFromSmarts("[CX3]=[CX3]")


def plain(mol: Chem.Mol) -> bool:
    """Tell whether it is an open chain of carbon, hydrogen and oxygen without a charge."""
    return not mol.GetRingInfo().NumRings() and all(
        a.GetSymbol() in {"C", "O"} and not a.GetFormalCharge() for a in mol.GetAtoms()
    )


def conjugated(mol: Chem.Mol) -> bool:
    """Tell whether double bonds stand side by side: refraction is more than the sum there."""
    return bool(mol.HasSubstructMatch(_CONJUGATED))


def carbons(mol: Chem.Mol) -> int:
    """Count the carbon atoms."""
    return sum(a.GetSymbol() == "C" for a in mol.GetAtoms())


def _count(mol: Chem.Mol, pattern: Chem.Mol) -> int:
    return len(mol.GetSubstructMatches(pattern, maxMatches=1000))


def polyunsaturates(mol: Chem.Mol) -> float | None:
    """Return the share of fatty chains with two double bonds or more, % by mass.

    Nothing for a compound without a fatty acid; nought for one without double bonds.
    """
    if not _count(mol, _BOND):
        return 0.0
    parts = moieties(mol) or ([mol] if _count(mol, _ACID) else [])
    chains = [part for part in parts if carbons(part) >= FATTY]
    if not chains:
        return None
    many = sum(molar_mass(part) for part in chains if _count(part, _BOND) >= 2)
    return 100.0 * many / sum(molar_mass(part) for part in chains)


def refractive_index(mol: Chem.Mol, volume: float) -> float:
    """Return the refractive index by Lorentz and Lorenz from a molar volume, cm3/mol."""
    total = 0.0
    for atom in mol.GetAtoms():
        if atom.GetSymbol() == "C":
            total += REFRACTION["C"]
        elif atom.GetTotalNumHs():
            total += REFRACTION["O hydroxyl"]
        else:
            double = any(b.GetBondTypeAsDouble() == 2.0 for b in atom.GetBonds())
            total += REFRACTION["O carbonyl" if double else "O ether"]
        total += REFRACTION["H"] * atom.GetTotalNumHs()
    share = (total + REFRACTION_BOND * _count(mol, _BOND)) / volume
    return math.sqrt((1.0 + 2.0 * share) / (1.0 - share))
