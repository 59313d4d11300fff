"""What a structure alone can say: pure functions on RDKit molecules, no files.

Group values are those of the printed tables as recalled; ``tests/libraries`` measures how far the
result lies from published Hansen parameters, and the ranges given here are those errors.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from rdkit import Chem
from rdkit.Chem.Descriptors import MolWt
from rdkit.Chem.rdMolDescriptors import CalcMolFormula

#: Oxyethylene, g/mol.
OXYETHYLENE = 44.053
#: One more methylene in a chain: fragment 0.66 and bond -0.12 (Hansch and Leo 1995).
LOG_P_METHYLENE = 0.54


@dataclass(frozen=True, slots=True)
class Group:
    """One structural group: Hoftyzer and van Krevelen's and Fedors' increments.

    ``force`` in (J cm3)^0.5/mol, ``polar`` likewise, ``bonding`` in J/mol; ``cohesion`` in J/mol,
    ``volume`` in cm3/mol. The first atoms of ``pattern`` are taken, at most ``takes`` of them.
    """

    name: str
    pattern: str
    takes: int
    force: float
    polar: float
    bonding: float
    cohesion: float
    volume: float


#: In order of precedence: an atom belongs to the first group that takes it. Groups that the polar
#: table does not know (amines, rings with more than two substituents) are left out on purpose.
GROUPS = (
    Group("COOH", "[CX3](=[OX1])[OX2H1]", 3, 530, 420, 10000, 27610, 28.5),
    Group("COO", "[#6;X3;R0](=[OX1])[OX2H0]", 3, 390, 490, 7000, 18000, 18.0),
    Group("CHO", "[CX3H1]=[OX1]", 2, 470, 800, 4500, 21350, 22.3),
    Group("CO", "[CX3](=[OX1])([#6])[#6]", 2, 290, 770, 2000, 17370, 10.8),
    Group("OH beside OH", "[OX2H1]-[CX4]-[CX4]-[OX2H1]", 1, 210, 500, 20000, 21900, 13.0),
    Group("OH", "[OX2H1]", 1, 210, 500, 20000, 29800, 10.0),
    Group("O", "[OX2H0;R0]", 1, 100, 400, 3000, 3350, 3.8),
    Group("phenylene", "c1(*)c(*)[cH][cH][cH][cH]1", 0, 1270, 110, 0, 31940, 52.4),
    Group("phenylene", "c1(*)[cH]c(*)[cH][cH][cH]1", 0, 1270, 110, 0, 31940, 52.4),
    Group("phenylene", "c1(*)[cH][cH]c(*)[cH][cH]1", 0, 1270, 110, 0, 31940, 52.4),
    Group("phenyl", "[cH]1[cH][cH][cH][cH]c1(*)", 0, 1430, 110, 0, 31940, 71.4),
    Group("Cl", "[Cl]", 1, 450, 550, 400, 11550, 24.0),
    Group("CH3", "[CX4H3]", 1, 420, 0, 0, 4710, 33.5),
    Group("CH2", "[CX4H2]", 1, 270, 0, 0, 4940, 16.1),
    Group("CH", "[CX4H1]", 1, 80, 0, 0, 3430, -1.0),
    Group("C", "[CX4H0]", 1, -70, 0, 0, 1470, -19.2),
    Group("=CH2", "[CX3H2]", 1, 400, 0, 0, 4310, 28.5),
    Group("=CH", "[CX3H1]", 1, 200, 0, 0, 4310, 13.5),
    Group("=C", "[CX3H0]", 1, 70, 0, 0, 4310, -5.5),
)
_RING = Group("ring", "", 0, 190, 0, 0, 1050, 16.0)
_PATTERNS = tuple((group, Chem.MolFromSmarts(group.pattern)) for group in GROUPS)

#: Fused rings pack closer than the sum of their groups: cholesterol came out three units low.
MOST_RINGS = 1
#: More hydroxyls than this bond to each other; the tables were not made for that.
MOST_HYDROXYLS = 2
#: A hydroxyl that bonds to the carbonyl beside it, or a hydroxy acid: the sums lie far too high.
_CHELATES = tuple(
    Chem.MolFromSmarts(pattern)
    for pattern in ("[OX2H1]c:c[CX3]=[OX1]", "[OX2H1][CX4][CX3](=[OX1])[OX2H1]")
)


@dataclass(frozen=True, slots=True)
class Parameters:
    """Solubility parameters, MPa^0.5, and the molar volume behind them, cm3/mol."""

    dispersion: float
    polar: float
    bonding: float
    volume: float
    fedors: float

    @property
    def total(self) -> float:
        """Root of the squared parts."""
        return math.sqrt(self.dispersion**2 + self.polar**2 + self.bonding**2)


def molecule(smiles: str) -> Chem.Mol:
    """Return the molecule of a SMILES string.

    Raises
    ------
    ValueError
        It is none.
    """
    found = Chem.MolFromSmiles(smiles)
    if found is None:
        raise ValueError(f"not a structure: {smiles}")
    return found


def molar_mass(mol: Chem.Mol) -> float:
    """Return the molar mass, g/mol."""
    return float(MolWt(mol))


def formula(mol: Chem.Mol) -> str:
    """Return the molecular formula in Hill order, without charges."""
    return str(CalcMolFormula(mol)).split("+")[0].split("-")[0]


def groups(mol: Chem.Mol) -> Counter[Group] | None:
    """Return how often each group occurs, or nothing when an atom belongs to none of them."""
    if any(atom.GetFormalCharge() or atom.GetNumRadicalElectrons() for atom in mol.GetAtoms()):
        return None
    left = {atom.GetIdx() for atom in mol.GetAtoms()}
    found: Counter[Group] = Counter()
    for group, pattern in _PATTERNS:
        for match in mol.GetSubstructMatches(pattern, maxMatches=5000):
            atoms = _taken(mol, group, match)
            if set(atoms) <= left:
                left -= set(atoms)
                found[group] += 1
    if left:
        return None
    for ring in mol.GetRingInfo().AtomRings():
        atoms = [mol.GetAtomWithIdx(i) for i in ring]
        if not all(atom.GetIsAromatic() for atom in atoms):
            if any(atom.GetSymbol() != "C" for atom in atoms):
                return None
            found[_RING] += 1
    return found if found[_RING] <= MOST_RINGS else None


def _taken(mol: Chem.Mol, group: Group, match: tuple[int, ...]) -> tuple[int, ...]:
    if group.takes:
        return match[: group.takes]
    return tuple(i for i in match if mol.GetAtomWithIdx(i).GetIsAromatic())


def solubility_parameters(mol: Chem.Mol, volume: float | None = None) -> Parameters | None:
    """Return Hoftyzer and van Krevelen's three parts and Fedors' total.

    Parameters
    ----------
    mol : Mol
    volume : float, optional
        Molar volume at 25 degC, cm3/mol; Fedors' sum when it is not known.

    Returns
    -------
    Parameters or None
        Nothing for salts, atoms without a group, more than two hydroxyls, inner bonds.
    """
    found = groups(mol)
    if found is None or sum(n for g, n in found.items() if "OH" in g.name) > MOST_HYDROXYLS:
        return None
    if any(mol.HasSubstructMatch(pattern) for pattern in _CHELATES):
        return None
    own = sum(n * g.volume for g, n in found.items())
    v = own if volume is None else volume
    force = sum(n * g.force for g, n in found.items())
    polar = sum(n * g.polar**2 for g, n in found.items())
    bonding = sum(n * g.bonding for g, n in found.items())
    cohesion = sum(n * g.cohesion for g, n in found.items())
    return Parameters(
        force / v, math.sqrt(polar) / v, math.sqrt(bonding / v), v, math.sqrt(cohesion / own)
    )


def oxyethylenes(mol: Chem.Mol) -> int | None:
    """Return the oxyethylene units of an ethoxylated fatty alcohol; nothing for other molecules."""
    chain = Chem.MolFromSmarts("[CX4,CX3;!$(C=O)]-[OX2H0]-[CX4H2]-[CX4H2]-[OX2]")
    if not mol.HasSubstructMatch(chain) or mol.HasSubstructMatch(Chem.MolFromSmarts("C=O")):
        return None
    oxygens = [atom for atom in mol.GetAtoms() if atom.GetSymbol() == "O"]
    carbons = sum(1 for atom in mol.GetAtoms() if atom.GetSymbol() == "C")
    units = len(oxygens) - 1
    if mol.GetRingInfo().NumRings() or units < 1 or len(oxygens) + carbons != mol.GetNumAtoms():
        return None
    unit = Chem.MolFromSmarts("[OX2]-[CX4H2]-[CX4H2]-[OX2]")
    ends = sum(1 for atom in oxygens if atom.GetTotalNumHs() == 1)
    linked = len(mol.GetSubstructMatches(unit)) == units
    return units if linked and ends == 1 and carbons - 2 * units >= 8 else None


def hlb_of_ethoxylate(mol: Chem.Mol) -> float | None:
    """Return Griffin's E/5, E the mass per cent of oxyethylene; nothing for other molecules."""
    units = oxyethylenes(mol)
    return None if units is None else 100.0 * units * OXYETHYLENE / molar_mass(mol) / 5.0


