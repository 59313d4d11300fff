"""What measured batches say about the next one: repeats, and a factor that a maker's batches share.

The logarithm of measured over predicted is taken as the sum of a maker's own share (vessel,
stirrer, cooling, instrument), the formula's own share, and the scatter of one batch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

#: Half of the central 90 % of a standard normal.
Z90 = 1.6448536269514722


def spread_of(factor: float) -> float:
    """Standard deviation of a logarithm whose 90 % range is 1/factor to factor.

    Parameters
    ----------
    factor : float
        At least 1.

    Examples
    --------
    >>> round(spread_of(4.0), 3)
    0.843
    """
    if not factor >= 1.0:
        raise ValueError("a factor of spread must be at least 1")
    return math.log(factor) / Z90


def formula_spread(ratio_factor: float) -> float:
    """Log spread of one formula's own share, from how well the ratio of two like ones is known.

    Parameters
    ----------
    ratio_factor : float
        The ratio of two formulas is right within this factor (90 %).

    Notes
    -----
    Two independent shares differ by a spread of the square root of two times one share.

    Examples
    --------
    >>> round(formula_spread(2.5), 3)
    0.394
    """
    return spread_of(ratio_factor) / math.sqrt(2.0)


def batch_spread(values: Sequence[float], prior: float, weight: float) -> float:
    """Log spread of single batches of one formula, as its repeats and a prior say together.

    Parameters
    ----------
    values : sequence of float
        Measured values of one formula, any unit, above zero.
    prior : float
        Log spread expected beforehand.
    weight : float
        How many repeats the prior is worth.

    Returns
    -------
    float
        sqrt((weight prior^2 + sum of squares) / (weight + n - 1)), the scaled inverse-chi-square
        estimate with an estimated mean.

    Raises
    ------
    ValueError
        If a value is not above zero, or prior and weight are not.

    References
    ----------
    Gelman A. et al., Bayesian Data Analysis, 3rd ed. (2013), sections 2.6 and 3.2 (recalled).

    Examples
    --------
    >>> round(batch_spread([40000.0], 0.16, 4.0), 3)
    0.16
    >>> round(batch_spread([30000.0, 60000.0], 0.16, 4.0), 3)
    0.262
    """
    if prior <= 0.0 or weight <= 0.0 or any(v <= 0.0 for v in values):
        raise ValueError("values, prior and weight must be above zero")
    logs = [math.log(v) for v in values]
    middle = sum(logs) / len(logs) if logs else 0.0
    squares = sum((x - middle) ** 2 for x in logs)
    return math.sqrt((weight * prior**2 + squares) / (weight + max(len(logs) - 1, 0)))


def shared_factor(
    logs: Sequence[float], variances: Sequence[float], prior: float
) -> tuple[float, float]:
    """Mean and spread of the log factor that a maker's formulas share, shrunk towards none.

    Parameters
    ----------
    logs : sequence of float
        Logarithm of measured over predicted, one for each formula.
    variances : sequence of float
        Variance of each beside the shared factor: the formula's own share and its batch scatter.
    prior : float
        Log spread of such factors among makers; their mean is 0.

    Returns
    -------
    tuple of float
        Posterior mean and standard deviation of the log factor; (0, prior) without any formula.

    Raises
    ------
    ValueError
        If the lists differ in length or a spread is not above zero.

    Notes
    -----
    Normal likelihood with a normal prior: precisions add, means are weighted by precision. One
    formula moves the factor part of the way, many move it nearly all of it.

    References
    ----------
    Gelman A. et al., Bayesian Data Analysis, 3rd ed. (2013), section 2.5 (recalled).

    Examples
    --------
    >>> mean, spread = shared_factor([math.log(2.0)], [0.18], 0.745)
    >>> round(math.exp(mean), 2), round(spread, 2)
    (1.69, 0.37)
    """
    if len(logs) != len(variances) or prior <= 0.0 or any(v <= 0.0 for v in variances):
        raise ValueError("one variance above zero for each logarithm, and a prior above zero")
    precision = 1.0 / prior**2 + sum(1.0 / v for v in variances)
    mean = sum(x / v for x, v in zip(logs, variances, strict=True)) / precision
    return mean, math.sqrt(1.0 / precision)
