"""Stiffness of a network of crystals or of an oil-phase polymer."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from kb.science.numbers import Array, Column, Number, as_array, components, forbid, tidy

REFERENCE_YIELD = 30.0
"""Yield stress at the critical gelling level [Pa]: a turned tube of radius 5-10 mm holds when the
yield exceeds 22-44 Pa (half the hydrostatic stress)."""

SELF_REFERENCE_YIELD = 41.0
"""Yield at a sum of 1 of fats with a body of their own [Pa]: gives petrolatum by itself, at a sum
of 1/0.62, the 135 Pa in the geometric middle of its published grades (65-280 Pa)."""

NETWORK_EXPONENT = (2.5, 2.0, 4.0)
"""Exponent of the power law: nominal, low, high (creep of oily gels 2.8, petrolatum 1.5, fat
networks 1.6-3.3, waxes just above gelling about 4)."""

STIRRED_SHARE = (0.2, 0.05, 1.0)
"""What a cream stirred through setting keeps of its network: nominal, low, high (assumption; a
poured balm keeps 1)."""

STIRRED_MELT_SHARE = (0.5, 0.2, 1.0)
"""The same for a melt only stirred until it sets, which breaks less than emulsifying: nominal, low,
high (assumption)."""

STIRRED_SUM = 2.0
"""Sum of a network at which STIRRED_SHARE was set (assumption, see stirred_share)."""

CRITICAL_GELLING: Mapping[str, float] = MappingProxyType(
    {
        "rice bran wax": 0.01,
        "sunflower wax": 0.01,
        "candelilla wax": 0.02,
        "beeswax": 0.025,
        "glyceryl stearate": 0.03,
        "carnauba wax": 0.04,
        "berry wax": 0.06,
        "butter or fatty alcohol": 0.06,
        "paraffin": 0.05,
        "microcrystalline wax": 0.03,
        "hydrogenated castor oil": 0.015,
        "petrolatum": 0.62,
        "wool fat": 0.5,
    }
)
"""Critical gelling fraction of the oil phase. The first six follow Blake 2014, Patel 2013 and Doan
2015, who disagree up to tenfold; the rest is recalled or assumed. Small polar or volatile oils need
up to five times more."""


def network_sum(solids: Column, critical: Column) -> Array:
    """Sum of crystals, each in units of the level at which it starts to gel.

    Parameters
    ----------
    solids : array
        Crystal mass fractions of the oil phase along axis 0.
    critical : array
        Critical gelling fractions of the oil phase.

    Returns
    -------
    ndarray
        Sum; about 1 where the oil just stops flowing.

    Raises
    ------
    ValueError
        If a solid is negative or a critical fraction is not above zero.

    Notes
    -----
    Additive by assumption: real pairs of waxes can soften (eutectic) or stiffen each other.

    Examples
    --------
    >>> round(float(network_sum([0.05787], [0.025])), 3)
    2.315
    """
    s, c = components(solids, critical)
    forbid(s < 0.0, "solids must not be negative")
    forbid(c <= 0.0, "critical gelling fraction must be above zero")
    return tidy(np.asarray((s / c).sum(axis=0)))


def network_yield(total: Number, exponent: Number, reference: Number) -> Array:
    """Yield stress of a network from its sum.

    Parameters
    ----------
    total : float or array
        Sum from network_sum.
    exponent : float or array
        Exponent of the power law, see NETWORK_EXPONENT.
    reference : float or array
        Yield at a sum of 1 [Pa], see REFERENCE_YIELD.

    Returns
    -------
    ndarray
        Yield stress [Pa].

    Raises
    ------
    ValueError
        If an input is negative or the exponent not above zero.

    Notes
    -----
    For sums of 0.5-12 and solids below 0.3. Absolute values x/÷ 3 in a balm, x/÷ 5 in a stirred
    cream; a ratio is far better, within one class of structurant.

    References
    ----------
    Narine S.S., Marangoni A.G., Phys. Rev. E 59 (1999) 1908, weak-link scaling.

    Examples
    --------
    >>> [round(float(network_yield(s, 2.5, 30.0)), 1) for s in (0.5, 1.0, 2.0, 4.0)]
    [5.3, 30.0, 169.7, 960.0]
    """
    x, n, ref = as_array(total), as_array(exponent), as_array(reference)
    forbid(x < 0.0, "the sum of a network must not be negative")
    forbid(n <= 0.0, "exponent must be above zero")
    forbid(ref < 0.0, "yield stress must not be negative")
    return tidy(np.asarray(ref * x**n))


def polymer_yield(fraction: Number, critical: Number, exponent: Number, reference: Number) -> Array:
    """Yield stress of a polymer dissolved in the oil, by its own power law.

    Parameters
    ----------
    fraction : float or array
        Mass fraction of the polymer in the oil phase.
    critical : float or array
        Fraction at which it starts to gel.
    exponent : float or array
        Its own exponent: about 6 for ethylcellulose, about 2 for hydroxystearic acid.
    reference : float or array
        Yield at the critical fraction [Pa].

    Returns
    -------
    ndarray
        Yield stress [Pa].

    Raises
    ------
    ValueError
        If the fraction is negative, or as in network_yield.

    References
    ----------
    Zetzl A.K. et al., Food Struct. 2 (2014) 27; Terech P. et al. (1994).

    Examples
    --------
    >>> round(float(polymer_yield(0.12, 0.06, 6.0, 30.0)))
    1920
    """
    f, c = as_array(fraction), as_array(critical)
    forbid(f < 0.0, "fraction must not be negative")
    forbid(c <= 0.0, "critical gelling fraction must be above zero")
    return network_yield(f / c, exponent, reference)


def after_process(tau: Number, share: Number) -> Array:
    """Yield stress that is left of a network after processing.

    Parameters
    ----------
    tau : float or array
        Yield stress of the undisturbed network [Pa].
    share : float or array
        What processing leaves of it: 1 poured, see STIRRED_SHARE for a stirred cream.

    Returns
    -------
    ndarray
        Yield stress [Pa].

    Raises
    ------
    ValueError
        If the stress is negative or the share lies outside 0 to 1.

    Notes
    -----
    Cancels in a swap within one class of structurant and one process.

    Examples
    --------
    >>> round(float(after_process(244.5, 0.2)), 1)
    48.9
    """
    t, k = as_array(tau), as_array(share)
    forbid(t < 0.0, "yield stress must not be negative")
    forbid((k < 0.0) | (k > 1.0), "the share left by processing must lie between 0 and 1")
    return tidy(np.asarray(t * k))


def stirred_share(total: Number, nominal: Number) -> Array:
    """Share of a network's yield that is left when it sets while being stirred.

    Parameters
    ----------
    total : float or array
        Sum from network_sum.
    nominal : float or array
        Share left of a network at STIRRED_SUM and below, see STIRRED_SHARE.

    Returns
    -------
    ndarray
        The nominal share, falling as 1/total above STIRRED_SUM.

    Raises
    ------
    ValueError
        If the sum is negative or the nominal share lies outside 0 to 1.

    Notes
    -----
    A network at rest carries load through bonds that grow with a steep power of its crystals. One
    that sets under the stirrer is a crowd of broken flocs that hold by touching: its yield grows by
    about one power less (1.5 for petrolatum, 1.6 for the hardness of worked fats). So the stirrer
    takes more from a stiff network than from a weak one. Where the two laws meet is an assumption:
    the cream at which STIRRED_SHARE was set.

    References
    ----------
    Haighton A.J., J. Am. Oil Chem. Soc. 36 (1959) 345, hardness of fats by the power 1.6 and its
    loss on working; petrolatum: Drug Dev. Ind. Pharm. 43 (2017) 595.

    Examples
    --------
    >>> [round(float(stirred_share(x, 0.2)), 3) for x in (1.0, 2.0, 4.0, 10.0)]
    [0.2, 0.2, 0.1, 0.04]
    """
    x, k = as_array(total), as_array(nominal)
    forbid(x < 0.0, "the sum of a network must not be negative")
    forbid((k < 0.0) | (k > 1.0), "the share left by processing must lie between 0 and 1")
    return tidy(np.asarray(k * STIRRED_SUM / np.maximum(x, STIRRED_SUM)))
