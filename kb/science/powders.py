"""Pigments and fillers in oil: how densely they pack and what they add to the yield."""

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

LINSEED_DENSITY = 0.935
"""Density of the linseed oil of the rub-out test [g/ml]."""

PASTE_SHARE = 0.18
"""Powder volume over powder plus oil volume above which a preparation is a paste (zinc pastes
0.19-0.27, zinc cream 0.12, zinc oil 0.14)."""

ATTRACTION_PERCOLATION = (0.07, 0.03, 0.12)
"""Volume fraction from which attraction stiffens a powder in oil: nominal, low, high. Assumption,
see ATTRACTION_PREFACTOR."""

ATTRACTION_PREFACTOR = (4.0e4, 1.0e4, 1.6e5)
"""Prefactor m1 for bare mineral powder in oil [Pa]: nominal, low, high. Assumption: chosen with
ATTRACTION_PERCOLATION so that zinc paste comes out stiffer than soft zinc paste, zinc cream among
the creams and zinc oil still flows. Two figures set by four preparations validate nothing."""


PIGMENT_MEDIUM = 1.48
"""Refractive index of the oils and resins in which hiding power is compared."""


def reflected(index: Number, medium: Number = PIGMENT_MEDIUM) -> Array:
    """Light thrown back at one face of a pigment grain, as a measure of its hiding power.

    Parameters
    ----------
    index : float or array
        Refractive index of the pigment.
    medium : float or array
        Refractive index of what it lies in.

    Returns
    -------
    ndarray
        ((n - m)/(n + m))^2, 0 to 1. Only ratios between pigments of like size mean something.

    References
    ----------
    Fresnel's equation at normal incidence. Rutile against zinc oxide in oil gives about 4 to 1;
    printed tinting strengths differ more, as grain size is not in it.

    Examples
    --------
    >>> round(float(reflected(2.0) / reflected(2.7)), 2)
    0.26
    """
    n, m = as_array(index), as_array(medium)
    return tidy(((n - m) / (n + m)) ** 2)


def cpvc(oil_absorption: Number, powder_density: Number, oil_density: Number) -> Array:
    """Critical pigment volume concentration, used as the maximum packing of a powder in oil.

    Parameters
    ----------
    oil_absorption : float or array
        Oil taken up by 100 g of powder in the rub-out test [g]. From a value in ml, pass the ml and
        an oil density of 1.
    powder_density : float or array
        Density of the powder [g/ml].
    oil_density : float or array
        Density of the test oil [g/ml], see LINSEED_DENSITY.

    Returns
    -------
    ndarray
        1/(1 + OA rho_p/(100 rho_oil)).

    Raises
    ------
    ValueError
        If the absorption is negative or a density not above zero.

    References
    ----------
    Asbeck W.K., Van Loo M., Ind. Eng. Chem. 41 (1949) 1470.

    Examples
    --------
    >>> round(float(cpvc(18.5, 5.6, 0.935)), 4)
    0.4744
    """
    oa, rho, oil = as_array(oil_absorption), as_array(powder_density), as_array(oil_density)
    forbid(oa < 0.0, "oil absorption must not be negative")
    forbid((rho <= 0.0) | (oil <= 0.0), "density must be above zero")
    return tidy(np.asarray(1.0 / (1.0 + oa * rho / (100.0 * oil))))


def mixed_packing(volumes: Column, packings: Column) -> Array:
    """Maximum packing of several powders together.

    Parameters
    ----------
    volumes : array
        Volumes of the powders along axis 0 [any one unit].
    packings : array
        Maximum packing of each, above 0 to 1.

    Returns
    -------
    ndarray
        Maximum packing of the mixture: oil demands add up, 1/phi_m = sum v_i/phi_i.

    Raises
    ------
    ValueError
        If a volume is negative, all are zero or a packing lies outside 0 to 1.

    Notes
    -----
    An assumption on the safe side: small particles that fit between large ones pack denser.

    Examples
    --------
    >>> round(float(mixed_packing([1.0, 1.0], [0.4744, 0.6709])), 4)
    0.5558
    """
    pm = as_array(packings)
    forbid((pm <= 0.0) | (pm > 1.0), "maximum packing must lie between 0 and 1")
    return tidy(np.asarray(1.0 / weighted_mean(volumes, 1.0 / pm)))


