"""Will it mix: distances between solubility parameters. A measured pair overrides them."""

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, components, forbid, tidy
from kb.science.numbers import weighted_mean as _weighted_mean

MPA_PER_CAL = 2.0455
"""One (cal/cm3)^0.5 in MPa^0.5."""

TOTAL_DIFFERENCE = 2.0
"""Difference of total parameters below which liquids usually mix [(cal/cm3)^0.5] (Vaughan 1985)."""


def hansen_distance(first: Column, second: Column) -> Array:
    """Distance of two materials in Hansen space.

    Parameters
    ----------
    first, second : array
        Dispersion, polar and hydrogen bonding parameters along axis 0 [MPa^0.5].

    Returns
    -------
    ndarray
        sqrt[4 (dD1 - dD2)^2 + (dP1 - dP2)^2 + (dH1 - dH2)^2] [MPa^0.5].

    Raises
    ------
    ValueError
        If there are not three parameters or one is negative.

    Notes
    -----
    Two small liquids usually mix below about 7-8, but ethanol and water do at 24.

    References
    ----------
    Hansen C.M., Hansen Solubility Parameters: A User's Handbook, 2nd ed. (2007).

    Examples
    --------
    >>> round(float(hansen_distance([14.3, 3.9, 3.7], [14.5, 3.7, 3.5])), 2)
    0.49
    """
    a, b = components(first, second)
    forbid(a.shape[:1] != (3,) or b.shape[:1] != (3,), "three parameters are needed")
    forbid((a < 0.0).any() or (b < 0.0).any(), "a solubility parameter must not be negative")
    gap = a - b
    return tidy(np.asarray(np.sqrt(4.0 * gap[0] ** 2 + gap[1] ** 2 + gap[2] ** 2)))


def red(distance: Number, radius: Number) -> Array:
    """Relative energy difference.

    Parameters
    ----------
    distance : float or array
        Distance from the centre of the sphere [MPa^0.5].
    radius : float or array
        Interaction radius R0 of the polymer or solute [MPa^0.5].

    Returns
    -------
    ndarray
        Below 1 dissolves, above 1 does not.

    Raises
    ------
    ValueError
        If the distance is negative or the radius not above zero.

    References
    ----------
    Hansen C.M. (2007).

    Examples
    --------
    >>> float(red(6.0, 12.0))
    0.5
    """
    d, r = as_array(distance), as_array(radius)
    forbid(d < 0.0, "distance must not be negative")
    forbid(r <= 0.0, "radius must be above zero")
    return tidy(np.asarray(d / r))


def total_parameter(parameters: Column) -> Array:
    """Total solubility parameter of a material.

    Parameters
    ----------
    parameters : array
        Dispersion, polar and hydrogen bonding parameters along axis 0.

    Returns
    -------
    ndarray
        Square root of the sum of their squares, same unit.

    Raises
    ------
    ValueError
        If a parameter is negative.

    References
    ----------
    Hansen C.M. (2007).

    Examples
    --------
    >>> round(float(total_parameter([15.5, 16.0, 42.4])), 1)
    47.9
    """
    (p,) = components(parameters)
    forbid(p < 0.0, "a solubility parameter must not be negative")
    return tidy(np.asarray(np.sqrt((p**2).sum(axis=0))))


def parameter_difference(first: Number, second: Number) -> Array:
    """Difference of two total solubility parameters.

    Parameters
    ----------
    first, second : float or array
        Total solubility parameters, one unit.

    Returns
    -------
    ndarray
        Absolute difference; see TOTAL_DIFFERENCE.

    Raises
    ------
    ValueError
        If a parameter is negative.

    Notes
    -----
    Blind to hydrogen bonds: castor and mineral oil lie 2 apart and do not mix.

    References
    ----------
    Vaughan C.D., J. Soc. Cosmet. Chem. 36 (1985) 319.

    Examples
    --------
    >>> round(float(parameter_difference(8.90, 7.09)), 2)
    1.81
    """
    a, b = as_array(first), as_array(second)
    forbid((a < 0.0) | (b < 0.0), "a solubility parameter must not be negative")
    return tidy(np.asarray(np.abs(a - b)))


def blend_parameters(volumes: Column, parameters: Column) -> Array:
    """Solubility parameter of a blend, the mean by volume.

    Parameters
    ----------
    volumes : array
        Volumes of the liquids along axis 0 [any one unit].
    parameters : array
        One parameter of each liquid.

    Returns
    -------
    ndarray
        That parameter of the blend.

    Raises
    ------
    ValueError
        If a volume is negative or all are zero.

    References
    ----------
    Hansen C.M. (2007).

    Examples
    --------
    >>> round(float(blend_parameters([1.0, 1.0], [15.8, 15.5])), 2)
    15.65
    """
    return _weighted_mean(volumes, parameters)
