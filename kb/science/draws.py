"""Draws of uncertain values that repeat: one fixed column of points for each key.

A fact keeps its column before and after a swap, so an error both formulas share cancels in the
difference, and the order of lines does not matter. Shifting one common sequence by key would leave
each column a function of every other; here each key shuffles its own evenly spaced points.
"""

from hashlib import blake2b

import numpy as np

from kb.science.numbers import Array, Number, as_array, forbid, tidy

TAIL = 0.05
"""Probability below the low and above the high end of a range: ranges hold 90 percent."""

_TAIL_SCORE = 1.6448536269514722
"""Standard normal score of the upper tail."""

_CENTRE = (
    (2509.0809287301227, 33430.57558358813, 67265.7709270087, 45921.95393154987,
     13731.69376550946, 1971.5909503065513, 133.14166789178438, 3.3871328727963665),
    (5226.495278852854, 28729.085735721943, 39307.89580009271, 21213.794301586597,
     5394.196021424751, 687.1870074920579, 42.31333070160091, 1.0),
)  # fmt: skip
_FLANK = (
    (7.745450142783414e-4, 0.022723844989269184, 0.2417807251774506, 1.2704582524523684,
     3.6478483247632045, 5.769497221460691, 4.630337846156546, 1.4234371107496835),
    (1.0507500716444169e-9, 5.475938084995345e-4, 0.015198666563616457, 0.14810397642748008,
     0.6897673349851, 1.6763848301838038, 2.053191626637759, 1.0),
)  # fmt: skip
_FAR = (
    (2.0103343992922881e-7, 2.7115555687434876e-5, 0.0012426609473880784, 0.026532189526576124,
     0.29656057182850487, 1.7848265399172913, 5.463784911164114, 6.657904643501103),
    (2.0442631033899397e-15, 1.421511758316446e-7, 1.8463183175100548e-5, 7.868691311456133e-4,
     0.014875361290850615, 0.1369298809227358, 0.599832206555888, 1.0),
)  # fmt: skip


def points(key: str, count: int) -> Array:
    """Return the fixed points of a key.

    Parameters
    ----------
    key : str
        What the column belongs to, such as material and property.
    count : int
        Number of draws, at least 1.

    Returns
    -------
    ndarray
        The middles of count equal steps between 0 and 1, in an order that depends on the key alone.
        A single draw is 0.5, the median.

    Raises
    ------
    ValueError
        If the count is below 1.

    Notes
    -----
    Each column is as even as can be; two keys are independent but for chance, a correlation of the
    order of 1/sqrt(count). Same key, same column on every machine and numpy version.

    References
    ----------
    McKay M.D., Beckman R.J., Conover W.J., Technometrics 21 (1979) 239; mixing function Steele
    G.L. et al., OOPSLA (2014).

    Examples
    --------
    >>> sorted(points("beeswax melting point", 4).tolist())
    [0.125, 0.375, 0.625, 0.875]
    """
    forbid(count < 1, "at least one draw is needed")
    seed = int.from_bytes(blake2b(key.encode("utf-8"), digest_size=8).digest(), "little")
    steps = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    z = steps + np.uint64(seed)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    order = np.argsort(z ^ (z >> np.uint64(31)), kind="stable")
    return np.asarray((order + 0.5) / count, dtype=np.float64)


def normal_score(probability: Number) -> Array:
    """Quantile of the standard normal distribution.

    Parameters
    ----------
    probability : float or array
        Above 0 and below 1.

    Returns
    -------
    ndarray
        Standard normal score.

    Raises
    ------
    ValueError
        If a probability is not above 0 and below 1.

    Notes
    -----
    Relative error about 1e-16.

    References
    ----------
    Wichura M.J., Appl. Stat. 37 (1988) 477, algorithm AS 241.

    Examples
    --------
    >>> round(float(normal_score(0.95)), 4)
    1.6449
    """
    p = as_array(probability)
    forbid((p <= 0.0) | (p >= 1.0), "probability must lie above 0 and below 1")
    q = p - 0.5
    centre = np.abs(q) <= 0.425
    r = 0.180625 - q * q
    inner = q * np.polyval(_CENTRE[0], r) / np.polyval(_CENTRE[1], r)
    tail = np.sqrt(-np.log(np.where(centre, 0.5, np.minimum(p, 1.0 - p))))
    near, far = tail - 1.6, tail - 5.0
    flank = np.polyval(_FLANK[0], near) / np.polyval(_FLANK[1], near)
    outer = np.polyval(_FAR[0], far) / np.polyval(_FAR[1], far)
    size = np.where(tail <= 5.0, flank, outer)
    return tidy(np.asarray(np.where(centre, inner, np.copysign(size, q) + 0.0 * q)))