def yield_amplification(phi: Number, phi_max: Number) -> Array:
    """Factor by which a powder raises the yield stress of the gelled oil around it.

    Parameters
    ----------
    phi : float or array
        Volume fraction of powder in powder plus oil.
    phi_max : float or array
        Maximum packing.

    Returns
    -------
    ndarray
        sqrt[(1 - phi)(1 - phi/phi_max)^(-2.5 phi_max)]; infinite at and above the maximum packing.

    Raises
    ------
    ValueError
        If a fraction lies outside 0 to 1.

    Notes
    -----
    For particles that do not attract each other, coarser than the mesh of the gel.

    References
    ----------
    Chateau X., Ovarlez G., Trung K.L., J. Rheol. 52 (2008) 489.

    Examples
    --------
    >>> [round(float(yield_amplification(p, 0.474)), 3) for p in (0.1, 0.2)]
    [1.092, 1.238]
    """
    p, pm = _fractions(phi, phi_max)
    room = np.maximum(1.0 - p / pm, 0.0)
    factor = np.sqrt((1.0 - p) * np.where(room > 0.0, room, 1.0) ** (-2.5 * pm))
    return tidy(np.asarray(np.where(room > 0.0, factor, np.where(room == 0.0, np.inf, np.nan))))


def attraction_yield(phi: Number, phi_max: Number, percolation: Number, prefactor: Number) -> Array:
    """Yield stress from the attraction between powder particles.

    Parameters
    ----------
    phi : float or array
        Volume fraction of powder in powder plus oil.
    phi_max : float or array
        Maximum packing.
    percolation : float or array
        Volume fraction at which particles first form a connected network, below phi_max; 0 gives
        phi^3/(phi_max (phi_max - phi)).
    prefactor : float or array
        m1 [Pa]: grows with the attraction and falls with the square of the particle size.

    Returns
    -------
    ndarray
        m1 phi (phi - phi_0)^2/(phi_max (phi_max - phi)) [Pa]; 0 up to percolation, infinite at and
        above the maximum packing.

    Raises
    ------
    ValueError
        If a fraction lies outside 0 to 1, percolation reaches the maximum packing or the prefactor
        is negative.

    Notes
    -----
    The form is published for ceramic and cement pastes in water; that it holds for mineral powders
    in oil, and any prefactor used for them, is an assumption (see ATTRACTION_PREFACTOR). The oil
    absorption stands in for phi_max. Wetting agents lower the prefactor many times over, and coarse
    starch attracts less than fine zinc oxide.

    References
    ----------
    Flatt R.J., Bowen P., J. Am. Ceram. Soc. 89 (2006) 1244, and 90 (2007) 1038.

    Examples
    --------
    >>> round(float(attraction_yield(0.267, 0.535, 0.0, 1000.0)), 1)
    132.8
    """
    p, pm = _fractions(phi, phi_max)
    start, m1 = as_array(percolation), as_array(prefactor)
    forbid((start < 0.0) | (start >= pm), "percolation must lie between 0 and the packing")
    forbid(m1 < 0.0, "prefactor must not be negative")
    gap = pm - p
    value = m1 * p * np.maximum(p - start, 0.0) ** 2 / (pm * np.where(gap > 0.0, gap, 1.0))
    full = np.where(m1 > 0.0, np.inf, 0.0)
    return tidy(np.asarray(np.where(gap > 0.0, value, np.where(gap <= 0.0, full, np.nan))))


def powder_share(powder_volume: Number, oil_volume: Number) -> Array:
    """Volume fraction of powder in powder plus oil.

    Parameters
    ----------
    powder_volume, oil_volume : float or array
        Volumes [any one unit].

    Returns
    -------
    ndarray
        Fraction; above PASTE_SHARE a preparation is a paste and its consistency not predicted well.

    Raises
    ------
    ValueError
        If a volume is negative or both are zero.

    Examples
    --------
    >>> round(float(powder_share(4.46 + 16.7, 58.0)), 3)
    0.267
    """
    powder, oil = as_array(powder_volume), as_array(oil_volume)
    forbid((powder < 0.0) | (oil < 0.0), "volumes must not be negative")
    forbid(powder + oil <= 0.0, "at least one volume must be above zero")
    return tidy(np.asarray(powder / (powder + oil)))


def _fractions(phi: Number, phi_max: Number) -> tuple[Array, Array]:
    p, pm = as_array(phi), as_array(phi_max)
    forbid((p < 0.0) | (p >= 1.0), "volume fraction must lie between 0 and 1")
    forbid((pm <= 0.0) | (pm > 1.0), "maximum packing must lie between 0 and 1")
    return p, pm
