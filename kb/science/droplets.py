"""What dispersed drops do to the flow of the oil around them."""

import numpy as np

from kb.science.numbers import Array, Number, as_array, forbid, tidy

DROP_PACKING = (0.80, 0.74, 0.87)
"""Maximum packing of polydisperse drops: nominal, low, high."""

SPHERE_INTRINSIC = 2.5
"""Intrinsic viscosity of spheres (Einstein 1906)."""

JAMMING = 0.62
"""Volume fraction at which drops touch (Mason 1996)."""

JAMMED_PREFACTOR = 0.51
"""Prefactor of the yield of jammed drops (Mason 1996)."""


def _check(phi: Array, phi_max: Array) -> None:
    forbid((phi < 0.0) | (phi >= 1.0), "volume fraction must lie between 0 and 1")
    forbid((phi_max <= 0.0) | (phi_max > 1.0), "maximum packing must lie between 0 and 1")


def krieger_dougherty(phi: Number, phi_max: Number, intrinsic: Number) -> Array:
    """Relative viscosity of a suspension or of an emulsion with covered drops.

    Parameters
    ----------
    phi : float or array
        Volume fraction of what is dispersed.
    phi_max : float or array
        Maximum packing fraction.
    intrinsic : float or array
        Intrinsic viscosity, 2.5 for spheres.

    Returns
    -------
    ndarray
        (1 - phi/phi_max)^(-intrinsic phi_max); infinite at and above the maximum packing.

    Raises
    ------
    ValueError
        If a fraction lies outside its range or the intrinsic viscosity is negative.

    Notes
    -----
    Below phi 0.75. Against correlations for water-in-oil at 0.1/0.3/0.5: oil spills +0/+1/+11
    percent, crude oil at 30 1/s -15/-37/-34 percent and at 500 1/s -3/-11/+15 percent.

    References
    ----------
    Krieger I.M., Dougherty T.J., Trans. Soc. Rheol. 3 (1959) 137.

    Examples
    --------
    >>> [round(float(krieger_dougherty(p, 0.80, 2.5)), 2) for p in (0.1, 0.3, 0.5, 0.6, 0.7)]
    [1.31, 2.56, 7.11, 16.0, 64.0]
    """
    p, pm, iv = as_array(phi), as_array(phi_max), as_array(intrinsic)
    _check(p, pm)
    forbid(iv < 0.0, "intrinsic viscosity must not be negative")
    room = np.maximum(1.0 - p / pm, 0.0)
    power = np.where(room > 0.0, room, 1.0) ** (-iv * pm)
    return tidy(np.asarray(np.where(room > 0.0, power, np.where(room == 0.0, np.inf, np.nan))))


def pal_low_bound(phi: Number, phi_max: Number, viscosity_ratio: Number) -> Array:
    """Relative viscosity of an emulsion with clean, mobile interfaces; a low bound.

    Parameters
    ----------
    phi : float or array
        Volume fraction of drops, below the maximum packing.
    phi_max : float or array
        Maximum packing fraction.
    viscosity_ratio : float or array
        Viscosity of the drops over that of the oil.

    Returns
    -------
    ndarray
        Root of r [(2 r + 5 K)/(2 + 5 K)]^1.5 = (1 - phi/phi_max)^(-2.5 phi_max).

    Raises
    ------
    ValueError
        If a fraction lies outside its range or the ratio is negative.

    Notes
    -----
    2.6-4.6 times too low for drops covered by an emulsifier: use it as a bound only. For very stiff
    drops it becomes Krieger-Dougherty.

    References
    ----------
    Pal R., J. Rheol. 45 (2001) 509, model 3.

    Examples
    --------
    >>> [round(float(pal_low_bound(0.4, 0.64, k)), 3) for k in (0.02, 1.0, 1000.0)]
    [1.899, 2.673, 4.793]
    """
    p, pm, k = as_array(phi), as_array(phi_max), as_array(viscosity_ratio)
    _check(p, pm)
    forbid(p >= pm, "volume fraction must stay below the maximum packing")
    forbid(k < 0.0, "viscosity ratio must not be negative")
    goal = -2.5 * pm * np.log(1.0 - p / pm)
    low, high = np.zeros(np.broadcast(goal, k).shape), goal + 0.0 * k
    for _ in range(60):
        middle = 0.5 * (low + high)
        value = middle + 1.5 * np.log((2.0 * np.exp(middle) + 5.0 * k) / (2.0 + 5.0 * k))
        low, high = np.where(value < goal, middle, low), np.where(value < goal, high, middle)
    return tidy(np.asarray(np.exp(high)))


def jammed_yield(
    phi: Number,
    tension_mn_m: Number,
    radius_um: Number,
    *,
    prefactor: Number,
    jamming: Number,
) -> Array:
    """Yield stress of drops that are pressed against each other.

    Parameters
    ----------
    phi : float or array
        Volume fraction of drops.
    tension_mn_m : float or array
        Interfacial tension [mN/m].
    radius_um : float or array
        Drop radius [um].
    prefactor : float or array
        Prefactor, see JAMMED_PREFACTOR.
    jamming : float or array
        Volume fraction at which drops touch, see JAMMING.

    Returns
    -------
    ndarray
        Yield stress [Pa], 0 below jamming.

    Raises
    ------
    ValueError
        If a fraction lies outside 0 to 1, the tension is negative or the radius not above zero.

    References
    ----------
    Mason T.G., Bibette J., Weitz D.A., J. Colloid Interface Sci. 179 (1996) 439.

    Examples
    --------
    >>> [round(float(jammed_yield(p, 3.0, 1.5, prefactor=0.51, jamming=0.62)), 1)
    ...  for p in (0.5, 0.70, 0.80)]
    [0.0, 6.5, 33.0]
    """
    p, j = as_array(phi), as_array(jamming)
    tension, radius = as_array(tension_mn_m), as_array(radius_um)
    _check(p, j)
    forbid(tension < 0.0, "interfacial tension must not be negative")
    forbid(radius <= 0.0, "drop radius must be above zero")
    laplace = 1000.0 * tension / radius
    return tidy(np.asarray(as_array(prefactor) * laplace * np.maximum(p - j, 0.0) ** 2))
