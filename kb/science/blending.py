"""Viscosity and density of liquid oil blends: mixing rules and their honest error.

The blending index wants kinematic viscosity, mm2/s. Dissolved waxes and butters count as part of
the liquid.
"""

import numpy as np

from kb.science.numbers import (
    Array,
    Column,
    Number,
    as_array,
    forbid,
    tidy,
    weighted_mean,
)

HYDROCARBON_ERROR = 1.09
"""Factor within which nine in ten of twelve measured blends of hydrocarbons lie."""

UNTESTED_ERROR = 1.30
"""The same with an ester, a triglyceride or a fatty alcohol in the blend: hardly measured, assumed
(nine of ten blends of octanol with hydrocarbons lie within 1.20)."""

_ENOUGH = 0.2


def vbi(nu: Number) -> Array:
    """Viscosity blending index of a liquid.

    Parameters
    ----------
    nu : float or array
        Kinematic viscosity [mm2/s], above 0.2.

    Returns
    -------
    ndarray
        Blending index.

    Raises
    ------
    ValueError
        If the viscosity is 0.2 mm2/s or less.

    References
    ----------
    Maples R.E., Petroleum Refinery Process Economics, 2nd ed. (2000), Refutas equation.

    Examples
    --------
    >>> round(float(vbi(100.0)), 3)
    33.196
    """
    v = as_array(nu)
    forbid(v <= 0.2, "kinematic viscosity must be above 0.2 mm2/s")
    return tidy(np.asarray(14.534 * np.log(np.log(v + 0.8)) + 10.975))


def nu_from_vbi(index: Number) -> Array:
    """Kinematic viscosity of a blending index.

    Parameters
    ----------
    index : float or array
        Blending index.

    Returns
    -------
    ndarray
        Kinematic viscosity [mm2/s].

    References
    ----------
    Maples R.E. (2000), Refutas equation, inverted.

    Examples
    --------
    >>> round(float(nu_from_vbi(28.286)), 2)
    26.06
    """
    i = as_array(index)
    return tidy(np.asarray(np.exp(np.exp((i - 10.975) / 14.534)) - 0.8))


def blend_kinematic(mass_fractions: Column, nus: Column) -> Array:
    """Kinematic viscosity of a blend by the blending index.

    Parameters
    ----------
    mass_fractions : array
        Masses or mass fractions of the liquids along axis 0; volumes for glycerin in water, where
        the rule holds better that way.
    nus : array
        Kinematic viscosities, all at the same temperature [mm2/s].

    Returns
    -------
    ndarray
        Kinematic viscosity of the blend [mm2/s].

    Raises
    ------
    ValueError
        If an amount is negative, all are zero or a viscosity is 0.2 or less.

    Notes
    -----
    For Newtonian liquids above their cloud point, 0.5-3000 mm2/s, that do not associate; else see
    kb.science.associated. Mean error 5 percent for squalane with light alkanes (viscosity ratios to
    114) and for glycerin in water by volume. No measured blend of esters or triglycerides was at
    hand.

    References
    ----------
    Maples R.E. (2000), Refutas equation.

    Examples
    --------
    >>> round(float(blend_kinematic([0.60, 0.25, 0.15], [26.0, 8.0, 720.0])), 1)
    26.1
    """
    return nu_from_vbi(weighted_mean(mass_fractions, vbi(as_array(nus))))


def blend_log_mass(mass_fractions: Column, viscosities: Column) -> Array:
    """Viscosity of a blend as the geometric mean by mass.

    Parameters
    ----------
    mass_fractions : array
        Masses or mass fractions along axis 0.
    viscosities : array
        Viscosities of one kind and one unit.

    Returns
    -------
    ndarray
        Viscosity of the blend in the same unit.

    Raises
    ------
    ValueError
        If an amount is negative, all are zero or a viscosity is not above zero.

    Notes
    -----
    The better rule for propylene glycol with an ester (1 percent) or in water (12-19 percent; 5-7
    with kb.science.associated.grunberg_nissan). 70-100 percent too thick when a volatile or very
    thin oil is blended in.

    References
    ----------
    Arrhenius S., Z. Phys. Chem. 1 (1887) 285, with mass fractions.

    Examples
    --------
    >>> round(float(blend_log_mass([0.60, 0.25, 0.15], [26.0, 8.0, 720.0])), 2)
    31.87
    """
    v = as_array(viscosities)
    forbid(v <= 0.0, "viscosity must be above zero")
    return tidy(np.asarray(np.exp(weighted_mean(mass_fractions, np.log(v)))))


def mixing_error(mass_fractions: Column, hydrocarbons: Number, ratio: Number) -> Array:
    """Factor within which a blend's viscosity lies, beyond what its liquids are known to.

    Parameters
    ----------
    mass_fractions : array
        Mass fractions of the liquids along axis 0, together 1.
    hydrocarbons : float or array
        Share of hydrocarbons in the blend by mass, 0 to 1.
    ratio : float or array
        What the geometric mean by mass gives over what the blending index gives.

    Returns
    -------
    ndarray
        Factor of the 90 percent range, 1 for a single liquid.

    Raises
    ------
    ValueError
        If a fraction is negative, the hydrocarbons lie outside 0 to 1 or the ratio is not above
        zero.

    Notes
    -----
    Hydrocarbons alone have HYDROCARBON_ERROR; with a fifth of other liquids or more it is
    UNTESTED_ERROR, or the distance of the two rules where that is more. Measured blends err alike
    from 10 to 90 percent; below that the error falls to none in a single liquid.

    References
    ----------
    Fitted to blends of squalane with hexane and octane (Kumagai 2006); octanol with hexadecane and
    squalane (Dubey 2008) lie within 1.20.

    Examples
    --------
    >>> [round(float(mixing_error([0.5, 0.5], h, 1.2)), 2) for h in (0.0, 0.5, 1.0)]
    [1.3, 1.3, 1.09]
    """
    w, h, r = as_array(mass_fractions), as_array(hydrocarbons), as_array(ratio)
    forbid(w < 0.0, "mass fractions must not be negative")
    forbid((h < 0.0) | (h > 1.0), "share of hydrocarbons must lie between 0 and 1")
    forbid(r <= 0.0, "ratio must be above zero")
    unlike = np.minimum((1.0 - np.sum(w**2, axis=0)) / _ENOUGH, 1.0)
    untested = np.maximum(np.log(UNTESTED_ERROR), np.abs(np.log(r)))
    other = np.minimum((1.0 - h) / _ENOUGH, 1.0)
    mixed = (1.0 - other) * np.log(HYDROCARBON_ERROR) + other * untested
    return tidy(np.asarray(np.exp(unlike * mixed)))


def blend_density(masses: Column, densities: Column) -> Array:
    """Density of a blend with additive volumes.

    Parameters
    ----------
    masses : array
        Masses along axis 0 [any one unit].
    densities : array
        Densities [g/ml].

    Returns
    -------
    ndarray
        Density of the blend [g/ml].

    Raises
    ------
    ValueError
        If a mass is negative, all are zero or a density is not above zero.

    Examples
    --------
    >>> round(float(blend_density([0.5362, 0.4638], [0.805, 0.7025])), 4)
    0.754
    """
    rho = as_array(densities)
    forbid(rho <= 0.0, "density must be above zero")
    return tidy(np.asarray(1.0 / weighted_mean(masses, 1.0 / rho)))
