"""Hydrophilic-lipophilic deviation of nonionic systems, used as differences.

Positive means W/O, negative O/W. Only a handful of characteristic curvatures are known, so the
shift a swap causes says more than the absolute value.
"""

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, forbid, tidy, weighted_mean

SALT_COEFFICIENT = 0.13
"""b of nonionics, per g of sodium chloride in 100 ml of water (Acosta 2008)."""

OIL_COEFFICIENT = (0.15, 0.17)
"""k, range per unit of equivalent alkane carbon number (Acosta 2008)."""

TEMPERATURE_COEFFICIENT = 0.06
"""c of ethoxylates, per K; about 0 for sugar and polyglycerol emulsifiers (Acosta 2008)."""


def eacn_blend(shares: Column, eacns: Column) -> Array:
    """Equivalent alkane carbon number of an oil blend, linear in the shares.

    Parameters
    ----------
    shares : array
        Shares of the oils by volume or mass along axis 0.
    eacns : array
        EACN of each oil.

    Returns
    -------
    ndarray
        EACN of the blend.

    Raises
    ------
    ValueError
        If a share is negative or all are zero.

    References
    ----------
    Acosta E.J., Curr. Opin. Colloid Interface Sci. (2008), linear mixing rule.

    Examples
    --------
    >>> float(eacn_blend([0.5, 0.5], [7.25, 24.5]))
    15.875
    """
    return weighted_mean(shares, eacns)


def oil_term(eacn_before: Number, eacn_after: Number, k: Number) -> Array:
    """Shift of HLD when the oil changes.

    Parameters
    ----------
    eacn_before, eacn_after : float or array
        EACN of the oil phase before and after.
    k : float or array
        Coefficient per unit of EACN, see OIL_COEFFICIENT.

    Returns
    -------
    ndarray
        -k times the rise of the EACN.

    Raises
    ------
    ValueError
        If k is negative.

    References
    ----------
    Salager J.-L. et al., Soc. Pet. Eng. J. 19 (1979) 107; Acosta E.J. (2008).

    Examples
    --------
    >>> round(float(oil_term(7.25, 24.5, 0.15)), 1)
    -2.6
    """
    coefficient = as_array(k)
    forbid(coefficient < 0.0, "the coefficient of the oil must not be negative")
    return tidy(np.asarray(-coefficient * (as_array(eacn_after) - as_array(eacn_before))))


def temperature_term(before_c: Number, after_c: Number, coefficient: Number) -> Array:
    """Shift of HLD when the temperature changes.

    Parameters
    ----------
    before_c, after_c : float or array
        Temperatures [degC].
    coefficient : float or array
        Per K, see TEMPERATURE_COEFFICIENT; negative for ionic surfactants.

    Returns
    -------
    ndarray
        Coefficient times the rise of the temperature.

    References
    ----------
    Acosta E.J. (2008).

    Examples
    --------
    >>> round(float(temperature_term(25.0, 40.0, 0.06)), 1)
    0.9
    """
    return tidy(np.asarray(as_array(coefficient) * (as_array(after_c) - as_array(before_c))))


def salt_term(before: Number, after: Number, coefficient: Number) -> Array:
    """Shift of HLD when the salt in the water changes.

    Parameters
    ----------
    before, after : float or array
        Salt [g sodium chloride equivalent per 100 ml].
    coefficient : float or array
        Per g in 100 ml, see SALT_COEFFICIENT.

    Returns
    -------
    ndarray
        Coefficient times the rise of the salt.

    Raises
    ------
    ValueError
        If a salt level is negative.

    References
    ----------
    Acosta E.J. (2008), nonionic form.

    Examples
    --------
    >>> round(float(salt_term(0.0, 2.0, 0.13)), 2)
    0.26
    """
    s0, s1 = as_array(before), as_array(after)
    forbid((s0 < 0.0) | (s1 < 0.0), "salt must not be negative")
    return tidy(np.asarray(as_array(coefficient) * (s1 - s0)))


def hld_difference(oil: Number, temperature: Number, salt: Number, surfactant: Number) -> Array:
    """Total shift of HLD, the sum of its terms.

    Parameters
    ----------
    oil, temperature, salt : float or array
        Shifts from oil_term, temperature_term and salt_term.
    surfactant : float or array
        Characteristic curvature of the emulsifier after minus before.

    Returns
    -------
    ndarray
        Shift: above 0 toward W/O, below 0 toward O/W.

    References
    ----------
    Salager J.-L. et al. (1979); Acosta E.J. (2008).

    Examples
    --------
    >>> round(float(hld_difference(-2.59, 0.9, 0.26, 0.0)), 2)
    -1.43
    """
    terms = as_array(oil) + as_array(temperature) + as_array(salt) + as_array(surfactant)
    return tidy(np.asarray(terms))


def hld(
    salt: Number,
    eacn: Number,
    t_c: Number,
    curvature: Number,
    *,
    salt_coefficient: Number,
    k: Number,
    temperature_coefficient: Number,
) -> Array:
    """Absolute HLD of a nonionic system.

    Parameters
    ----------
    salt : float or array
        Salt [g sodium chloride per 100 ml].
    eacn : float or array
        EACN of the oil phase.
    t_c : float or array
        Temperature [degC].
    curvature : float or array
        Characteristic curvature Cc of the emulsifier at 25 degC.
    salt_coefficient, k, temperature_coefficient : float or array
        Coefficients, see the constants of this module.

    Returns
    -------
    ndarray
        HLD.

    Raises
    ------
    ValueError
        If the salt or k is negative.

    References
    ----------
    Acosta E.J. (2008): b S - k EACN + c (T - 25) + Cc.

    Examples
    --------
    >>> round(float(hld(2.0, 7.25, 25.0, 6.6, salt_coefficient=0.13, k=0.17,
    ...     temperature_coefficient=0.06)), 3)
    5.627
    """
    return hld_difference(
        oil_term(0.0, eacn, k),
        temperature_term(25.0, t_c, temperature_coefficient),
        salt_term(0.0, salt, salt_coefficient),
        curvature,
    )
