"""Freezing of the water phase: what ice says of water activity, and how that moves with warmth."""

import numpy as np

from kb.science.numbers import ZERO_CELSIUS, Array, Number, as_array, forbid, tidy

GAS = 8.314462618
"""Gas constant [J/(mol K)]."""


def activity_of_ice(t_c: Number) -> Array:
    """Water activity of a solution that is in equilibrium with ice.

    Parameters
    ----------
    t_c : float or array
        Freezing point of the solution [degC], -70 to 0.

    Returns
    -------
    ndarray
        Vapour pressure of ice over that of supercooled water at the same temperature.

    Raises
    ------
    ValueError
        If the temperature lies outside -70 to 0 degC.

    Notes
    -----
    Turns a measured freezing point into a water activity at that temperature; 0.1 degC is 0.001 in
    a_w. For sugars, alcohols, urea and salts it was found very close to that at room temperature
    (Miyawaki 1997); glycols, which warm on mixing, want at_temperature.

    References
    ----------
    Murphy D.M., Koop T., Q. J. R. Meteorol. Soc. 131 (2005) 1539, equations 7 and 10; Miyawaki O.
    et al., Biosci. Biotechnol. Biochem. 61 (1997) 466.

    Examples
    --------
    >>> [round(float(activity_of_ice(t)), 3) for t in (-5.0, -10.0, -20.0)]
    [0.953, 0.907, 0.823]
    """
    t = as_array(t_c)
    forbid((t < -70.0) | (t > 0.0), "freezing point must lie between -70 and 0 degC")
    k = t + ZERO_CELSIUS
    ice = 9.550426 - 5723.265 / k + 3.53068 * np.log(k) - 0.00728332 * k
    liquid = (
        54.842763
        - 6763.22 / k
        - 4.210 * np.log(k)
        + 0.000367 * k
        + np.tanh(0.0415 * (k - 218.8))
        * (53.878 - 1331.22 / k - 9.44523 * np.log(k) + 0.014025 * k)
    )
    return tidy(np.asarray(np.minimum(np.exp(ice - liquid), 1.0)))


def at_temperature(a_w: Number, t_from_c: Number, t_to_c: Number, heat: Number) -> Array:
    """Water activity of the same solution at another temperature.

    Parameters
    ----------
    a_w : float or array
        Water activity at the first temperature, above 0 to 1.
    t_from_c, t_to_c : float or array
        Temperatures [degC].
    heat : float or array
        Partial molar heat of mixing of the water [J/mol], mean over that span; below zero where
        water and solute warm on mixing.

    Returns
    -------
    ndarray
        Water activity at the second temperature.

    Raises
    ------
    ValueError
        If the activity lies outside 0 to 1 or a temperature is below absolute zero.

    Notes
    -----
    The heat is taken as the same over the whole span; measured at 25 degC it understates the change
    down to a freezing point.

    References
    ----------
    Gibbs and Helmholtz; Lewis G.N., Randall M., Thermodynamics (1923).

    Examples
    --------
    >>> round(float(at_temperature(0.8163, -20.79, 25.0, -565.0)), 3)
    0.851
    """
    a, one, two = as_array(a_w), as_array(t_from_c), as_array(t_to_c)
    forbid((a <= 0.0) | (a > 1.0), "water activity must be above 0 and not above 1")
    forbid((one <= -ZERO_CELSIUS) | (two <= -ZERO_CELSIUS), "temperature below absolute zero")
    shift = as_array(heat) / GAS * (1.0 / (two + ZERO_CELSIUS) - 1.0 / (one + ZERO_CELSIUS))
    return tidy(np.asarray(np.minimum(a * np.exp(shift), 1.0)))


def partial_heat_of_water(share: Number, coefficients: Number) -> Array:
    """Partial molar heat of mixing of the water, from a fit to measured heats of mixing.

    Parameters
    ----------
    share : float or array
        Mole fraction of the solute, 0 to 1.
    coefficients : array
        Redlich-Kister coefficients [J/mol] along axis 0: the heat of mixing per mole of mixture is
        x (1 - x) sum_k c_k (1 - 2 x)^k, with x of the solute.

    Returns
    -------
    ndarray
        Heat of mixing less x times its slope in x [J/mol of water].

    Raises
    ------
    ValueError
        If the share lies outside 0 to 1.

    References
    ----------
    Redlich O., Kister A.T., Ind. Eng. Chem. 40 (1948) 345.

    Examples
    --------
    >>> [round(float(partial_heat_of_water(x, [-1000.0, 0.0]))) for x in (0.0, 0.1, 0.5)]
    [0, -10, -250]
    """
    x = as_array(share)
    forbid((x < 0.0) | (x > 1.0), "mole fraction must lie between 0 and 1")
    heat, slope = np.zeros(x.shape), np.zeros(x.shape)
    for k, c in enumerate(as_array(coefficients)):
        even = 1.0 - 2.0 * x
        heat = heat + c * x * (1.0 - x) * even**k
        slope = slope + c * even ** (k + 1)
        if k > 0:
            slope = slope - c * 2.0 * k * x * (1.0 - x) * even ** (k - 1)
    return tidy(np.asarray(heat - x * slope))
