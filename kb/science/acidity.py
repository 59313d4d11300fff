"""Acids and alkalis: what soap forms, what is left over, and the pH of a buffered water phase."""

from typing import NamedTuple

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, components, forbid, tidy

POTASSIUM_HYDROXIDE = 56.106
"""Molar mass of potassium hydroxide, in which acid values are stated [g/mol]."""

PK_WATER = 14.0
"""Ion product of water at 25 degC, as pK."""

_PH_LOW, _PH_HIGH = -2.0, 16.0


class Neutralised(NamedTuple):
    """What is left after acids have met alkali.

    Attributes
    ----------
    share : ndarray
        Neutralised share of each acid, 0 to 1, axis 0 as in the acids.
    soap : ndarray
        Soap formed from each acid [equivalents].
    leftover_alkali : ndarray
        Alkali without a partner [equivalents].
    leftover_acid : ndarray
        Acid without a partner, all together [equivalents].
    """

    share: Array
    soap: Array
    leftover_alkali: Array
    leftover_acid: Array


def acid_equivalents(mass: Number, acid_value: Number) -> Array:
    """Acid equivalents of a material from its acid value.

    Parameters
    ----------
    mass : float or array
        Mass [g].
    acid_value : float or array
        Acid value [mg KOH/g].

    Returns
    -------
    ndarray
        Equivalents [mol].

    Raises
    ------
    ValueError
        If an input is negative.

    Examples
    --------
    >>> round(float(acid_equivalents(12.0, 20.0)) * 1000, 2)
    4.28
    """
    m, av = as_array(mass), as_array(acid_value)
    forbid((m < 0.0) | (av < 0.0), "mass and acid value must not be negative")
    return tidy(np.asarray(m * av / (1000.0 * POTASSIUM_HYDROXIDE)))


def alkali_equivalents(mass: Number, molar_mass: Number, valence: Number, assay: Number) -> Array:
    """Alkali equivalents of a weighed base.

    Parameters
    ----------
    mass : float or array
        Mass [g].
    molar_mass : float or array
        Molar mass, crystal water included [g/mol].
    valence : float or array
        Equivalents of acid one mole takes up: 1 for sodium hydroxide, 2 for borax or calcium
        hydroxide.
    assay : float or array
        Mass fraction that is the base.

    Returns
    -------
    ndarray
        Equivalents [mol].

    Raises
    ------
    ValueError
        If the mass or valence is negative, the molar mass not above zero or the assay outside 0-1.

    Examples
    --------
    >>> round(float(alkali_equivalents(0.5, 381.37, 2.0, 1.0)) * 1000, 2)
    2.62
    """
    m, molar = as_array(mass), as_array(molar_mass)
    z, purity = as_array(valence), as_array(assay)
    forbid((m < 0.0) | (z < 0.0), "mass and valence must not be negative")
    forbid(molar <= 0.0, "molar mass must be above zero")
    forbid((purity < 0.0) | (purity > 1.0), "assay must lie between 0 and 1")
    return tidy(np.asarray(m * purity * z / molar))


def soap_formed(acids: Column, alkali: Number) -> Neutralised:
    """What forms when fatty acids meet an alkali, by equivalents.

    Parameters
    ----------
    acids : array
        Acid equivalents along axis 0 [mol].
    alkali : float or array
        Alkali equivalents [mol].

    Returns
    -------
    Neutralised
        Share, soap, leftover alkali and leftover acid.

    Raises
    ------
    ValueError
        If an amount is negative.

    Notes
    -----
    Complete reaction; acids share the alkali in proportion to their equivalents, which holds for
    acids of like strength (fatty acids, wax acids).

    Examples
    --------
    >>> made = soap_formed([3.0, 1.0], 2.0)
    >>> made.share.tolist(), float(made.leftover_acid)
    ([0.5, 0.5], 2.0)
    """
    base = as_array(alkali)
    (acid,) = components(acids, trailing=base.ndim)
    forbid(acid < 0.0, "acid must not be negative")
    forbid(base < 0.0, "alkali must not be negative")
    total = acid.sum(axis=0)
    used = np.minimum(total, base)
    common = np.where(total > 0.0, used / np.where(total > 0.0, total, 1.0), 0.0 * used)
    share = np.asarray(common * np.ones_like(acid))
    return Neutralised(
        share,
        np.asarray(share * acid),
        tidy(np.asarray(base - used)),
        tidy(np.asarray(total - used)),
    )


