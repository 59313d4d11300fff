"""Crystals in an oil phase: what stays solid of each component, in this oil, at this dose.

Tabulated solid fat is never multiplied by the dose: dilution dissolves the fat. The equations give
the end state of a well tempered mixture; supercooling and graining take days to weeks.
"""

import numpy as np

from kb.science.numbers import (
    GAS_CONSTANT,
    ZERO_CELSIUS,
    Array,
    Column,
    Number,
    as_array,
    components,
    falling,
    forbid,
    tidy,
)

MELTING_RANGE_WIDTH = 2.0 * float(np.log(19.0))
"""A melting range spans this many widths of the sigmoid: 95 percent solid at its low end, 5 at its
high end (convention)."""


def ideal_solubility(t_c: Number, tm_c: Number, dh_kj_mol: Number, gamma: Number) -> Array:
    """Mole fraction of a solid that dissolves.

    Parameters
    ----------
    t_c : float or array
        Temperature [degC].
    tm_c : float or array
        Melting point of the stable form [degC].
    dh_kj_mol : float or array
        Enthalpy of the whole melting, solid-solid steps included [kJ/mol].
    gamma : float or array
        Activity coefficient of the dissolved component, 1 for an ideal solution.

    Returns
    -------
    ndarray
        Saturation mole fraction, 1 at and above the melting point.

    Raises
    ------
    ValueError
        If the enthalpy or the activity coefficient is not above zero, or a temperature lies below
        absolute zero.

    Notes
    -----
    Each solid pure, no heat capacity term. Naphthalene in benzene 0.3018 against 0.2946 measured.
    Eutectics and solid solutions are not described.

    References
    ----------
    Schroeder I., Z. Phys. Chem. 11 (1893) 449; van Laar; Hildebrand J.H., Solubility (1924).

    Examples
    --------
    >>> round(float(ideal_solubility(25.0, 69.3, 61.2, 1.0)), 4)
    0.041
    """
    t, tm = as_array(t_c) + ZERO_CELSIUS, as_array(tm_c) + ZERO_CELSIUS
    dh, g = as_array(dh_kj_mol), as_array(gamma)
    forbid((t <= 0.0) | (tm <= 0.0), "temperature must be above absolute zero")
    forbid(dh <= 0.0, "enthalpy of melting must be above zero")
    forbid(g <= 0.0, "activity coefficient must be above zero")
    exponent = -(1000.0 * dh / GAS_CONSTANT) * (1.0 / t - 1.0 / tm)
    below = np.minimum(1.0, np.exp(np.minimum(exponent, 0.0)) / g)
    return tidy(np.asarray(np.where(exponent >= 0.0, 1.0, below)))


def dimer_solubility(t_c: Number, tm_c: Number, dh_kj_mol: Number) -> Array:
    """Mole fraction of a fatty acid that dissolves in a solvent where it pairs up.

    Parameters
    ----------
    t_c : float or array
        Temperature [degC].
    tm_c : float or array
        Melting point [degC].
    dh_kj_mol : float or array
        Enthalpy of melting per mole of single acid [kJ/mol].

    Returns
    -------
    ndarray
        Saturation mole fraction of the acid counted as single molecules.

    Raises
    ------
    ValueError
        As in ideal_solubility.

    Notes
    -----
    For hydrocarbons. Stearic acid in hexane, 20-60 degC: 0.59 to 0.97 of measured, where the plain
    equation dissolves 18 to 1.15 times too much.

    References
    ----------
    Association of stearic acid in alkanes: Calvo B., Cepeda E.A., J. Chem. Eng. Data 53 (2008).

    Examples
    --------
    >>> round(float(dimer_solubility(40.0, 69.3, 61.2)), 4)
    0.0352
    """
    pairs = ideal_solubility(t_c, tm_c, 2.0 * as_array(dh_kj_mol), 1.0)
    return tidy(np.asarray(2.0 * pairs / (1.0 + pairs)))


def acid_solubility_in_ester(t_c: Number, tm_c: Number, dh_kj_mol: Number) -> Array:
    """Mole fraction of a fatty acid that dissolves in an ester, where only part of it pairs up.

    Parameters
    ----------
    t_c : float or array
        Temperature [degC].
    tm_c : float or array
        Melting point [degC].
    dh_kj_mol : float or array
        Enthalpy of melting [kJ/mol].

    Returns
    -------
    ndarray
        Mean of the plain and the paired result.

    Raises
    ------
    ValueError
        As in ideal_solubility.

    Notes
    -----
    Lauric acid in ethyl acetate, 0-40 degC: plain 2.8 to 1.0 times measured, paired 0.60 to 1.04.
    The mean is a convention between the two.

    Examples
    --------
    >>> round(float(acid_solubility_in_ester(20.0, 43.82, 36.3)), 3)
    0.26
    """
    plain = ideal_solubility(t_c, tm_c, dh_kj_mol, 1.0)
    return tidy(np.asarray(0.5 * (plain + dimer_solubility(t_c, tm_c, dh_kj_mol))))


