"""Why a figure is what it is: its equation, its inputs, and what its range comes from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.engine.batch import Batch
from kb.engine.profile import Profile, make_profile
from kb.errors import UnknownNameError
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

_DRAWS = 1024
_LEAST_SHARE = 0.03
#: Facts each quantity is worked out from.
INPUTS: dict[str, tuple[str, ...]] = {
    "hlb": ("hlb",),
    "required_hlb": ("required_hlb_wo", "required_hlb_ow"),
    "oil_viscosity_25c": ("viscosity", "density"),
    "consistency_25c": (
        "viscosity",
        "density",
        "critical_gelling_concentration",
        "molar_mass",
        "oil_absorption",
        "gel_viscosity",
    ),
    "oil_binding": ("critical_gelling_concentration", "crystal_habit", "melting_point"),
    "climate_drift_10_over_40": (
        "viscosity_slope",
        "critical_gelling_concentration",
        "melting_point",
        "molar_mass",
    ),
    "solids_10c": ("molar_mass", "melting_point", "fusion_enthalpy"),
    "solids_25c": ("molar_mass", "melting_point", "fusion_enthalpy"),
    "solids_40c": ("molar_mass", "melting_point", "fusion_enthalpy"),
    "dispersed_fraction": ("density",),
    "density": ("density",),
    "powder_volume": ("density",),
    "water_phase_ph": ("pka",),
    "water_activity": ("molar_mass", "norrish_k"),
    "free_preservative": ("partition_oil_water", "log_p", "pka", "minimum_effective_level"),
    "natural_origin": ("natural_origin_index",),
    "oxidation": ("polyunsaturates", "iodine_value"),
    "feel": ("spreading_value", "viscosity", "refractive_index"),
    "settling": ("particle_size", "density", "viscosity"),
    "cost": (),
}
#: Quantities that come from one phase alone; the rest look at all.
_PHASE = {
    **dict.fromkeys(
        (
            "required_hlb",
            "oil_viscosity_25c",
            "oil_binding",
            "climate_drift_10_over_40",
            "solids_10c",
            "solids_25c",
            "solids_40c",
            "oxidation",
        ),
        "oil",
    ),
    "water_activity": "water",
    "water_phase_ph": "water",
}


@dataclass(frozen=True, slots=True)
class Input:
    """One fact behind a quantity."""

    ingredient: str
    percent: float
    property: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    evidence: str


@dataclass(frozen=True, slots=True)
class Reason:
    """Where a quantity comes from: inputs, and the shares of its spread."""

    quantity: str
    profile: Profile
    inputs: tuple[Input, ...]
    dominates: tuple[tuple[str, float], ...]


def why_quantity(batch: Batch, quantity: str, base: Snapshot) -> Reason:
    """Explain one quantity of a batch.

    ``dominates`` gives, per fact or model error, its share of the spread: the squared rank
    correlation of its draws with those of the quantity.
    """
    if quantity not in INPUTS:
        from rapidfuzz import process

        near = tuple(n for n, _, _ in process.extract(quantity, list(INPUTS), limit=3))
        raise UnknownNameError(
            f"There is no quantity {quantity!r}.", "", "Did you mean " + ", ".join(near) + "?", near
        )
    profile = make_profile(batch, base, _DRAWS)
    return Reason(
        quantity, profile, _inputs(profile, quantity, base), _dominating(profile, quantity)
    )


def _inputs(profile: Profile, quantity: str, base: Snapshot) -> tuple[Input, ...]:
    found = []
    phases = (_PHASE[quantity],) if quantity in _PHASE else ("oil", "water", "powder")
    shares = [share for phase in phases for share in getattr(profile.phases, phase)]
    for share in sorted(shares, key=lambda s: -s.percent):
        for name in INPUTS[quantity]:
            known = base.known(share.material, name)
            if known is None:
                continue
            source = base.citation(known.source) if known.source else ""
            found.append(
                Input(
                    share.material,
                    share.percent,
                    name,
                    known.value,
                    known.low,
                    known.high,
                    base.records.units.get(name, ""),
                    source,
                    known.evidence,
                )
            )
    return tuple(found)


def _dominating(profile: Profile, quantity: str) -> tuple[tuple[str, float], ...]:
    draws = profile.quantities[quantity].draws
    if draws is None or float(np.std(draws[1:])) < 1e-12:
        return ()
    target = _ranks(draws[1:])
    found = []
    for label, column in profile.sampler.columns():
        if float(np.std(column[1:])) < 1e-12:
            continue
        r = float(np.corrcoef(target, _ranks(column[1:]))[0, 1])
        if r * r >= _LEAST_SHARE:
            found.append((label, r * r))
    return tuple(sorted(found, key=lambda pair: (-pair[1], pair[0]))[:6])


def _ranks(column: Array) -> Array:
    return np.asarray(np.argsort(np.argsort(column, kind="stable"), kind="stable"), dtype=float)
