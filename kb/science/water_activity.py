"""Water activity of a water phase. The basis is the water phase, never the whole cream."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, forbid, tidy

MOLAR_MASS_WATER = 18.015
"""Molar mass of water [g/mol]."""

NORRISH_K: Mapping[str, float] = MappingProxyType(
    {
        "glycerin": 1.16,
        "sorbitol": 1.65,
        "xylitol": 1.66,
        "erythritol": 1.34,
        "mannitol": 0.906,
        "sucrose": 6.47,
        "glucose": 2.25,
        "fructose": 2.25,
        "maltose": 4.54,
        "lactose": 10.2,
        "urea": -2.02,
        "glycine": -0.87,
        "lactic acid": -1.59,
        "citric acid": 6.17,
        "malic acid": 1.82,
    }
)
"""Constants for natural logarithms, 25 degC (Chirife 1980; polyols from a review of them). A
constant printed for decimal logarithms is 2.303 times smaller."""

NORRISH_K_PROPYLENE_GLYCOL = (0.75, 0.3, 1.8)
"""Propylene glycol, 25 degC: value, low and high. From ten published freezing points carried to 25
degC with measured heats of mixing; it falls from about 2.8 at 15 percent to 0.5 at 57 percent, so
one constant errs by 0.010 at most down to a_w 0.74. A constant of 4.04 is recalled (Alzamora 1994)
for dilute solutions."""


def raoult(solute_mols: Number, water_mols: Number) -> Array:
    """Water activity of an ideal solution.

    Parameters
    ----------
    solute_mols : float or array
        Moles of dissolved particles (ions counted one by one).
    water_mols : float or array
        Moles of water.

    Returns
    -------
    ndarray
        Mole fraction of water.

    Raises
    ------
    ValueError
        If the solute is negative or the water not above zero.

    Notes
    -----
    Errors in a_w: sugars 0.015 (at most 0.049), salt 0.014 (0.063), glycerin 0.02-0.07.

    References
    ----------
    Raoult F.-M., Z. Phys. Chem. 2 (1888) 353.

    Examples
    --------
    >>> round(float(raoult(10.0 / 76.09, 90.0 / 18.015)), 4)
    0.9744
    """
    solute, water = as_array(solute_mols), as_array(water_mols)
    forbid(solute < 0.0, "amount of solute must not be negative")
    forbid(water <= 0.0, "amount of water must be above zero")
    return tidy(np.asarray(water / (water + solute)))


def norrish(solute_mass: Number, molar_mass: Number, water_mass: Number, k: Number) -> Array:
    """Water activity of one dissolved nonelectrolyte.

    Parameters
    ----------
    solute_mass : float or array
        Mass of the solute [g].
    molar_mass : float or array
        Its molar mass, as true molecules [g/mol].
    water_mass : float or array
        Mass of water [g].
    k : float or array
        Norrish constant for natural logarithms, see NORRISH_K.

    Returns
    -------
    ndarray
        x_w exp(-k x_s^2).

    Raises
    ------
    ValueError
        If the solute is negative, or the molar mass or the water not above zero.

    Notes
    -----
    Above a_w 0.85. Mean error 0.0013 for sugars, 0.004 for glycerin to 0.80; 0.016 for glycerin at
    0.60. Urea only below about 25 percent.

    References
    ----------
    Norrish R.S., J. Food Technol. 1 (1966) 25; constants Chirife J. et al., J. Food Technol. 15
    (1980) 59.

    Examples
    --------
    >>> round(float(norrish(20.0, 92.09, 80.0, 1.16)), 4)
    0.951
    """
    mass, molar, constant = as_array(solute_mass), as_array(molar_mass), as_array(k)
    forbid(molar <= 0.0, "molar mass must be above zero")
    water_share = raoult(mass / molar, as_array(water_mass) / MOLAR_MASS_WATER)
    return tidy(np.asarray(water_share * np.exp(-constant * (1.0 - water_share) ** 2)))


GLYCERIN_BEND = 0.7
"""Second constant of glycerin for bent_norrish, fitted to seven recalled points, 0.90 to 0.30."""


def bent_norrish(
    solute_mass: Number, molar_mass: Number, water_mass: Number, k: Number, bend: Number
) -> Array:
    """Water activity below the reach of Norrish's equation.

    Parameters
    ----------
    solute_mass : float or array
        Solute [g].
    molar_mass : float or array
        Molar mass of the solute [g/mol].
    water_mass : float or array
        Water [g].
    k : float or array
        Constant for natural logarithms, see NORRISH_K.
    bend : float or array
        How fast the constant falls with the mole fraction of the solute; 0 is Norrish's equation.

    Returns
    -------
    ndarray
        x_w exp(-K x_s^2 (1 - bend x_s)).

    Raises
    ------
    ValueError
        If the solute is negative, or the molar mass or the water not above zero.

    Notes
    -----
    The next term of the same series (Margules); one constant each for glycerin alone. Above 0.85
    it changes less than 0.003.

    References
    ----------
    Norrish R.S., J. Food Technol. 1 (1966) 25; Margules M. (1895).

    Examples
    --------
    >>> [round(float(bent_norrish(g, 92.09, 100.0 - g, 1.16, 0.7)), 2) for g in (20.0, 64.0, 84.0)]
    [0.95, 0.7, 0.41]
    """
    mass, molar, water = as_array(solute_mass), as_array(molar_mass), as_array(water_mass)
    plain = norrish(mass, molar, water, k)
    x = 1.0 - raoult(mass / molar, water / MOLAR_MASS_WATER)
    return tidy(np.asarray(plain * np.exp(as_array(k) * as_array(bend) * x**3)))


def ross(activities: Column) -> Array:
    """Water activity of several solutes together.

    Parameters
    ----------
    activities : array
        Water activity of each solute alone in all the water, along axis 0.

    Returns
    -------
    ndarray
        Their product.

    Raises
    ------
    ValueError
        If one lies outside 0 to 1.

    Notes
    -----
    Error normally below 0.01 above a_w 0.85; low for sugar with salt at high solids.

    References
    ----------
    Ross K.D., Food Technol. 29 (1975) 26.

    Examples
    --------
    >>> round(float(ross([0.9497, 0.9856])), 4)
    0.936
    """
    a = as_array(activities)
    forbid((a < 0.0) | (a > 1.0), "water activity must lie between 0 and 1")
    return tidy(np.asarray(np.prod(a, axis=0)))


def electrolyte(molality: Number, ions: Number, osmotic: Number) -> Array:
    """Water activity of a salt solution.

    Parameters
    ----------
    molality : float or array
        Salt [mol/kg water].
    ions : float or array
        Ions per formula unit, 2 for sodium chloride.
    osmotic : float or array
        Osmotic coefficient.

    Returns
    -------
    ndarray
        exp(-ions osmotic m 0.018015).

    Raises
    ------
    ValueError
        If the molality is negative, or ions or coefficient not above zero.

    Notes
    -----
    With Pitzer's coefficient of sodium chloride: mean error 0.0001, at most 0.0006, to a_w 0.76.

    References
    ----------
    Robinson R.A., Stokes R.H., Electrolyte Solutions, 2nd ed. (1965).

    Examples
    --------
    >>> round(float(electrolyte(6.0, 2.0, 1.271)), 3)
    0.76
    """
    m, nu, phi = as_array(molality), as_array(ions), as_array(osmotic)
    forbid(m < 0.0, "molality must not be negative")
    forbid((nu <= 0.0) | (phi <= 0.0), "ions and osmotic coefficient must be above zero")
    return tidy(np.asarray(np.exp(-nu * phi * m * MOLAR_MASS_WATER / 1000.0)))


def molality(mass: Number, molar_mass: Number, water_mass: Number) -> Array:
    """Molality of a solute.

    Parameters
    ----------
    mass : float or array
        Mass of the solute [g].
    molar_mass : float or array
        Molar mass [g/mol].
    water_mass : float or array
        Mass of water [g].

    Returns
    -------
    ndarray
        Moles per kg of water.

    Raises
    ------
    ValueError
        If the mass is negative, or the molar mass or the water not above zero.

    Examples
    --------
    >>> round(float(molality(2.0, 58.44, 78.0)), 4)
    0.4388
    """
    m, molar, water = as_array(mass), as_array(molar_mass), as_array(water_mass)
    forbid(m < 0.0, "mass must not be negative")
    forbid((molar <= 0.0) | (water <= 0.0), "molar mass and water must be above zero")
    return tidy(np.asarray(1000.0 * m / (molar * water)))