def henderson(pka: Number, base: Number, acid: Number) -> Array:
    """PH of a buffer from its two halves.

    Parameters
    ----------
    pka : float or array
        pKa.
    base, acid : float or array
        Amounts of the base form and of the acid form [any one unit], above zero.

    Returns
    -------
    ndarray
        pH.

    Raises
    ------
    ValueError
        If an amount is not above zero.

    Notes
    -----
    For concentrations well above those of hydrogen and hydroxide ions; otherwise use balance_ph.

    References
    ----------
    Hasselbalch K.A., Biochem. Z. 78 (1917) 112.

    Examples
    --------
    >>> round(float(henderson(4.76, 10.0, 1.0)), 2)
    5.76
    """
    b, a = as_array(base), as_array(acid)
    forbid((b <= 0.0) | (a <= 0.0), "both halves of a buffer must be above zero")
    return tidy(np.asarray(as_array(pka) + np.log10(b / a)))


def balance_ph(
    acids: Column,
    acid_pkas: Column,
    bases: Column,
    base_pkas: Column,
    strong_base: Number,
    strong_acid: Number,
) -> Array:
    """PH at which the charges in a water phase balance.

    Parameters
    ----------
    acids : array
        Weak acids, all forms together, along axis 0 [mol/kg water]; a salt of one counts here and
        its metal as strong base.
    acid_pkas : array
        pKa of each.
    bases : array
        Weak bases, all forms together, along axis 0 [mol/kg water].
    base_pkas : array
        pKa of the acid each forms with a proton.
    strong_base, strong_acid : float or array
        Metal ions of strong bases and anions of strong acids [mol/kg water].

    Returns
    -------
    ndarray
        pH at 25 degC.

    Raises
    ------
    ValueError
        If an amount is negative.

    Notes
    -----
    Activity coefficients 1: within 0.1-0.2 below 0.1 mol/kg. Write an acid of several steps as
    several acids of the same amount; that holds when the steps lie 2 units or more apart.

    References
    ----------
    Charge balance, e.g. Butler J.N., Ionic Equilibrium (1964), solved by bisection.

    Examples
    --------
    >>> round(float(balance_ph([0.1], [4.76], [0.0], [9.0], 0.0, 0.0)), 2)
    2.88
    """
    cations, anions = as_array(strong_base), as_array(strong_acid)
    trailing = max(cations.ndim, anions.ndim)
    acid, pk_acid, base, pk_base = components(acids, acid_pkas, bases, base_pkas, trailing=trailing)
    forbid((acid < 0.0).any() or (base < 0.0).any(), "amounts must not be negative")
    forbid((cations < 0.0).any() or (anions < 0.0).any(), "amounts must not be negative")
    unknown = (acid + pk_acid).sum(axis=0) + (base + pk_base).sum(axis=0) + cations + anions
    low, high = np.full(unknown.shape, _PH_LOW), np.full(unknown.shape, _PH_HIGH)
    for _ in range(50):
        ph = 0.5 * (low + high)
        positive = 10.0**-ph + cations + (base / (1.0 + 10.0 ** (ph - pk_base))).sum(axis=0)
        negative = (
            10.0 ** (ph - PK_WATER) + anions + (acid / (1.0 + 10.0 ** (pk_acid - ph))).sum(axis=0)
        )
        low, high = np.where(positive > negative, ph, low), np.where(positive > negative, high, ph)
    return tidy(np.asarray(np.where(np.isnan(unknown), np.nan, 0.5 * (low + high))))
