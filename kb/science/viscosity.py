"""Viscosity of one liquid: over temperature; kinematic and dynamic, which are not the same."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from kb.science.numbers import (
    ZERO_CELSIUS,
    Array,
    Column,
    Number,
    as_array,
    components,
    forbid,
    tidy,
)

FAMILY_SLOPE: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {
        "triglyceride": (3.0, 2.8, 3.1),
        "hydrocarbon": (4.2, 3.8, 4.6),
        "light ester": (4.1, 3.1, 5.3),
        "liquid fatty alcohol": (4.4, 4.3, 4.5),
        "hydroxy triglyceride": (3.3, 2.6, 3.9),
        "glycol": (4.2, 3.5, 4.8),
    }
)
"""Slope B of the double-logarithm law by family: value and 90 percent range.

Fits to 22 oils with four or more temperatures lie wider, 2.6-3.4 for triglycerides; the range here
holds nine in ten of the published values from one value near 25 degC, 10 to 60 degC. Mean error
there: triglycerides and squalane 4 percent; glycols and castor oil, whose sources disagree (2.5 to
3.9), 9. Light esters (fit 4.8 percent) and fatty alcohols (0.6) as fitted.
"""


def _kelvin(t_c: Number) -> Array:
    t = as_array(t_c) + ZERO_CELSIUS
    forbid(t <= 0.0, "temperature must be above absolute zero")
    return t


def _double_log(nu: Number) -> Array:
    v = as_array(nu)
    forbid(v <= 0.3, "kinematic viscosity must be above 0.3 mm2/s")
    return np.asarray(np.log10(np.log10(v + 0.7)))


def at_temperature(nu: Number, t_from_c: Number, t_to_c: Number, slope: Number) -> Array:
    """Kinematic viscosity at another temperature by the double-logarithm law.

    Parameters
    ----------
    nu : float or array
        Kinematic viscosity at the first temperature [mm2/s], above 0.3.
    t_from_c, t_to_c : float or array
        Temperatures [degC].
    slope : float or array
        Slope B, from slope_from_two or FAMILY_SLOPE.

    Returns
    -------
    ndarray
        Kinematic viscosity at the second temperature [mm2/s].

    Raises
    ------
    ValueError
        If the viscosity is 0.3 or less or a temperature is below absolute zero.

    Notes
    -----
    0-60 degC for liquids above their cloud point; 1.7 percent mean error when B is fitted.

    References
    ----------
    Walther C., Maschinenbau 10 (1931) 671; ASTM D341 with the constant 0.7.

    Examples
    --------
    >>> [round(float(at_temperature(63.0, 25.0, t, 3.0)), 1) for t in (4.0, 10.0, 40.0)]
    [175.5, 127.0, 35.4]
    """
    shift = as_array(slope) * (np.log10(_kelvin(t_to_c)) - np.log10(_kelvin(t_from_c)))
    return tidy(np.asarray(10.0 ** (10.0 ** (_double_log(nu) - shift)) - 0.7))


def slope_from_two(nu_1: Number, t_1_c: Number, nu_2: Number, t_2_c: Number) -> Array:
    """Slope of the double-logarithm law through two measurements.

    Parameters
    ----------
    nu_1, nu_2 : float or array
        Kinematic viscosities [mm2/s], above 0.3.
    t_1_c, t_2_c : float or array
        Their temperatures [degC].

    Returns
    -------
    ndarray
        Slope B.

    Raises
    ------
    ValueError
        If the temperatures are equal or an input is out of range.

    References
    ----------
    ASTM D341.

    Examples
    --------
    >>> round(float(slope_from_two(63.0, 25.0, 128.8, 10.0)), 2)
    3.05
    """
    t_1, t_2 = _kelvin(t_1_c), _kelvin(t_2_c)
    forbid(t_1 == t_2, "two different temperatures are needed")
    drop = _double_log(nu_1) - _double_log(nu_2)
    return tidy(np.asarray(drop / (np.log10(t_2) - np.log10(t_1))))


def vogel(t_c: Number, a: Number, b: Number, c: Number) -> Array:
    """Dynamic viscosity by Vogel's equation, natural logarithm.

    Parameters
    ----------
    t_c : float or array
        Temperature [degC].
    a : float or array
        Constant A [ln of mPa s].
    b : float or array
        Constant B [K].
    c : float or array
        Constant C [K], below the temperature.

    Returns
    -------
    ndarray
        exp(A + B/(T - C)) [mPa s].

    Raises
    ------
    ValueError
        If the temperature is not above C.

    References
    ----------
    Vogel H., Phys. Z. 22 (1921) 645.

    Examples
    --------
    >>> round(float(vogel(20.0, -1.5318 * 2.302585, 220.57 * 2.302585, 149.39)), 4)
    1.0058
    """
    gap = _kelvin(t_c) - as_array(c)
    forbid(gap <= 0.0, "temperature must be above the constant C")
    return tidy(np.asarray(np.exp(as_array(a) + as_array(b) / gap)))


def vogel_decimal(t_c: Number, a: Number, b: Number, c: Number) -> Array:
    """Dynamic viscosity by Vogel's equation as tabulated with decimal logarithms.

    Parameters
    ----------
    t_c : float or array
        Temperature [degC].
    a : float or array
        Constant A [log10 of mPa s].
    b : float or array
        Constant B [K], negative in these tables.
    c : float or array
        Constant C [K].

    Returns
    -------
    ndarray
        10^(A + B/(C - T)) [mPa s].

    Raises
    ------
    ValueError
        If the temperature is not above C.

    References
    ----------
    Viswanath D.S., Natarajan G., Data Book on the Viscosity of Liquids (1989).

    Examples
    --------
    >>> round(float(vogel_decimal(25.0, -1.5578, -375.97, 76.83)), 4)
    1.3834
    """
    ln10 = float(np.log(10.0))
    return vogel(t_c, ln10 * as_array(a), -ln10 * as_array(b), c)


def vogel_through(t_c: Column, viscosities: Column) -> tuple[Array, Array, Array]:
    """Constants of Vogel's equation through three measurements.

    Parameters
    ----------
    t_c : array
        Three temperatures along axis 0, rising [degC].
    viscosities : array
        Viscosities there, falling.

    Returns
    -------
    a, b, c : ndarray
        Constants for vogel, in the unit of the viscosities.

    Raises
    ------
    ValueError
        If there are not three of each, temperatures do not rise, viscosities do not fall, or no
        curve of this form passes through them.

    References
    ----------
    Vogel H. (1921), solved in closed form.

    Examples
    --------
    >>> a, b, c = vogel_through([0.0, 20.0, 40.0], [116.6, 35.3, 15.4])
    >>> round(float(vogel(60.0, float(a), float(b), float(c))), 2)
    8.37
    """
    temperatures, eta = components(t_c, viscosities)
    forbid(eta <= 0.0, "viscosity must be above zero")
    forbid(temperatures.shape[0] != 3 or eta.shape[0] != 3, "three measurements are needed")
    t_1, t_2, t_3 = _kelvin(temperatures)
    y_1, y_2, y_3 = np.log(eta)
    forbid((t_2 <= t_1) | (t_3 <= t_2), "temperatures must rise")
    forbid((y_2 >= y_1) | (y_3 >= y_2), "viscosity must fall as the temperature rises")
    ratio = (y_1 - y_2) * (t_3 - t_2) / ((y_2 - y_3) * (t_2 - t_1))
    forbid(ratio <= 1.0, "the logarithm of viscosity must flatten as the temperature rises")
    c = (ratio * t_1 - t_3) / (ratio - 1.0)
    b = (y_1 - y_2) * (t_1 - c) * (t_2 - c) / (t_2 - t_1)
    return tidy(np.asarray(y_1 - b / (t_1 - c))), tidy(np.asarray(b)), tidy(np.asarray(c))


def dynamic(nu: Number, density: Number) -> Array:
    """Dynamic viscosity from kinematic.

    Parameters
    ----------
    nu : float or array
        Kinematic viscosity [mm2/s].
    density : float or array
        Density [g/ml].

    Returns
    -------
    ndarray
        Dynamic viscosity [mPa s].

    Raises
    ------
    ValueError
        If the viscosity is negative or the density not above zero.

    Examples
    --------
    >>> round(float(dynamic(3.329, 0.754)), 2)
    2.51
    """
    v, rho = as_array(nu), as_array(density)
    forbid(v < 0.0, "viscosity must not be negative")
    forbid(rho <= 0.0, "density must be above zero")
    return tidy(np.asarray(v * rho))


def kinematic(eta: Number, density: Number) -> Array:
    """Kinematic viscosity from dynamic.

    Parameters
    ----------
    eta : float or array
        Dynamic viscosity [mPa s].
    density : float or array
        Density [g/ml].

    Returns
    -------
    ndarray
        Kinematic viscosity [mm2/s].

    Raises
    ------
    ValueError
        If the viscosity is negative or the density not above zero.

    Examples
    --------
    >>> round(float(kinematic(35.3, 0.805)), 2)
    43.85
    """
    e, rho = as_array(eta), as_array(density)
    forbid(e < 0.0, "viscosity must not be negative")
    forbid(rho <= 0.0, "density must be above zero")
    return tidy(np.asarray(e / rho))
