"""Apparent viscosity of a whole cream, balm or paste, put together from its parts."""

import numpy as np

from kb.science.numbers import Array, Number, as_array, forbid, tidy

SHEAR_RATE = 10.0
"""Shear rate at which consistency is compared [1/s] (convention)."""


def total_yield(
    tau_network: Number, process: Number, g_powder: Number, tau_drops: Number, tau_powder: Number
) -> Array:
    """Yield stress of the whole preparation.

    Parameters
    ----------
    tau_network : float or array
        Yield of the undisturbed network of crystals or polymer [Pa].
    process : float or array
        Share of it that processing leaves, 0 to 1.
    g_powder : float or array
        Amplification by powder, 1 without.
    tau_drops : float or array
        Yield of jammed drops [Pa].
    tau_powder : float or array
        Yield from attraction between powder particles [Pa].

    Returns
    -------
    ndarray
        k tau_network g + tau_drops + tau_powder [Pa].

    Raises
    ------
    ValueError
        If a stress is negative, the share lies outside 0 to 1 or the amplification is negative.

    Examples
    --------
    >>> round(float(total_yield(244.5, 0.2, 1.0, 0.0, 0.0)), 1)
    48.9
    """
    net, k, g = as_array(tau_network), as_array(process), as_array(g_powder)
    drops, powder = as_array(tau_drops), as_array(tau_powder)
    forbid((net < 0.0) | (drops < 0.0) | (powder < 0.0), "yield stress must not be negative")
    forbid((k < 0.0) | (k > 1.0), "the share left by processing must lie between 0 and 1")
    forbid(g < 0.0, "amplification must not be negative")
    left = k * net
    return tidy(np.asarray(left * np.where(left == 0.0, 1.0, g) + drops + powder))


def apparent_viscosity(
    eta_oil: Number, f_powder: Number, f_drops: Number, tau: Number, rate: Number
) -> Array:
    """Apparent viscosity at a shear rate.

    Parameters
    ----------
    eta_oil : float or array
        Viscosity of the liquid oil with all that is dissolved in it [mPa s].
    f_powder : float or array
        Relative viscosity from powder in the oil, 1 without.
    f_drops : float or array
        Relative viscosity from drops, 1 without.
    tau : float or array
        Total yield stress, from total_yield [Pa].
    rate : float or array
        Shear rate [1/s], see SHEAR_RATE.

    Returns
    -------
    ndarray
        eta_oil f_powder f_drops + tau/rate [mPa s].

    Raises
    ------
    ValueError
        If a viscosity or the stress is negative, a factor is below 1 or the rate not above zero.

    Notes
    -----
    Tells liquid, soft semisolid and stick apart; the number itself is worth x/÷ 5 and the ratio of
    two like preparations x/÷ 2.5. No claim where powder is a paste.

    References
    ----------
    Farris R.J., Trans. Soc. Rheol. 12 (1968) 281, coarse on fine.

    Examples
    --------
    >>> round(float(apparent_viscosity(29.17, 1.0, 14.86, 48.9, 10.0)))
    5323
    """
    eta, fp, fd = as_array(eta_oil), as_array(f_powder), as_array(f_drops)
    stress, speed = as_array(tau), as_array(rate)
    forbid(eta < 0.0, "viscosity must not be negative")
    forbid((fp < 1.0) | (fd < 1.0), "a relative viscosity must not be below 1")
    forbid(stress < 0.0, "yield stress must not be negative")
    forbid(speed <= 0.0, "shear rate must be above zero")
    return tidy(np.asarray(eta * fp * fd + 1000.0 * stress / speed))


def climate_ratio(eta_cold: Number, eta_warm: Number) -> Array:
    """How many times thicker a preparation is in the cold than in the heat.

    Parameters
    ----------
    eta_cold, eta_warm : float or array
        Apparent viscosities at the two temperatures, 10 and 40 degC by custom [mPa s].

    Returns
    -------
    ndarray
        Their ratio.

    Raises
    ------
    ValueError
        If a viscosity is not above zero.

    Notes
    -----
    Gives the order of alternatives; the number is worth x/÷ 3.

    Examples
    --------
    >>> round(float(climate_ratio(5959.0, 2065.0)), 1)
    2.9
    """
    cold, warm = as_array(eta_cold), as_array(eta_warm)
    forbid((cold <= 0.0) | (warm <= 0.0), "viscosity must be above zero")
    return tidy(np.asarray(cold / warm))
