"""How thick water is with the polyols in it, before any gum."""

from __future__ import annotations

import numpy as np

from kb.engine.batch import Phases, is_water
from kb.engine.sampling import Sampler
from kb.science import associated, blending
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

WATER_MPA_S, _WATER_DENSITY = 0.89, 0.997
#: A polyol thinner than this mixes with water as propylene glycol does, not as glycerin, mPa.s.
_GLYCOL_BELOW = 200.0


def thickens(material: str, base: Snapshot) -> bool:
    """Tell whether a material is there to thicken water: a gum or a polymer."""
    return (
        base.does(material, "water-thickener") >= 0.4
        or base.does(material, "ow-emulsifier-polymeric") >= 0.4
    )


def water_with_polyols(phases: Phases, draw: Sampler, base: Snapshot) -> Array:
    """Return the viscosity of the water and the polyols in it, without gums, mPa.s.

    Glycerin and its like by the blending index by volume, glycols with water by their interaction;
    what is dissolved as a solid or a syrup thickens as spheres of its own mass would.
    """
    total = max(phases.water_mass, 1e-9)
    plain = np.full(draw.count, WATER_MPA_S / _WATER_DENSITY)
    liquids = [(1e-9, np.full(draw.count, _WATER_DENSITY), plain)]
    glycols: list[tuple[float, Array, Array]] = []
    crowd = 0.0
    for share in phases.water:
        if thickens(share.material, base):
            continue
        density = draw.need(share.material, "density", (0.98, 1.0, 1.3))
        if is_water(share.material, base):
            liquids.append((share.percent, density, plain))
        elif base.does(share.material, "polyol-humectant"):
            known = base.known(share.material, "viscosity")
            if known is None or base.materials[share.material].form != "liquid":
                crowd += share.percent / total
                continue
            eta = draw.need(share.material, "viscosity", (WATER_MPA_S,) * 3)
            kind = glycols if known.value < _GLYCOL_BELOW else liquids
            kind.append((share.percent, density, eta / density))
    masses, densities, nus = (
        np.stack([np.broadcast_to(c, draw.count) for c in column])
        for column in zip(*liquids, strict=True)
    )
    nu = np.asarray(blending.blend_kinematic(masses / densities, nus))
    mass, volume = masses.sum(axis=0), (masses / densities).sum(axis=0)
    if glycols:
        own = sum(percent for percent, _, _ in glycols)
        thick = blending.blend_log_mass(
            [percent for percent, _, _ in glycols], np.stack([n for _, _, n in glycols])
        )
        part = own / (own + mass)
        nu = np.asarray(
            associated.grunberg_nissan(part, thick, nu, associated.PROPYLENE_GLYCOL_WATER)
        )
        mass = mass + own
        volume = volume + sum(percent / density for percent, density, _ in glycols)
    return np.asarray(nu * mass / volume * (1.0 + 2.5 * crowd))