def _ordered(low: Number, value: Number, high: Number) -> tuple[Array, Array, Array]:
    a, m, b = as_array(low), as_array(value), as_array(high)
    forbid((m < a) | (b < m), "a value must lie within its range")
    return a, m, b


def normal_between(low: Number, value: Number, high: Number, at: Number) -> Array:
    """Draws from two half normal distributions that meet at the value.

    Parameters
    ----------
    low, value, high : float or array
        Range that holds 90 percent, and the value, which is the median.
    at : float or array
        Points from points, above 0 and below 1.

    Returns
    -------
    ndarray
        Draws; 5 percent lie below low and 5 percent above high.

    Raises
    ------
    ValueError
        If the value lies outside its range or a point outside 0 to 1.

    Examples
    --------
    >>> [round(float(normal_between(2.6, 3.0, 3.8, u)), 2) for u in (0.05, 0.5, 0.95)]
    [2.6, 3.0, 3.8]
    """
    a, m, b = _ordered(low, value, high)
    z = normal_score(at)
    side = np.where(z < 0.0, m - a, b - m) + 0.0 * (a + b)
    return tidy(np.asarray(m + z / _TAIL_SCORE * side))


def lognormal_between(low: Number, value: Number, high: Number, at: Number) -> Array:
    """Draws of a positive quantity whose range is one of factors (x/÷).

    Parameters
    ----------
    low, value, high : float or array
        Range that holds 90 percent, and the median, all above zero.
    at : float or array
        Points, above 0 and below 1.

    Returns
    -------
    ndarray
        Draws, all above zero.

    Raises
    ------
    ValueError
        If low is not above zero, or as in normal_between.

    Examples
    --------
    >>> [round(float(lognormal_between(0.05, 0.2, 1.0, u)), 3) for u in (0.05, 0.5, 0.95)]
    [0.05, 0.2, 1.0]
    """
    a, m, b = _ordered(low, value, high)
    forbid(a <= 0.0, "the low end of a range of factors must be above zero")
    return tidy(np.asarray(np.exp(normal_between(np.log(a), np.log(m), np.log(b), at))))


def triangular_between(low: Number, value: Number, high: Number, at: Number) -> Array:
    """Draws from a triangular distribution, for quantities with hard ends.

    Parameters
    ----------
    low, value, high : float or array
        Range that holds 90 percent, and the most likely value.
    at : float or array
        Points, 0 to 1.

    Returns
    -------
    ndarray
        Draws; 5 percent lie below low and 5 percent above high.

    Raises
    ------
    ValueError
        If the value lies outside its range or a point outside 0 to 1.

    Notes
    -----
    The triangle reaches beyond the range by what its two tails of 5 percent need.

    Examples
    --------
    >>> [round(float(triangular_between(2.0, 3.0, 5.0, u)), 3) for u in (0.05, 0.95)]
    [2.0, 5.0]
    """
    a, m, b = _ordered(low, value, high)
    u = as_array(at)
    forbid((u < 0.0) | (u > 1.0), "a point must lie between 0 and 1")
    left, right = m - a, b - m
    width = 1.5 * (left + right)
    for _ in range(12):
        half = 0.5 * TAIL * width
        root_left = np.sqrt(half * (2.0 * left + half))
        root_right = np.sqrt(half * (2.0 * right + half))
        gap = left + right + 2.0 * half + root_left + root_right - width
        bend_left = (left + half) / np.where(root_left > 0.0, root_left, 1.0)
        bend_right = (right + half) / np.where(root_right > 0.0, root_right, 1.0)
        slope = TAIL - 1.0 + 0.5 * TAIL * (bend_left + bend_right)
        width = width - gap / slope
    half = 0.5 * TAIL * width
    p = left + half + np.sqrt(half * (2.0 * left + half))
    q = right + half + np.sqrt(half * (2.0 * right + half))
    down = m - p + np.sqrt(u * width * p)
    up = m + q - np.sqrt((1.0 - u) * width * q)
    return tidy(np.asarray(np.where(u * width <= p, down, up)))


def quantile_range(draws: Array) -> tuple[Array, Array]:
    """Range that holds 90 percent of the draws.

    Parameters
    ----------
    draws : ndarray
        Draws along the last axis.

    Returns
    -------
    low, high : ndarray
        5 and 95 percent quantiles; NaN where a draw is NaN.

    Raises
    ------
    ValueError
        If there is no draw.

    Examples
    --------
    >>> low, high = quantile_range(np.arange(101.0))
    >>> round(float(low), 6), round(float(high), 6)
    (5.0, 95.0)
    """
    values = np.atleast_1d(as_array(draws))
    forbid(values.shape[-1] == 0, "at least one draw is needed")
    low, high = np.quantile(values, (TAIL, 1.0 - TAIL), axis=-1)
    return tidy(np.asarray(low)), tidy(np.asarray(high))
