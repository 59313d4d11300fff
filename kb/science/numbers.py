"""What the other modules share: the number types, right-hand broadcasting, the refusal."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Number = float | Array
Column = Array | Sequence[float] | Sequence[Array]

GAS_CONSTANT = 8.314462618
"""Molar gas constant, J/(mol K) (exact since 2019)."""

ZERO_CELSIUS = 273.15
"""0 degrees Celsius in kelvin."""

GRAVITY = 9.80665
"""Standard acceleration of free fall, m/s2."""


def as_array(value: Number | Column) -> Array:
    """Return the value as a float64 array, without a copy where it is one already.

    Parameters
    ----------
    value : float or array
        Anything numeric.

    Returns
    -------
    ndarray
        The same numbers.

    Examples
    --------
    >>> as_array([1, 2]).tolist()
    [1.0, 2.0]
    """
    return np.asarray(value, dtype=np.float64)


def tidy(value: Array) -> Array:
    """Turn a result without axes into a plain number and leave any other as it is.

    Parameters
    ----------
    value : ndarray
        A result.

    Returns
    -------
    ndarray
        The same numbers; a numpy float, which is a Python float, where there is only one.

    Examples
    --------
    >>> isinstance(tidy(as_array(2.5)), float)
    True
    """
    result: Array = value[()]
    return result


def forbid(bad: Flags | np.bool_ | bool, message: str) -> None:
    """Raise ValueError where any element is bad; a comparison with NaN is never bad.

    Parameters
    ----------
    bad : ndarray of bool
        True for each impossible element.
    message : str
        What was wanted.

    Raises
    ------
    ValueError
        If any element is True.

    Examples
    --------
    >>> forbid(as_array([1.0, float("nan")]) < 0.0, "mass must not be negative")
    """
    if bad.any() if isinstance(bad, np.ndarray) else bad:
        raise ValueError(message)


def falling(steps: Array) -> Array:
    """Logistic curve from 1 far below zero to 0 far above it.

    Parameters
    ----------
    steps : ndarray
        Distance from the middle.

    Returns
    -------
    ndarray
        1/(1 + e^steps), without overflow.

    Examples
    --------
    >>> float(falling(as_array(0.0)))
    0.5
    """
    return np.asarray(1.0 / (1.0 + np.exp(np.minimum(steps, 700.0))))


def components(*columns: Number | Column, trailing: int = 0) -> tuple[Array, ...]:
    """Pad columns on the right, so that axis 0 stays the axis of components.

    Parameters
    ----------
    *columns : array
        Each with components along axis 0, or a single number for all of them.
    trailing : int
        Axes behind that of the components that the result must have room for.

    Returns
    -------
    tuple of ndarray
        The same columns with the same number of axes, ready to broadcast.

    Examples
    --------
    >>> masses, draws = components([1.0, 2.0], np.ones((2, 5)))
    >>> masses.shape, (masses * draws).shape
    ((2, 1), (2, 5))
    """
    arrays = [as_array(column) for column in columns]
    axes = max(1 + trailing, *(array.ndim for array in arrays))
    return tuple(
        array.reshape(array.shape + (1,) * (axes - array.ndim)) if array.ndim else array
        for array in arrays
    )


def weighted_mean(weights: Number | Column, values: Number | Column) -> Array:
    """Return the mean of the values along axis 0, weighted.

    Parameters
    ----------
    weights : array
        Weights, not negative, not all zero; need not add up to one.
    values : array
        Values of the components.

    Returns
    -------
    ndarray
        The weighted mean.

    Raises
    ------
    ValueError
        If a weight is negative or all are zero.

    Examples
    --------
    >>> float(weighted_mean([1.0, 3.0], [10.0, 20.0]))
    17.5
    """
    w, v = components(weights, values)
    forbid(w < 0.0, "amounts must not be negative")
    w, v = np.broadcast_arrays(w, v)
    total = w.sum(axis=0)
    forbid(total <= 0.0, "at least one amount must be above zero")
    return tidy(np.asarray((w * v).sum(axis=0) / total))
