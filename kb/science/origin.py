"""Natural origin of ingredients and products by the indices of ISO 16128."""

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, components, forbid, tidy

GATE = 0.5
"""A derived ingredient must exceed this share to count at all (ISO 16128-1)."""


def natural_origin_index(natural: Number, whole: Number, gate: Number) -> Array:
    """Natural origin index of a derived ingredient.

    Parameters
    ----------
    natural : float or array
        Natural part: renewable carbon atoms, or mass of the natural moieties, on a stated basis.
    whole : float or array
        The whole on the same basis.
    gate : float or array
        Share that must be exceeded, see GATE.

    Returns
    -------
    ndarray
        Share of the natural part, 0 where it does not exceed the gate.

    Raises
    ------
    ValueError
        If the natural part is negative or exceeds the whole, or the whole is not above zero.

    Notes
    -----
    The basis matters near the gate: triethyl citrate from petrochemical ethanol has 0.5 of its
    carbon (index 0) and 0.684 of its mass natural.

    References
    ----------
    ISO 16128-1:2016, ISO 16128-2:2017.

    Examples
    --------
    >>> round(float(natural_origin_index(16, 19, 0.5)), 3), float(natural_origin_index(6, 12, 0.5))
    (0.842, 0.0)
    """
    part, total = as_array(natural), as_array(whole)
    forbid(part < 0.0, "the natural part must not be negative")
    forbid(total <= 0.0, "the whole must be above zero")
    forbid(part > total * (1.0 + 1e-9), "the natural part must not exceed the whole")
    share = part / total
    return tidy(np.asarray(np.where(share <= as_array(gate), 0.0 * share, share)))


def natural_origin_content(masses: Column, indices: Column) -> Array:
    """Natural origin content of a product, water included.

    Parameters
    ----------
    masses : array
        Masses along axis 0 [any one unit].
    indices : array
        Natural origin index of each, 1 for water.

    Returns
    -------
    ndarray
        Content [percent].

    Raises
    ------
    ValueError
        If a mass is negative, all are zero or an index lies outside 0 to 1.

    References
    ----------
    ISO 16128-2:2017.

    Examples
    --------
    >>> round(float(natural_origin_content([50, 25, 23, 2], [1.0, 0.8, 1.0, 0.0])), 6)
    93.0
    """
    m, i = components(masses, indices)
    return natural_origin_content_without_water(m, i, 0.0 * m)


def natural_origin_content_without_water(masses: Column, indices: Column, waters: Column) -> Array:
    """Natural origin content of a product, formulation water left out of both sides.

    Parameters
    ----------
    masses : array
        Masses along axis 0 [any one unit].
    indices : array
        Natural origin index of each.
    waters : array
        Mass of formulation water in each, same unit.

    Returns
    -------
    ndarray
        Content [percent].

    Raises
    ------
    ValueError
        If a mass is negative, an index lies outside 0 to 1, an ingredient holds more water than it
        weighs or than is natural in it, or nothing but water is left.

    References
    ----------
    ISO 16128-2:2017.

    Examples
    --------
    >>> round(float(natural_origin_content_without_water(
    ...     [50, 25, 23, 2], [1.0, 0.8, 1.0, 0.0], [0, 0, 23, 0])), 2)
    90.91
    """
    m, i, w = components(masses, indices, waters)
    forbid((m < 0.0) | (w < 0.0), "masses must not be negative")
    forbid((i < 0.0) | (i > 1.0), "an index must lie between 0 and 1")
    forbid(w > m, "an ingredient cannot hold more water than it weighs")
    forbid(w > m * i + 1e-9 * m, "water counts as natural, so the index must cover it")
    rest = np.asarray((m - w).sum(axis=0))
    forbid(rest <= 0.0, "something besides water is needed")
    return tidy(np.asarray(100.0 * np.asarray((m * i - w).sum(axis=0)) / rest))


def extract_organic_index(dry_mass: Number, water_mass: Number, reconstitution: Number) -> Array:
    """Organic index of a water extract of a dried organic plant.

    Parameters
    ----------
    dry_mass : float or array
        Dried organic plant [kg].
    water_mass : float or array
        Water added [kg].
    reconstitution : float or array
        Fresh over dry mass of the plant part: 2.5 wood, bark, seeds and roots, 4.5 leaves and
        flowers, 5 fruit, 8 watery fruit.

    Returns
    -------
    ndarray
        1 minus the share of the water that only dissolves.

    Raises
    ------
    ValueError
        If the dry mass is not above zero, the water negative or the factor below 1.

    References
    ----------
    ISO 16128-2:2017, Annex B, example 1.

    Examples
    --------
    >>> round(float(extract_organic_index(34.4, 601.0, 4.5)), 4)
    0.2436
    """
    dry, water, k = as_array(dry_mass), as_array(water_mass), as_array(reconstitution)
    forbid(dry <= 0.0, "dry mass must be above zero")
    forbid(water < 0.0, "water must not be negative")
    forbid(k < 1.0, "fresh plant cannot weigh less than dry")
    fresh = np.minimum(k * dry - dry, water)
    return tidy(np.asarray((dry + fresh) / (dry + water)))