def dissolve(mols: Column, x_sat: Column, liquid_mols: Number) -> Array:
    """Moles of each component that stay solid in a mixture.

    Parameters
    ----------
    mols : array
        Moles of the components that can crystallise, along axis 0.
    x_sat : array
        Their saturation mole fractions at the temperature, 0 to 1.
    liquid_mols : float or array
        Moles of what is always liquid, without the axis of components.

    Returns
    -------
    ndarray
        Moles of each that are solid, axis 0 as in mols.

    Raises
    ------
    ValueError
        If an amount is negative or a mole fraction lies outside 0 to 1.

    Notes
    -----
    Solves N = n_L + sum min(n_i, x_i N) for the moles N of the liquid. The difference of the two
    sides is convex and made of straight pieces, so Newton's method from above lands on the root
    after at most one step per piece. With no permanent liquid the largest root is taken: a melt
    forms only where the saturations of the components add up to more than one.

    Examples
    --------
    >>> round(float(dissolve([0.02062], [0.06107], 0.19)[0]), 5)
    0.00826
    """
    liquid = as_array(liquid_mols)
    n, x = components(mols, x_sat, trailing=liquid.ndim)
    forbid(n < 0.0, "amounts must not be negative")
    forbid(liquid < 0.0, "the amount of liquid must not be negative")
    forbid((x < 0.0) | (x > 1.0), "saturation mole fraction must lie between 0 and 1")
    rows = np.broadcast_shapes(n.shape[:1], x.shape[:1])
    shape = rows + np.broadcast_shapes(n.shape[1:], x.shape[1:], liquid.shape)
    n, x = np.broadcast_to(n, shape), np.broadcast_to(x, shape)
    total = np.asarray(liquid + n.sum(axis=0))
    for _ in range(n.shape[0] + 2):
        held = x * total
        excess = total - liquid - np.minimum(n, held).sum(axis=0)
        slope = 1.0 - np.where(held <= n, x, 0.0).sum(axis=0)
        move = (excess > 0.0) & (slope > 0.0)
        if not move.any():
            break
        step = np.where(move, excess, 0.0) / np.where(move, slope, 1.0)
        total = np.maximum(total - step, liquid)
    solid = n - np.minimum(n, x * total)
    unknown = np.isnan(n).any(axis=0) | np.isnan(x).any(axis=0) | np.isnan(liquid)
    return np.where(unknown, np.nan, np.where(solid > 1e-12 * n, solid, 0.0))


def solid_masses(masses: Column, molar_masses: Column, x_sat: Column, liquid_mols: Number) -> Array:
    """Mass of each component that stays solid in a mixture.

    Parameters
    ----------
    masses : array
        Masses of the components that can crystallise, along axis 0 [g].
    molar_masses : array
        Their molar masses [g/mol].
    x_sat : array
        Their saturation mole fractions at the temperature.
    liquid_mols : float or array
        Moles of what is always liquid, for the same batch [mol].

    Returns
    -------
    ndarray
        Solid mass of each [g].

    Raises
    ------
    ValueError
        If a molar mass is not above zero, or as in dissolve.

    Examples
    --------
    >>> x = [ideal_solubility(10.0, 49.3, 54.0, 1.0)]
    >>> round(float(solid_masses([5.0], [242.44], x, 95.0 / 500.0)[0]), 3)
    2.003
    """
    trailing = as_array(liquid_mols).ndim
    m, molar, x = components(masses, molar_masses, x_sat, trailing=trailing)
    forbid(molar <= 0.0, "molar mass must be above zero")
    return dissolve(m / molar, x, liquid_mols) * molar


def melting_range_fraction(t_c: Number, low_c: Number, high_c: Number) -> Array:
    """Solid fraction of an undiluted material known only by its melting range.

    Parameters
    ----------
    t_c : float or array
        Temperature [degC].
    low_c, high_c : float or array
        Ends of the melting range [degC].

    Returns
    -------
    ndarray
        Solid fraction: 0.95 at the low end, 0.05 at the high end.

    Raises
    ------
    ValueError
        If the range is empty or turned round.

    Notes
    -----
    A convention for the material by itself. Diluted in oil, use ideal_solubility with the high end
    as the melting point.

    Examples
    --------
    >>> round(float(melting_range_fraction(50.0, 43.0, 71.0)), 3)
    0.813
    """
    t, low, high = as_array(t_c), as_array(low_c), as_array(high_c)
    forbid(high <= low, "the high end of a melting range must lie above its low end")
    scaled = (t - 0.5 * (low + high)) * (MELTING_RANGE_WIDTH / (high - low))
    return tidy(falling(np.asarray(scaled)))
