"""Consistency over the climates a product meets, from a profile that is made already."""

from __future__ import annotations

from kb.engine.body import Body
from kb.engine.oilphase import OilPhase
from kb.engine.profile import TEMPERATURES_C, Profile
from kb.engine.quantity import Quantity
from kb.store.snapshot import Snapshot


def consistency_over_climate(profile: Profile, base: Snapshot) -> dict[float, Quantity]:
    """Return the apparent consistency at each temperature, mPa.s, with the profile's draws.

    Parameters
    ----------
    profile : Profile
    base : Snapshot

    Returns
    -------
    dict
        Temperature in degC to quantity. The factor by which all absolute figures may be off is
        left out, so that the ranges show what differs between the temperatures.
    """
    draw = profile.sampler
    oil = OilPhase(profile.phases.oil, base, draw)
    states = {} if oil.empty else {t: oil.at(t) for t in TEMPERATURES_C}
    body = Body(profile.batch, profile.phases, profile.species, profile.system, oil, draw, base)
    found: dict[float, Quantity] = {}
    for t in TEMPERATURES_C:
        state = body.at(t, states)
        if state is not None:
            found[t] = Quantity(f"consistency_{t:.0f}c", state[0], "mPa.s", "consistency")
    return found
