"""How thick the liquids of an oil phase are together, and how well that is known."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from kb.engine.sampling import Sampler
from kb.science import associated, blending
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

#: Roles of the liquids whose blends follow a rule of their own.
ALCOHOL, HYDROCARBON = "branched-fatty-alcohol", "nonpolar-oil"
#: Molar mass as (low, value, high) where a liquid has no fact of its own, g/mol.
MOLAR_MASS = (300.0, 500.0, 880.0)


def blended(
    materials: Sequence[str], w: Array, nu: Array, base: Snapshot, draw: Sampler
) -> tuple[Array, Array]:
    """Return the kinematic viscosity of liquids together (mm2/s) and the factor it is known to.

    Parameters
    ----------
    materials : sequence of str
        The liquids, in the order of the rows below.
    w, nu : ndarray
        Mass fractions and kinematic viscosities; behind the liquids' rows stands one for what is
        dissolved in them.
    base : Snapshot
    draw : Sampler
    """
    alcohols, hydrocarbons = (_which(materials, role, base) for role in (ALCOHOL, HYDROCARBON))
    share = np.minimum((w * hydrocarbons).sum(axis=0), 1.0)
    weights = w.copy()
    if alcohols.any() and hydrocarbons.any():
        molar = np.stack([draw.need(material, "molar_mass", MOLAR_MASS) for material in materials])
        both = np.flatnonzero(alcohols + hydrocarbons)
        scaled = associated.alcohol_weights(w[both], molar[both], alcohols[both, 0])
        # Only as far as the alcohols stand in hydrocarbons and not in other oils.
        among = share / np.maximum(1.0 - (w * alcohols).sum(axis=0), 1e-9)
        weights[both] = w[both] * (scaled / w[both]) ** np.minimum(among, 1.0)
    index = np.asarray(blending.blend_kinematic(weights, nu))
    plain = np.asarray(blending.blend_kinematic(w, nu))
    log_mass = np.asarray(blending.blend_log_mass(w, nu))
    return index, np.asarray(blending.mixing_error(w, share, log_mass / plain))


def _which(materials: Sequence[str], role: str, base: Snapshot) -> Array:
    """Return 1 for each liquid that plays a role, 0 for the rest and for what is dissolved."""
    return np.array([[float(base.does(m, role) >= 0.5)] for m in materials] + [[0.0]])
