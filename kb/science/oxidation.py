"""How readily an oil phase oxidises, and how well its antioxidant covers it."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from kb.science.numbers import (
    GAS_CONSTANT,
    ZERO_CELSIUS,
    Array,
    Column,
    Number,
    as_array,
    components,
    forbid,
    tidy,
)

RELATIVE_RATE: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {"oleic": (1.0, 1.0, 1.0), "linoleic": (11.0, 10.0, 12.0), "linolenic": (22.5, 20.0, 25.0)}
)
"""Relative rate of oxidation of one share of an acyl chain: middle, low, high (Holman and Elmer
1947, 1:12:25 by oxygen uptake; textbooks round to 1:10:20)."""

IODINE_FACTORS: Mapping[str, float] = MappingProxyType(
    {"palmitoleic": 0.950, "oleic": 0.860, "linoleic": 1.732, "linolenic": 2.616}
)
"""Iodine value per percent of each acid in a triglyceride (AOCS Cd 1c-85)."""


def oxidisability(shares: Column, rates: Column) -> Array:
    """Index of oxidisability, oleic acid as the unit.

    Parameters
    ----------
    shares : array
        Mass fractions of the unsaturated acids in the oil phase along axis 0.
    rates : array
        Relative rates, see RELATIVE_RATE.

    Returns
    -------
    ndarray
        Sum of shares times rates; a pure oleic oil has 1.

    Raises
    ------
    ValueError
        If a share or rate is negative or the shares exceed 1 together.

    Notes
    -----
    Ranks oils by their chains alone. Tocopherols, traces of metal and light move the shelf life as
    much: crude meadowfoam oil kept 247 h at 110 degC, the refined oil 67 h.

    References
    ----------
    Holman R.T., Elmer O.C., J. Am. Oil Chem. Soc. 24 (1947) 127.

    Examples
    --------
    >>> round(float(oxidisability([0.30, 0.60, 0.005], [1.0, 11.0, 22.5])), 4)
    7.0125
    """
    s, r = components(shares, rates)
    forbid((s < 0.0).any() or (r < 0.0).any(), "shares and rates must not be negative")
    s, r = np.broadcast_arrays(s, r)
    forbid(s.sum(axis=0) > 1.0 + 1e-9, "shares must not exceed 1 together")
    return tidy(np.asarray((s * r).sum(axis=0)))


def iodine_value(percents: Column, factors: Column) -> Array:
    """Iodine value of a triglyceride oil from its fatty acids.

    Parameters
    ----------
    percents : array
        Unsaturated acids along axis 0 [percent of fatty acids].
    factors : array
        Iodine value per percent of each, see IODINE_FACTORS.

    Returns
    -------
    ndarray
        Iodine value [g iodine/100 g].

    Raises
    ------
    ValueError
        If a percentage is negative.

    References
    ----------
    AOCS Recommended Practice Cd 1c-85.

    Examples
    --------
    >>> round(float(iodine_value([27.70, 57.18, 0.79], [0.860, 1.732, 2.616])))
    125
    """
    p, f = components(percents, factors)
    forbid(p < 0.0, "percentages must not be negative")
    return tidy(np.asarray((p * f).sum(axis=0)))


def antioxidant_cover(antioxidants: Column, strengths: Column, polyunsaturates: Number) -> Array:
    """Antioxidant in relation to the polyunsaturates it protects.

    Parameters
    ----------
    antioxidants : array
        Masses of antioxidants along axis 0, those of the oils included [g].
    strengths : array
        Strength of each, 1 for the reference antioxidant.
    polyunsaturates : float or array
        Mass of polyunsaturated acyl chains [g].

    Returns
    -------
    ndarray
        Antioxidant per polyunsaturates [mg/g]; infinite where there is nothing to protect.

    Raises
    ------
    ValueError
        If an input is negative.

    Notes
    -----
    For comparing before and after a swap. More is not always better: tocopherol above 1 percent, or
    added to an oil already oxidised, promotes oxidation.

    Examples
    --------
    >>> round(float(antioxidant_cover([0.1], [1.0], 12.0)), 2)
    8.33
    """
    a, s = components(antioxidants, strengths)
    pufa = as_array(polyunsaturates)
    forbid((a < 0.0).any() or (s < 0.0).any(), "antioxidant must not be negative")
    forbid(pufa < 0.0, "polyunsaturates must not be negative")
    mass = np.asarray((a * s).sum(axis=0))
    cover = 1000.0 * mass / np.where(pufa > 0.0, pufa, 1.0)
    return tidy(np.asarray(np.where(pufa == 0.0, np.inf + 0.0 * mass, cover + 0.0 * pufa)))


def induction_time(
    hours: Number, t_measured_c: Number, t_c: Number, activation_kj_mol: Number
) -> Array:
    """Induction time of an oil at another temperature.

    Parameters
    ----------
    hours : float or array
        Induction time measured [h].
    t_measured_c : float or array
        Where it was measured [degC].
    t_c : float or array
        Temperature wanted [degC].
    activation_kj_mol : float or array
        Activation energy [kJ/mol]; canola oil 74-82 between 90 and 130 degC.

    Returns
    -------
    ndarray
        Induction time [h].

    Raises
    ------
    ValueError
        If the time or the energy is negative or a temperature lies below absolute zero.

    Notes
    -----
    Within the measured temperatures only. Down to room temperature it tells orders of magnitude:
    another reaction step rules there and oxygen dissolves differently.

    References
    ----------
    Arrhenius S. (1889); activation energies Symoniuk E. et al., Ital. J. Food Sci.

    Examples
    --------
    >>> round(float(induction_time(10.0, 110.0, 100.0, 80.0)), 1)
    19.6
    """
    h, e = as_array(hours), as_array(activation_kj_mol)
    t_0, t_1 = as_array(t_measured_c) + ZERO_CELSIUS, as_array(t_c) + ZERO_CELSIUS
    forbid((h < 0.0) | (e < 0.0), "time and activation energy must not be negative")
    forbid((t_0 <= 0.0) | (t_1 <= 0.0), "temperature must be above absolute zero")
    return tidy(np.asarray(h * np.exp(1000.0 * e / GAS_CONSTANT * (1.0 / t_1 - 1.0 / t_0))))