def straight_chain(mol: Chem.Mol) -> tuple[str, int] | None:
    """Return ("acid" or "alcohol", carbons) of a saturated straight chain with one such end."""
    carbons = [atom for atom in mol.GetAtoms() if atom.GetSymbol() == "C"]
    n = len(carbons)
    for kind, end in (("acid", "C(=O)O"), ("alcohol", "CO")):
        if Chem.MolToSmiles(mol) == Chem.CanonSmiles("C" * (n - 1) + end):
            return kind, n
    return None


def moieties(mol: Chem.Mol) -> list[Chem.Mol] | None:
    """Return the acids and alcohols an ester or ether comes from, or nothing when it is neither.

    Esters, carbonates and aliphatic ethers are cut at the bond between oxygen and the alcohol's
    carbon (ester: between acyl and oxygen); the cut ends are filled with hydroxyl and hydrogen.
    """
    cut = Chem.MolFromSmarts("[CX3;!R](=[OX1])-!@[OX2;!R]-[#6]")
    bonds = {(m[0], m[2]) for m in mol.GetSubstructMatches(cut)}
    if not bonds:
        return None
    numbers = [mol.GetBondBetweenAtoms(a, b).GetIdx() for a, b in sorted(bonds)]
    split = Chem.FragmentOnBonds(mol, numbers, addDummies=True, dummyLabels=[(0, 0)] * len(numbers))
    parts = []
    for part in Chem.GetMolFrags(split, asMols=True, sanitizeFrags=True):
        editable = Chem.RWMol(part)
        for atom in list(editable.GetAtoms()):
            if atom.GetAtomicNum() == 0:
                beside = atom.GetNeighbors()[0]
                acyl = beside.GetSymbol() == "C"
                atom.SetAtomicNum(8 if acyl else 1)
                atom.SetIsotope(0)
        whole = editable.GetMol()
        Chem.SanitizeMol(whole)
        parts.append(Chem.RemoveHs(whole))
    return parts
