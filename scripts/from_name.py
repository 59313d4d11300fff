"""Molar mass that a name alone settles: chains of a stated length, numbers of units, grades."""

from __future__ import annotations

import math
import re

from from_structure import OXYETHYLENE

_ALKANE = re.compile(r"c(\d+)-(\d+)-(?:alkane|isoparaffin)")
_GLYCOL = re.compile(r"peg-(\d+)")
_SILICONE = re.compile(r"dimethicone--(\d+)-mm2s")
_METHYLENE, _ENDS, _WATER = 14.027, 2.016, 18.015
#: The number in the name is rounded: names and labelled masses (200 to 8000 g/mol) differ so far.
UNITS_ERROR = 0.10
#: Barry's line, log10 of the kinematic viscosity (mm2/s, 25 degC) = 1.00 + 0.0123 M^0.5, holds for
#: chains above 2500 g/mol; what is sold as one grade may differ by this share of its mass.
BARRY = (1.00, 0.0123)
BARRY_LEAST, BARRY_ERROR = 2500.0, 0.20

Range = tuple[float, float, float]


def molar_mass(material: str) -> tuple[Range, str] | None:
    """Return low, value and high (g/mol), and the method; nothing where the name does not tell.

    Barry A.J., J. Appl. Phys. 17 (1946) 1020, for dimethicone by its viscosity.

    Examples
    --------
    >>> [round(x) for x in molar_mass("c13-15-alkane")[0]]
    [184, 198, 212]
    >>> [round(x) for x in molar_mass("peg-8")[0]]
    [333, 370, 407]
    """
    if found := _ALKANE.fullmatch(material):
        low, high = (int(n) * _METHYLENE + _ENDS for n in found.groups())
        return (low, 0.5 * (low + high), high), "from the name: alkanes of that many carbons"
    if found := _GLYCOL.fullmatch(material):
        value = int(found[1]) * OXYETHYLENE + _WATER
        ends = value * (1.0 - UNITS_ERROR), value, value * (1.0 + UNITS_ERROR)
        return ends, "from the name: that many oxyethylene units, number rounded"
    if found := _SILICONE.fullmatch(material):
        value = ((math.log10(float(found[1])) - BARRY[0]) / BARRY[1]) ** 2
        ends = value * (1.0 - BARRY_ERROR), value, value * (1.0 + BARRY_ERROR)
        if value >= BARRY_LEAST:
            return ends, "from the name: line of Barry (1946) on viscosity at 25 degC"
    return None
