"""Osmotic coefficients of salts in water at 25 degC, for kb.science.water_activity.electrolyte."""

import numpy as np

from kb.science.numbers import Array, Number, as_array, forbid, tidy


def pitzer_sodium_chloride(molality: Number) -> Array:
    """Osmotic coefficient of sodium chloride in water at 25 degC.

    Parameters
    ----------
    molality : float or array
        Sodium chloride [mol/kg water], 0 to 6.

    Returns
    -------
    ndarray
        Osmotic coefficient.

    Raises
    ------
    ValueError
        If the molality is negative or above saturation (6.2).

    References
    ----------
    Pitzer K.S., Mayorga G., J. Phys. Chem. 77 (1973) 2300.

    Examples
    --------
    >>> round(float(pitzer_sodium_chloride(1.0)), 3)
    0.936
    """
    m = as_array(molality)
    forbid((m < 0.0) | (m > 6.2), "molality must lie between 0 and 6.2 mol/kg")
    root = np.sqrt(m)
    long_range = -0.3915 * root / (1.0 + 1.2 * root)
    pairs = m * (0.0765 + 0.2664 * np.exp(-2.0 * root))
    return tidy(np.asarray(1.0 + long_range + pairs + 0.00127 * m**2))


def pitzer_magnesium_sulfate(molality: Number) -> Array:
    """Osmotic coefficient of magnesium sulfate in water at 25 degC.

    Parameters
    ----------
    molality : float or array
        Magnesium sulfate, counted without its water of crystals [mol/kg water], 0 to 3.

    Returns
    -------
    ndarray
        Osmotic coefficient.

    Raises
    ------
    ValueError
        If the molality is negative or above saturation (3.1).

    Notes
    -----
    Its ions pair, so that it lowers water activity little more than one dissolved molecule would.
    Water activity within 0.0006 of that of published freezing points to 14 percent.

    References
    ----------
    Pitzer K.S., Mayorga G., J. Solution Chem. 3 (1974) 539.

    Examples
    --------
    >>> [round(float(pitzer_magnesium_sulfate(m)), 3) for m in (0.1, 1.0, 2.0)]
    [0.595, 0.528, 0.661]
    """
    m = as_array(molality)
    forbid((m < 0.0) | (m > 3.1), "molality must lie between 0 and 3.1 mol/kg")
    root = np.sqrt(4.0 * m)
    long_range = -4.0 * 0.3915 * root / (1.0 + 1.2 * root)
    pairs = m * (0.2210 + 3.343 * np.exp(-1.4 * root) - 37.23 * np.exp(-12.0 * root))
    return tidy(np.asarray(1.0 + long_range + pairs + 0.0250 * m**2))
