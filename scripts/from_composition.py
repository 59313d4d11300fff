"""What the fatty acids of a fat settle: pure functions on shares, no files.

A fat is taken for the triglycerides of its acids. Shares are per cent by mass of the fatty acids,
each between a low and a high end; what follows is worked out at the middle and at the ends that a
total of 100 % still allows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from from_structure import GROUPS

INCREMENTS = {group.name: group for group in GROUPS}
KOH_MG = 56106.0
#: Saponification values of the oils behind the line for viscosity, mg KOH/g.
VISCOSITY_FROM, VISCOSITY_TO = 165.0, 200.0
#: Iodine taken up by one double bond, g per mole.
IODINE = 253.81
_CARBON, _HYDROGEN, _OXYGEN, _WATER, _GLYCEROL = 12.011, 1.008, 15.999, 18.015, 92.094
_ACID = re.compile(r"(\d{1,2}):(\d)(-OH)?")
#: Lots of one oil differ: a single analysis stands for this share and these points around it.
LOT_SHARE, LOT_POINTS = 0.10, 0.5
#: Sterols, alcohols and hydrocarbons in a fat, per cent, where the source does not say.
UNSAPONIFIABLE = (0.2, 1.5)
#: Free acid, diglyceride and sterols move the mean molar mass by this factor.
PARTIAL_GLYCERIDES = 1.015
#: Sterols take up some 70 g of iodine, squalene 370; hydrocarbons of wax none.
UNSAPONIFIABLE_IODINE = 200.0

Range = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Acid:
    """A fatty acid by carbons, double bonds and hydroxyls."""

    carbons: int
    bonds: int
    hydroxyls: int

    @property
    def molar_mass(self) -> float:
        """Molar mass of the free acid, g/mol."""
        hydrogens = 2 * self.carbons - 2 * self.bonds
        oxygens = 2 + self.hydroxyls
        return _CARBON * self.carbons + _HYDROGEN * hydrogens + _OXYGEN * oxygens


def acid(text: str) -> Acid:
    """Read ``18:1`` or ``18:1-OH``.

    Examples
    --------
    >>> acid("18:1-OH"), round(acid("18:1").molar_mass, 2)
    (Acid(carbons=18, bonds=1, hydroxyls=1), 282.47)
    """
    found = _ACID.fullmatch(text)
    if found is None:
        raise ValueError(f"not a fatty acid: {text}")
    return Acid(int(found[1]), int(found[2]), 1 if found[3] else 0)


@dataclass(frozen=True, slots=True)
class Fat:
    """Low and high share of each acid, and of what does not saponify, per cent."""

    shares: Mapping[Acid, tuple[float, float]]
    unsaponifiable: tuple[float, float] = UNSAPONIFIABLE

    @property
    def hydroxylated(self) -> bool:
        """Tell whether hydroxy acids matter: the lines for refraction and density fail there."""
        return any(acid.hydroxyls and high > 5.0 for acid, (_, high) in self.shares.items())

    @property
    def told(self) -> float:
        """Return the sum of the middle shares."""
        return sum(0.5 * (low + high) for low, high in self.shares.values())

    def middle(self) -> dict[Acid, float]:
        """Return the middle shares brought to 100 %."""
        return {acid: 50.0 * (low + high) / self.told for acid, (low, high) in self.shares.items()}

    def widened(self) -> Fat:
        """Return it with each share at least as wide as lots differ."""
        wide = {}
        for acid, (low, high) in self.shares.items():
            spread = LOT_SHARE * 0.5 * (low + high) + LOT_POINTS
            wide[acid] = (max(0.0, min(low, high - spread)), max(high, low + spread))
        return Fat(wide, self.unsaponifiable)

    def ends(self, weight: Mapping[Acid, float]) -> tuple[float, float]:
        """Return the least and greatest weighted mean that shares of 100 % in all allow."""
        found = []
        for turn in (1.0, -1.0):
            order = sorted(self.shares, key=lambda acid: turn * weight[acid])
            share = {acid: self.shares[acid][0] for acid in self.shares}
            left = 100.0 - sum(share.values())
            for acid in order:
                more = min(max(left, 0.0), self.shares[acid][1] - share[acid])
                share[acid] += more
                left -= more
            total = sum(share.values())
            found.append(sum(share[acid] * weight[acid] for acid in share) / total)
        return found[0], found[1]


def _mean(fat: Fat, weight: Mapping[Acid, float]) -> Range:
    wide = fat.widened()
    low, high = wide.ends(weight)
    value = sum(share * weight[acid] for acid, share in fat.middle().items()) / 100.0
    return min(low, value), value, max(high, value)


def _per_gram(moles: float) -> float:
    """Mass of triglyceride that one gram of acids gives, g."""
    return 1.0 + moles / 3.0 * (_GLYCEROL - 3.0 * _WATER)


def saponification_value(fat: Fat) -> Range:
    """Return low, value, high of the saponification value, mg KOH/g."""
    low, value, high = _mean(fat, {acid: 1.0 / acid.molar_mass for acid in fat.shares})
    least, most = fat.unsaponifiable
    mid = 1.0 - 0.005 * (least + most)
    parts = [(low, 1.0 - 0.01 * most), (value, mid), (high, 1.0 - 0.01 * least)]
    one, two, three = (KOH_MG * n / _per_gram(n) * rest for n, rest in parts)
    return one, two, three


def iodine_value(fat: Fat) -> Range:
    """Return low, value, high of the iodine value, g/100 g, what does not saponify included."""
    bonds = {acid: acid.bonds / acid.molar_mass for acid in fat.shares}
    low, value, high = _mean(fat, bonds)
    moles = sum(share / acid.molar_mass for acid, share in fat.middle().items()) / 100.0
    scale = 100.0 * IODINE / _per_gram(moles)
    least, most = (0.01 * share for share in fat.unsaponifiable)
    rest, middle = UNSAPONIFIABLE_IODINE, 0.5 * (least + most)
    return (
        scale * low * (1.0 - most),
        scale * value * (1.0 - middle) + middle * 0.5 * rest,
        scale * high * (1.0 - least) + most * rest,
    )


def polyunsaturates(fat: Fat) -> Range:
    """Return low, value, high of the acids with two double bonds or more, %.

    The docosadienoic acid of meadowfoam does not count: its bonds (5 and 13) stand far apart and
    oxidise like single ones.
    """
    counted = {
        acid: acid.bonds >= 2 and (acid.carbons, acid.bonds) != (22, 2) for acid in fat.shares
    }
    low, value, high = _mean(fat, {acid: float(own) for acid, own in counted.items()})
    return 100.0 * low, 100.0 * value, 100.0 * high


def saturates(fat: Fat) -> Range:
    """Return low, value, high of the acids without a double bond, %."""
    low, value, high = _mean(fat, {acid: float(acid.bonds == 0) for acid in fat.shares})
    return 100.0 * low, 100.0 * value, 100.0 * high


def molar_mass(fat: Fat) -> Range:
    """Return low, value, high of the mean molar mass, g/mol; partial glycerides widen the range."""
    low, value, high = _mean(fat, {acid: 1.0 / acid.molar_mass for acid in fat.shares})
    mass = [3.0 / n + _GLYCEROL - 3.0 * _WATER for n in (high, value, low)]
    return mass[0] / PARTIAL_GLYCERIDES, mass[1], mass[2] * PARTIAL_GLYCERIDES


def hydroxyl_value(fat: Fat) -> Range:
    """Return low, value, high of the hydroxyl value, mg KOH/g."""
    low, value, high = _mean(fat, {acid: acid.hydroxyls / acid.molar_mass for acid in fat.shares})
    moles = sum(share / acid.molar_mass for acid, share in fat.middle().items()) / 100.0
    scale = KOH_MG / _per_gram(moles)
    return scale * low, scale * value, scale * high


def solubility_parameters(fat: Fat, volume: float) -> tuple[float, float, float]:
    """Return Hansen's three parameters by groups of the mean triglyceride, MPa^0.5.

    Hoftyzer and van Krevelen's increments, as in ``from_structure``; ``volume`` in cm3/mol.
    """
    moles = {acid: share / acid.molar_mass for acid, share in fat.middle().items()}
    total = sum(moles.values())
    carbons = sum(n * acid.carbons for acid, n in moles.items()) / total
    bonds = sum(n * acid.bonds for acid, n in moles.items()) / total
    hydroxyls = sum(n * acid.hydroxyls for acid, n in moles.items()) / total
    counts = {
        "COO": 3.0,
        "CH3": 3.0,
        "CH": 1.0 + 3.0 * hydroxyls,
        "CH2": 2.0 + 3.0 * (carbons - 2.0 - 2.0 * bonds - hydroxyls),
        "=CH": 6.0 * bonds,
        "OH": 3.0 * hydroxyls,
    }
    parts = [(n, INCREMENTS[name]) for name, n in counts.items()]
    force = sum(n * group.force for n, group in parts)
    polar = sum(n * group.polar**2 for n, group in parts)
    bonding = sum(n * group.bonding for n, group in parts)
    return force / volume, math.sqrt(polar) / volume, math.sqrt(bonding / volume)


def refractive_index(saponification: float, iodine: float) -> float:
    """Return the refractive index of a liquid fat at 25 degC, sodium line.

    Pickering and Cowlishaw's line at 40 degC, n = 1.4643 - 0.000066 SV + 0.0001171 IV (acid value
    taken as nought), and 0.00038 less for each kelvin. J. Soc. Chem. Ind. 41 (1922) 74T.

    Examples
    --------
    >>> round(refractive_index(190.0, 84.0), 4)
    1.4673
    """
    return 1.4643 - 0.000066 * saponification + 0.0001171 * iodine + 0.00038 * 15.0


def density(saponification: float, iodine: float) -> float:
    """Return the density of a liquid fat at 25 degC, g/ml.

    Lund's line for the specific gravity at 15 degC, 0.8475 + 0.00030 SV + 0.00014 IV, the density
    of water there, and 0.00064 less for each kelvin (both as given by Rabelo and others, J. Am.
    Oil Chem. Soc. 76 (1999) 1415).

    Examples
    --------
    >>> round(density(190.0, 84.0), 4)
    0.9091
    """
    return 0.99910 * (0.8475 + 0.00030 * saponification + 0.00014 * iodine) - 0.00064 * 10.0


def viscosity(saponification: float, iodine: float) -> float | None:
    """Return the viscosity of a liquid fat at 25 degC, mPa s.

    ln viscosity = 7.108 - 0.01265 SV - 0.00573 IV, least squares on the twelve oils of this base
    that have a published viscosity between 20 and 38 degC; each left out in turn, 90 % lie within
    a factor 1.05. Longer chains are more viscous, double bonds less. Nothing for fats of shorter or
    longer chains than were measured.

    Examples
    --------
    >>> round(viscosity(190.0, 84.0), 1)
    68.3
    """
    if not VISCOSITY_FROM <= saponification <= VISCOSITY_TO:
        return None
    return math.exp(7.108 - 0.01265 * saponification - 0.00573 * iodine)
