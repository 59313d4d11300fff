"""How much preservative is left, free and undissociated, in the water of an emulsion."""

import numpy as np

from kb.science.numbers import Array, Number, as_array, falling, forbid, tidy


def undissociated_fraction(ph: Number, pka: Number) -> Array:
    """Fraction of a weak acid that is not dissociated.

    Parameters
    ----------
    ph : float or array
        pH of the water phase.
    pka : float or array
        pKa of the acid.

    Returns
    -------
    ndarray
        1/(1 + 10^(pH - pKa)).

    Notes
    -----
    One constant, no correction for ionic strength. A printed table of six acids at pH 3-7 is met
    within what a pKa off by 0.05 does.

    References
    ----------
    Henderson-Hasselbalch, as used by Anderson R.A., Chow C.E., J. Soc. Cosmet. Chem. 18 (1967) 207.

    Examples
    --------
    >>> round(100 * float(undissociated_fraction(7.0, 4.2)), 2)
    0.16
    """
    excess = as_array(ph) - as_array(pka)
    return tidy(falling(np.asarray(np.log(10.0) * excess)))


def binding_ratio(constant: Number, surfactant: Number) -> Array:
    """Total over free preservative in a water phase with a nonionic surfactant.

    Parameters
    ----------
    constant : float or array
        Constant of the pair [1/percent]; rises with the fat solubility of the preservative.
    surfactant : float or array
        Surfactant in the water phase [percent w/v].

    Returns
    -------
    ndarray
        R = 1 + constant times surfactant.

    Raises
    ------
    ValueError
        If an input is negative.

    References
    ----------
    Kostenbauder H.B., as quoted in J. Soc. Cosmet. Chem., review of preservatives.

    Examples
    --------
    >>> float(binding_ratio(0.5, 3.0))
    2.5
    """
    c, s = as_array(constant), as_array(surfactant)
    forbid((c < 0.0) | (s < 0.0), "binding constant and surfactant must not be negative")
    return tidy(np.asarray(1.0 + c * s))


def free_in_water(
    total_percent: Number,
    water_fraction: Number,
    oil_fraction: Number,
    partition: Number,
    undissociated: Number,
    binding: Number,
) -> Array:
    """Preservative free in the water phase, both forms of a weak acid together.

    Parameters
    ----------
    total_percent : float or array
        Preservative in the whole formula [percent w/v].
    water_fraction : float or array
        Volume fraction of water phase, above 0.
    oil_fraction : float or array
        Volume fraction of liquid oil phase.
    partition : float or array
        Oil/water partition coefficient of the undissociated form.
    undissociated : float or array
        Undissociated fraction, 1 for a neutral preservative; only this form enters the oil.
    binding : float or array
        Total over free in the water phase, from binding_ratio, 1 without surfactant.

    Returns
    -------
    ndarray
        Concentration in the water phase [percent w/v].

    Raises
    ------
    ValueError
        If a fraction lies outside its range, the total or the partition is negative, or the binding
        ratio is below 1.

    Notes
    -----
    Holds for O/W and W/O alike. Not where the acid pairs up in the oil (benzoic acid in paraffin).
    Phenol in paraffin emulsions: within 0.1 percent of five printed values. It says nothing of the
    solubility limit.

    References
    ----------
    Bean H.S. et al.; Garrett E.R., Woods O.R., J. Am. Pharm. Assoc. 42 (1953) 736; Anderson R.A.,
    Chow C.E. (1967).

    Examples
    --------
    >>> round(float(free_in_water(0.9, 0.3, 0.7, 2.6, 1.0, 1.0)), 4)
    0.4245
    """
    total, k, f = as_array(total_percent), as_array(partition), as_array(undissociated)
    water, oil, bound = as_array(water_fraction), as_array(oil_fraction), as_array(binding)
    forbid(total < 0.0, "preservative must not be negative")
    forbid(water <= 0.0, "there must be a water phase")
    forbid(oil < 0.0, "oil fraction must not be negative")
    forbid(water + oil > 1.0 + 1e-9, "water and oil must not exceed the whole")
    forbid(k < 0.0, "partition coefficient must not be negative")
    forbid((f < 0.0) | (f > 1.0), "undissociated fraction must lie between 0 and 1")
    forbid(bound < 1.0, "binding ratio must not be below 1")
    return tidy(np.asarray(total / (k * f * oil + bound * water)))


def active_in_water(
    total_percent: Number,
    water_fraction: Number,
    oil_fraction: Number,
    partition: Number,
    undissociated: Number,
    binding: Number,
) -> Array:
    """Preservative free and undissociated in the water phase: what acts.

    Parameters
    ----------
    total_percent, water_fraction, oil_fraction, partition, undissociated, binding : float or array
        As in free_in_water.

    Returns
    -------
    ndarray
        Concentration in the water phase [percent w/v].

    Raises
    ------
    ValueError
        As in free_in_water.

    Examples
    --------
    >>> f = float(undissociated_fraction(5.0, 4.2))
    >>> round(float(active_in_water(0.4, 0.3, 0.7, 10.0, f, 1.0)), 4)
    0.0435
    """
    free = free_in_water(
        total_percent, water_fraction, oil_fraction, partition, undissociated, binding
    )
    return tidy(np.asarray(as_array(undissociated) * free))


def contaminated_drop_share(cells_per_ml: Number, diameter_um: Number) -> Array:
    """Share of water drops that hold at least one cell.

    Parameters
    ----------
    cells_per_ml : float or array
        Cells per ml of water phase.
    diameter_um : float or array
        Drop diameter [um].

    Returns
    -------
    ndarray
        1 - exp(-N V) for the drop volume V.

    Raises
    ------
    ValueError
        If an input is negative.

    References
    ----------
    Follows from Verrips C.T., Zaalberg J., Eur. J. Appl. Microbiol. 10 (1980) 187.

    Examples
    --------
    >>> f"{float(contaminated_drop_share(1000.0, 10.0)):.2e}"
    '5.24e-07'
    """
    n, d = as_array(cells_per_ml), as_array(diameter_um)
    forbid((n < 0.0) | (d < 0.0), "cells and diameter must not be negative")
    return tidy(np.asarray(-np.expm1(-n * np.pi * (1e-4 * d) ** 3 / 6.0)))
