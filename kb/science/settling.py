"""Particles and drops that sink or rise, and the yield stress that holds them."""

import numpy as np
import numpy.typing as npt

from kb.science.numbers import GRAVITY, Array, Number, as_array, forbid, tidy

SECONDS_PER_DAY = 86400.0

HINDERED_EXPONENT = 4.65
"""Exponent of hindered settling at low Reynolds number (Richardson and Zaki 1954)."""

ARREST = 0.0477
"""Yield over (density difference, gravity, diameter) at which a sphere stops (Beris 1985)."""

ARREST_DESIGN = 0.2
"""The same, high end of what experiments report; design on this (Chhabra 2007)."""

SURE_YIELD = 1.0
"""Predicted yield at the warmest temperature above which "held" may be said [Pa]."""


def stokes(diameter_um: Number, density: Number, fluid_density: Number, eta_mpa_s: Number) -> Array:
    """Velocity of a single sphere in a liquid.

    Parameters
    ----------
    diameter_um : float or array
        Diameter of the particle, agglomerate or drop [um].
    density : float or array
        Its density [kg/m3].
    fluid_density : float or array
        Density of the liquid [kg/m3].
    eta_mpa_s : float or array
        Viscosity of the liquid at rest [mPa s], not that at 10 1/s.

    Returns
    -------
    ndarray
        Velocity [mm/day], positive downwards.

    Raises
    ------
    ValueError
        If the diameter is negative, or a density or the viscosity not above zero.

    Notes
    -----
    Particle size enters squared: the speed is worth x/÷ 3.

    References
    ----------
    Stokes G.G., Trans. Camb. Phil. Soc. 9 (1851) 8.

    Examples
    --------
    >>> round(float(stokes(1.0, 5600.0, 920.0, 28.0)), 2)
    7.87
    """
    d, eta = as_array(diameter_um), as_array(eta_mpa_s)
    rho, fluid = as_array(density), as_array(fluid_density)
    forbid(d < 0.0, "diameter must not be negative")
    forbid((rho <= 0.0) | (fluid <= 0.0), "density must be above zero")
    forbid(eta <= 0.0, "viscosity must be above zero")
    metres_per_second = (rho - fluid) * GRAVITY * (1e-6 * d) ** 2 / (18.0 * 1e-3 * eta)
    return tidy(np.asarray(metres_per_second * 1000.0 * SECONDS_PER_DAY))


def richardson_zaki(phi: Number, exponent: Number) -> Array:
    """Factor by which neighbours slow a particle down.

    Parameters
    ----------
    phi : float or array
        Volume fraction of particles.
    exponent : float or array
        Exponent, see HINDERED_EXPONENT.

    Returns
    -------
    ndarray
        (1 - phi)^exponent.

    Raises
    ------
    ValueError
        If the fraction lies outside 0 to 1 or the exponent is negative.

    References
    ----------
    Richardson J.F., Zaki W.N., Trans. Inst. Chem. Eng. 32 (1954) 35.

    Examples
    --------
    >>> round(float(richardson_zaki(0.3, 4.65)), 3)
    0.19
    """
    p, n = as_array(phi), as_array(exponent)
    forbid((p < 0.0) | (p > 1.0), "volume fraction must lie between 0 and 1")
    forbid(n < 0.0, "exponent must not be negative")
    return tidy(np.asarray((1.0 - p) ** n))


def yield_to_hold(
    diameter_um: Number, density: Number, fluid_density: Number, criterion: Number
) -> Array:
    """Yield stress that keeps a particle where it is.

    Parameters
    ----------
    diameter_um : float or array
        Diameter [um].
    density, fluid_density : float or array
        Densities of particle and liquid [kg/m3].
    criterion : float or array
        ARREST, or ARREST_DESIGN to be safe.

    Returns
    -------
    ndarray
        Yield stress needed [Pa].

    Raises
    ------
    ValueError
        If the diameter or the criterion is negative or a density not above zero.

    References
    ----------
    Beris A.N. et al., J. Fluid Mech. 158 (1985) 219; Chhabra R.P., Bubbles, Drops and Particles in
    Non-Newtonian Fluids (2007).

    Examples
    --------
    >>> round(float(yield_to_hold(10.0, 5600.0, 920.0, 0.0477)), 4)
    0.0219
    """
    d, y = as_array(diameter_um), as_array(criterion)
    rho, fluid = as_array(density), as_array(fluid_density)
    forbid(d < 0.0, "diameter must not be negative")
    forbid((rho <= 0.0) | (fluid <= 0.0), "density must be above zero")
    forbid(y < 0.0, "criterion must not be negative")
    return tidy(np.asarray(y * np.abs(rho - fluid) * GRAVITY * 1e-6 * d))


def state(
    tau_yield: Number, tau_least: Number, tau_design: Number, tau_sure: Number
) -> npt.NDArray[np.str_]:
    """Whether particles stay where they are, in a word.

    Parameters
    ----------
    tau_yield : float or array
        Predicted yield stress at the warmest temperature [Pa].
    tau_least : float or array
        Yield needed by the least demanding criterion [Pa].
    tau_design : float or array
        Yield needed by the design criterion [Pa].
    tau_sure : float or array
        Yield below which a prediction is not trusted, see SURE_YIELD [Pa].

    Returns
    -------
    ndarray of str
        "held", "settles", "uncertain" or "unknown" (an input is NaN).

    Raises
    ------
    ValueError
        If a stress is negative or the design need lies below the least need.

    Notes
    -----
    A yield near 0.1 Pa cannot be predicted within x/÷ 5, so "held" needs more than tau_sure.

    Examples
    --------
    >>> state(np.array([18.0, 0.0, 0.3]), 0.0219, 0.092, 1.0).tolist()
    ['held', 'settles', 'uncertain']
    """
    tau, least = as_array(tau_yield), as_array(tau_least)
    design, sure = as_array(tau_design), as_array(tau_sure)
    forbid((tau < 0.0) | (least < 0.0) | (sure < 0.0), "yield stress must not be negative")
    forbid(design < least, "the design need must not lie below the least need")
    held = (tau > sure) & (tau >= design)
    known = ~np.isnan(tau + least + design + sure)
    word = np.where(held, "held", np.where(tau < least, "settles", "uncertain"))
    return np.asarray(np.where(known, word, "unknown"), dtype=np.str_)
