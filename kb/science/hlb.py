"""Hydrophile-lipophile balance: blends and the four ways to a single value.

The arithmetic is exact and its meaning is worth about 1.5 units. Polymeric, polyricinoleate,
silicone, sterol and soap emulsifiers have no meaningful value on this scale.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, components, forbid, tidy
from kb.science.numbers import weighted_mean as _weighted_mean

DAVIES_GROUPS: Mapping[str, float] = MappingProxyType(
    {
        "-SO4Na": 38.7,
        "-COOK": 21.1,
        "-COONa": 19.1,
        "tertiary amine": 9.4,
        "ester, sorbitan ring": 6.8,
        "ester, free": 2.4,
        "-COOH": 2.1,
        "hydroxyl, free": 1.9,
        "ether -O-": 1.3,
        "hydroxyl, sorbitan ring": 0.5,
        "-CH-": -0.475,
        "-CH2-": -0.475,
        "CH3-": -0.475,
        "=CH-": -0.475,
    }
)
"""Group numbers of Davies (1957)."""

SOAP_HLB: Mapping[str, float] = MappingProxyType(
    {"borax and beeswax": 18.0, "potassium stearate": 20.0, "calcium soap": 3.0}
)
"""HLB taken for soaps that form in place when the type of an emulsion is judged (convention)."""


def blend_hlb(masses: Column, hlbs: Column) -> Array:
    """HLB of a blend of emulsifiers, the mean by mass.

    Parameters
    ----------
    masses : array
        Masses of the emulsifiers along axis 0 [any one unit]. Only emulsifiers count: no fatty
        alcohol, wax or butter.
    hlbs : array
        HLB of each.

    Returns
    -------
    ndarray
        HLB of the blend.

    Raises
    ------
    ValueError
        If a mass is negative or all are zero.

    Notes
    -----
    24 printed blends of six ethoxylates and sorbitan esters are met within 0.005. What the inputs
    mean is another matter: +/- 1 to 1.5.

    References
    ----------
    Griffin W.C., J. Soc. Cosmet. Chem. 1 (1949) 311, weighted mean.

    Examples
    --------
    >>> round(float(blend_hlb([70.0, 30.0], [15.0, 4.3])), 2)
    11.79
    """
    return _weighted_mean(masses, hlbs)


def required_hlb(masses: Column, required: Column) -> Array:
    """Required HLB of an oil phase, the mean by mass over its oils.

    Parameters
    ----------
    masses : array
        Masses of the oils along axis 0 [any one unit].
    required : array
        Required HLB of each, all for the same emulsion type.

    Returns
    -------
    ndarray
        Required HLB of the oil phase.

    Raises
    ------
    ValueError
        If a mass is negative or all are zero.

    Notes
    -----
    Tables give the required HLB of one material a median 2.25 units apart. Published W/O creams
    work 3 units away from it, so it never rejects a W/O formula by itself.

    References
    ----------
    Griffin W.C., J. Soc. Cosmet. Chem. 5 (1954) 249.

    Examples
    --------
    >>> round(float(required_hlb([35.0, 1.0, 1.0], [12.0, 10.0, 15.0])), 2)
    12.03
    """
    return _weighted_mean(masses, required)


def emulsifier_share(required: Number, hlb_a: Number, hlb_b: Number) -> Array:
    """Share of emulsifier A in a pair that reaches a required HLB.

    Parameters
    ----------
    required : float or array
        HLB wanted.
    hlb_a, hlb_b : float or array
        HLB of the two.

    Returns
    -------
    ndarray
        Mass fraction of A. Below 0 or above 1 the pair cannot reach the value.

    Raises
    ------
    ValueError
        If both have the same HLB.

    References
    ----------
    Griffin W.C., J. Soc. Cosmet. Chem. 1 (1949) 311, solved for the share.

    Examples
    --------
    >>> round(float(emulsifier_share(10.5, 15.0, 4.3)), 4)
    0.5794
    """
    r, a, b = as_array(required), as_array(hlb_a), as_array(hlb_b)
    forbid(a == b, "two emulsifiers of the same HLB cannot be balanced against each other")
    return tidy(np.asarray((r - b) / (a - b)))


def from_saponification(saponification: Number, acid: Number) -> Array:
    """HLB of a polyol fatty ester from its saponification number.

    Parameters
    ----------
    saponification : float or array
        Saponification number S of the ester [mg KOH/g].
    acid : float or array
        Acid number A of the fatty acid it was made from [mg KOH/g], not the free acid left in it.

    Returns
    -------
    ndarray
        HLB, 20 (1 - S/A).

    Raises
    ------
    ValueError
        If S is negative, A is not above zero or S exceeds A.

    Notes
    -----
    For fully saponifiable esters. Sorbitan oleate comes out 0.9 too high.

    References
    ----------
    Griffin W.C., J. Soc. Cosmet. Chem. 5 (1954) 249.

    Examples
    --------
    >>> round(float(from_saponification(161.0, 198.0)), 2)
    3.74
    """
    s, a = as_array(saponification), as_array(acid)
    forbid(s < 0.0, "saponification number must not be negative")
    forbid(a <= 0.0, "acid number must be above zero")
    forbid(s > a, "an ester cannot need more alkali than its fatty acid")
    return tidy(np.asarray(20.0 * (1.0 - s / a)))


def from_composition(oxyethylene: Number, polyol: Number) -> Array:
    """HLB of a nonionic from its oxyethylene and polyol content.

    Parameters
    ----------
    oxyethylene : float or array
        Oxyethylene E [percent by mass].
    polyol : float or array
        Polyol P [percent by mass].

    Returns
    -------
    ndarray
        HLB, (E + P)/5.

    Raises
    ------
    ValueError
        If a content is negative or both exceed 100 percent together.

    Notes
    -----
    With pharmacopoeial polyol contents it overestimates sorbitan oleates and stearates by 0.7-1.9.

    References
    ----------
    Griffin W.C., J. Soc. Cosmet. Chem. 5 (1954) 249.

    Examples
    --------
    >>> round(float(from_composition(76.5, 0.0)), 1)
    15.3
    """
    e, p = as_array(oxyethylene), as_array(polyol)
    forbid((e < 0.0) | (p < 0.0), "contents must not be negative")
    forbid(e + p > 100.0 + 1e-9, "contents must not exceed 100 percent together")
    return tidy(np.asarray((e + p) / 5.0))


def griffin(hydrophile: Number, molecule: Number) -> Array:
    """HLB of a nonionic from the mass of its hydrophilic part.

    Parameters
    ----------
    hydrophile : float or array
        Molar mass of the hydrophilic part [g/mol].
    molecule : float or array
        Molar mass of the whole molecule [g/mol].

    Returns
    -------
    ndarray
        HLB, 20 Mh/M, between 0 and 20.

    Raises
    ------
    ValueError
        If a mass is negative or the part exceeds the whole.

    References
    ----------
    Griffin W.C., J. Soc. Cosmet. Chem. 5 (1954) 249.

    Examples
    --------
    >>> round(float(griffin(20 * 44.05, 20 * 44.05 + 242.4)), 1)
    15.7
    """
    h, m = as_array(hydrophile), as_array(molecule)
    forbid(h < 0.0, "molar mass must not be negative")
    forbid(m <= 0.0, "molar mass of the molecule must be above zero")
    forbid(h > m, "the hydrophilic part cannot weigh more than the molecule")
    return tidy(np.asarray(20.0 * h / m))


def davies(group_numbers: Column, counts: Column) -> Array:
    """HLB from group contributions.

    Parameters
    ----------
    group_numbers : array
        Group numbers along axis 0, see DAVIES_GROUPS.
    counts : array
        How often each group occurs.

    Returns
    -------
    ndarray
        HLB, 7 plus the sum of the group numbers.

    Raises
    ------
    ValueError
        If a count is negative.

    Notes
    -----
    The only scheme that gives soaps and sulfates a value. It is too low for long ethoxylates and
    misses propylene glycol stearate by 1.6.

    References
    ----------
    Davies J.T., Proc. 2nd Int. Congr. Surface Activity (1957) 426.

    Examples
    --------
    >>> round(float(davies([38.7, -0.475], [1, 12])), 2)
    40.0
    """
    g, n = components(group_numbers, counts)
    forbid(n < 0.0, "counts must not be negative")
    return tidy(np.asarray(7.0 + (g * n).sum(axis=0)))
