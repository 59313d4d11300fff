"""How strongly fine powder particles hold to each other in an oil."""

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, components, forbid, tidy

PLANCK = 6.626e-34
"""Planck constant [J s]."""

ELECTRON_FREQUENCY = 3.0e15
"""Main absorption frequency of the electrons of most liquids and solids [1/s]."""

BARE_GAP = (1.2, 0.5, 3.0)
"""Closest distance of two mineral surfaces in a hydrocarbon that nothing covers [nm]: nominal, low,
high. Assumption: roughness and tight molecules of the oil."""

POLAR_OIL_GAP = 3.0
"""The same in a triglyceride or ester, whose polar end sits on the mineral [nm]: two layers of
about 1.5 nm (assumption)."""

COVERED_GAP = 4.0
"""The same with fatty acid, emulsifier or sterol on the surface [nm]: two upright chains of C18,
about 2 nm each."""


def hamaker(index_powder: Number, index_oil: Number) -> Array:
    """Hamaker constant of two like particles across an oil, from refractive indices.

    Parameters
    ----------
    index_powder : float or array
        Refractive index of the powder.
    index_oil : float or array
        Refractive index of the oil.

    Returns
    -------
    ndarray
        3 h v/(16 sqrt 2) (n1^2 - n3^2)^2/(n1^2 + n3^2)^1.5 [J].

    Raises
    ------
    ValueError
        If an index is below 1.

    Notes
    -----
    The dispersion part alone; the static part is at most 3e-21 J, less than what the index of a
    mineral leaves open. Within about 10 percent of full calculations for liquids and quartz.

    References
    ----------
    Tabor D., Winterton R.H.S., Proc. R. Soc. Lond. A 312 (1969) 435; Israelachvili J.N.,
    Intermolecular and Surface Forces.

    Examples
    --------
    >>> [round(float(hamaker(n, 1.47)) * 1e21, 1) for n in (2.0, 1.57, 1.53)]
    [58.3, 2.4, 0.9]
    """
    n_1, n_3 = as_array(index_powder), as_array(index_oil)
    forbid((n_1 < 1.0) | (n_3 < 1.0), "a refractive index must not be below 1")
    front = 3.0 * PLANCK * ELECTRON_FREQUENCY / (16.0 * np.sqrt(2.0))
    return tidy(np.asarray(front * (n_1**2 - n_3**2) ** 2 / (n_1**2 + n_3**2) ** 1.5))


def sauter_size(volumes: Column, sizes_um: Column) -> Array:
    """Mean size of several powders with their surface and volume together.

    Parameters
    ----------
    volumes : array
        Volumes along axis 0 [any one unit].
    sizes_um : array
        Median sizes [um].

    Returns
    -------
    ndarray
        sum v/sum(v/d) [um]: fine powder counts most, having most of the surface.

    Raises
    ------
    ValueError
        If a volume is negative, all are zero or a size is not above zero.

    Examples
    --------
    >>> round(float(sauter_size([4.46, 16.9], [0.25, 14.0])), 2)
    1.12
    """
    v, d = components(volumes, sizes_um)
    forbid(v < 0.0, "volumes must not be negative")
    forbid(d <= 0.0, "size must be above zero")
    total = v.sum(axis=0)
    forbid(total <= 0.0, "at least one volume must be above zero")
    return tidy(np.asarray(total / (v / d).sum(axis=0)))


def mixed_hamaker(volumes: Column, sizes_um: Column, constants: Column) -> Array:
    """Hamaker constant that stands for the contacts of several powders.

    Parameters
    ----------
    volumes : array
        Volumes along axis 0 [any one unit].
    sizes_um : array
        Median sizes [um].
    constants : array
        Hamaker constant of each with itself [J].

    Returns
    -------
    ndarray
        (sum s sqrt A)^2 with s the shares of surface [J]: contacts fall by surface, and the
        constant of two unlike bodies is the geometric mean.

    Raises
    ------
    ValueError
        If a constant is negative, or as in sauter_size.

    Examples
    --------
    >>> round(float(mixed_hamaker([4.46, 16.9], [0.25, 14.0], [58.3e-21, 0.9e-21])) * 1e21, 1)
    52.0
    """
    sauter_size(volumes, sizes_um)
    v, d, a = components(volumes, sizes_um, constants)
    forbid(a < 0.0, "a Hamaker constant must not be negative")
    surface = v / d / (v / d).sum(axis=0)
    return tidy(np.asarray((surface * np.sqrt(a)).sum(axis=0) ** 2))


def contact_strength(constant: Number, size_um: Number, gap_nm: Number) -> Array:
    """Stress that the pull of two touching spheres amounts to over their cross-section.

    Parameters
    ----------
    constant : float or array
        Hamaker constant [J].
    size_um : float or array
        Diameter of the particles [um].
    gap_nm : float or array
        Closest distance of the surfaces [nm], see BARE_GAP, POLAR_OIL_GAP and COVERED_GAP.

    Returns
    -------
    ndarray
        Force A d/(24 h^2) over d^2/4: A/(6 d h^2) [Pa].

    Raises
    ------
    ValueError
        If the constant is negative, or the size or the gap not above zero.

    Notes
    -----
    Stands as prefactor m1 of attraction_yield; the number in front of it, of order one, depends on
    how many contacts a particle has and is not known for powders in oil.

    References
    ----------
    Derjaguin's approximation for two spheres; Flatt R.J., Bowen P., J. Am. Ceram. Soc. 89 (2006)
    1244, for the scaling with size and distance.

    Examples
    --------
    >>> round(float(contact_strength(58.3e-21, 0.25, 1.5)))
    17274
    """
    a, d, h = as_array(constant), as_array(size_um), as_array(gap_nm)
    forbid(a < 0.0, "a Hamaker constant must not be negative")
    forbid((d <= 0.0) | (h <= 0.0), "size and gap must be above zero")
    return tidy(np.asarray(a / (6.0 * d * 1e-6 * (h * 1e-9) ** 2)))
