"""What two or three materials are together, trait by trait, and the shares at which that is near.

Each trait mixes in a scale of its own where shares add up: viscosity and spreading as logarithms,
density by volume, molar mass by moles, gelling level as its inverse, acid value and the like by
mass. What does not mix takes the worse of the parts.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from kb.adapt.problem import Choices, Clash, Cut, Floats, Kept, Problem, Row
from kb.adapt.solving import solve
from kb.engine.roles import Here
from kb.engine.traits import Comparison, fits_of, traits_of
from kb.store.records import Known, Trait
from kb.store.snapshot import Snapshot

#: The scale in which shares of a property add up; what is not named does not mix.
_SCALE = {
    "viscosity": "log",
    "spreading_value": "log",
    "evaporation_half_time": "log",
    "density": "inverse",
    "molar_mass": "inverse",
    "critical_gelling_concentration": "inverse",
    "hlb": "plain",
    "required_hlb_ow": "plain",
    "required_hlb_wo": "plain",
    "iodine_value": "plain",
    "acid_value": "plain",
    "saponification_value": "plain",
    "hydroxyl_value": "plain",
    "polyunsaturates": "plain",
    "saturates": "plain",
    "refractive_index": "plain",
    "surface_tension": "plain",
    "interfacial_tension_water": "plain",
    "solubility_parameter": "plain",
    "hansen_dd": "plain",
    "hansen_dp": "plain",
    "hansen_dh": "plain",
    "water_capacity": "plain",
    "natural_origin_index": "plain",
    "oil_absorption": "plain",
}
#: Of these the highest of the parts counts: the wax decides where a wax and an oil melt.
_HIGHEST = frozenset({"melting_point", "cloud_point", "ph_low"})
#: No part of a blend is less than this, nor more: below it is a trace, above it no blend.
LEAST, MOST = 0.1, 0.85
_GRID = np.linspace(LEAST, MOST, 16)


@dataclass(frozen=True, slots=True)
class Mixture:
    """Parts with their shares by mass, and how its traits compare with those of the original."""

    parts: tuple[str, ...]
    shares: tuple[float, ...]
    worst: float
    mean: float
    known: float
    comparisons: tuple[Comparison, ...]

    @property
    def fit(self) -> float:
        """Traits in one figure, the worst decisive one weighing most."""
        return float(self.worst**0.4 * self.mean**0.6)


def mixed(name: str, values: Floats, shares: Floats) -> Floats:
    """Return a property of mixtures; parts along the last axis of both.

    NaN where a part has no value.
    """
    scale = _SCALE.get(name)
    with np.errstate(divide="ignore", invalid="ignore"):
        if scale == "log":
            return np.asarray(np.exp((shares * np.log(np.maximum(values, 1e-9))).sum(axis=-1)))
        if scale == "inverse":
            return np.asarray(1.0 / (shares / np.maximum(values, 1e-9)).sum(axis=-1))
        if scale == "plain":
            return np.asarray((shares * values).sum(axis=-1))
    if name in _HIGHEST:
        return np.broadcast_to(np.max(values, axis=-1), shares.shape[:-1]).astype(np.float64)
    return np.broadcast_to(np.min(values, axis=-1), shares.shape[:-1]).astype(np.float64)


def _scaled(name: str, value: float) -> float:
    scale = _SCALE.get(name, "plain")
    if scale == "log":
        return float(np.log(max(value, 1e-9)))
    return 1.0 / max(value, 1e-9) if scale == "inverse" else value


def _value(material: str, name: str, original: str, base: Snapshot) -> float:
    found = base.value(material, name)
    if found != found and name == "critical_gelling_concentration":
        # A liquid that gels nothing has no gelling level: as good as infinite.
        return 1e6 if base.materials[material].form == "liquid" else found
    return found


def judge(
    parts: tuple[str, ...],
    shares: Floats,
    original: str,
    here: tuple[Here, ...],
    base: Snapshot,
    ph: float | None,
    instead: Mapping[str, float] | None = None,
) -> list[Mixture]:
    """Compare mixtures of the same parts at several shares with the original on a line's traits.

    Parameters
    ----------
    parts : tuple of str
    shares : array
        One row a mixture, by mass.
    original : str
    here : tuple of Here
    base : Snapshot
    ph : float or None
    instead : mapping of str to float, optional
        Properties of the mixture that are known otherwise than by mixing.
    """
    count = len(shares)
    worst, mean, known = np.ones(count), np.zeros(count), np.zeros(count)
    weighed = 0.0
    told: list[tuple[Trait, float, Floats, Floats]] = []
    for want in here:
        traits = [t for t in traits_of(want.role, base) if base.known(original, t.property)]
        weights = sum(t.weight for t in traits)
        if weights <= 0.0:
            continue
        floor, average, share_known = np.ones(count), np.zeros(count), np.zeros(count)
        for trait in traits:
            mine = base.known(original, trait.property)
            assert mine is not None
            values = np.array([_value(p, trait.property, original, base) for p in parts])
            value = mixed(trait.property, values, shares)
            if instead and trait.property in instead:
                value = np.full(count, instead[trait.property])
            fit = fits_of(trait, mine, value, value, value, ph)
            average += trait.weight / weights * fit
            share_known += trait.weight / weights * ~np.isnan(value)
            if trait.decisive:
                floor = np.minimum(floor, fit)
            told.append((trait, mine.value, value, fit))
        worst *= np.maximum(floor, 0.02) ** want.share
        mean += want.share * average
        known += want.share * share_known
        weighed += want.share
    if weighed <= 0.0:
        return []
    found = []
    for n in range(count):
        comparisons = tuple(
            Comparison(t, float(f[n]), old, None if np.isnan(v[n]) else float(v[n]), None)
            for t, old, v, f in told
        )
        found.append(
            Mixture(
                parts,
                tuple(float(x) for x in shares[n]),
                float(worst[n] ** (1.0 / weighed)),
                float(mean[n] / weighed),
                float(known[n] / weighed),
                comparisons,
            )
        )
    return found


def pair_shares(
    first: str, second: str, original: str, here: tuple[Here, ...], base: Snapshot
) -> Floats:
    """Return the shares of two materials worth comparing, one row each.

    They are an even grid and every share at which a trait of the mixture meets the original: the
    fit of each trait is single-peaked between those, so one of them is nearly the best.
    """
    points = list(_GRID)
    for want in here:
        for trait in traits_of(want.role, base):
            mine = base.known(original, trait.property)
            if mine is None or trait.property not in _SCALE:
                continue
            a, b = (
                _scaled(trait.property, _value(m, trait.property, original, base))
                for m in (first, second)
            )
            target = _scaled(trait.property, mine.value)
            if a == a and b == b and a != b:
                share = (target - b) / (a - b)
                if LEAST <= share <= MOST:
                    points.append(share)
    column = np.array(sorted(points))
    return np.stack((column, 1.0 - column), axis=1)


def nearest_triples(
    pool: list[str],
    costs: Floats,
    original: str,
    here: tuple[Here, ...],
    base: Snapshot,
    number: int,
) -> list[tuple[tuple[str, ...], Floats]]:
    """Return the triples of a pool whose mixed traits come nearest, with their shares.

    Solved as a whole-numbered problem: three places, each for one material of the pool, shares
    between a tenth and eight tenths, the weighted distance of every trait in tolerances plus the
    cost of each material. Triples found are cut, so that the next is another.

    Parameters
    ----------
    pool : list of str
    costs : array
        What taking each costs, in the unit of a trait one tolerance away.
    original : str
    here : tuple of Here
    base : Snapshot
    number : int
        How many.
    """
    rows_of: list[tuple[Trait, Known]] = []
    weights: list[float] = []
    for want in here:
        for trait in traits_of(want.role, base):
            mine = base.known(original, trait.property)
            if mine is not None and trait.property in _SCALE:
                rows_of.append((trait, mine))
                weights.append(want.share * trait.weight)
    size, slots = len(pool), 3
    if size < slots or not rows_of:
        return []
    slot = np.repeat(np.arange(slots, dtype=np.intp), size)
    third = np.full(slots * size, 1.0 / 3.0)
    choices = Choices(
        slot,
        np.full(slots * size, LEAST),
        third,
        np.full(slots * size, MOST - LEAST),
        np.tile(costs, slots),
        np.zeros(slots * size),
    )
    rows = []
    for n, (trait, mine) in enumerate(rows_of):
        wanted = _scaled(trait.property, mine.value)
        unit = _tolerance(trait, mine)
        values = np.array(
            [_scaled(trait.property, _value(m, trait.property, original, base)) for m in pool]
        )
        # Unknown must not flatter: it stands a tolerance and a half away.
        away = np.where(np.isnan(values), 1.5, (values - wanted) / unit)
        wide = np.tile(away, slots)
        line = np.zeros(len(rows_of))
        line[n] = 1.0
        rows.append(Row(trait.property, wide * third, wide, wide, line, 0.0, 0.0))
    none = np.zeros(len(rows_of))
    reach = np.full(len(rows_of), 50.0)
    kept = Kept(none, -reach, reach, np.array(weights), weighed=False)
    clashes = tuple(
        Clash("same", np.array([n, n + size, n + 2 * size]), np.array([n, n + size, n + 2 * size]))
        for n in range(size)
    )
    problem = Problem(choices, np.zeros(slots, dtype=np.bool_), kept, tuple(rows), clashes, (), 1.0)
    found: list[tuple[tuple[str, ...], Floats]] = []
    cuts: tuple[Cut, ...] = ()
    for _ in range(number):
        answer, _duals = solve(
            Problem(choices, problem.optional, kept, problem.rows, clashes, cuts, 1.0), seconds=2.0
        )
        if len(answer.places) < slots:
            break
        members = [int(p) % size for p in answer.places]
        found.append((tuple(pool[m] for m in members), answer.levels))
        everywhere = tuple(m + size * s for m, s in itertools.product(members, range(slots)))
        cuts = (*cuts, Cut(everywhere, slots - 1))
    return found


def _tolerance(trait: Trait, mine: Known) -> float:
    """Return one tolerance of a trait in the scale in which it mixes."""
    scale = _SCALE[trait.property]
    relative = trait.kind == "ratio"
    if scale == "log":
        return float(np.log1p(trait.tolerance if relative else trait.tolerance / mine.value))
    absolute = trait.tolerance * mine.value if relative else trait.tolerance
    if scale == "inverse":
        return max(absolute / max(mine.value, 1e-9) ** 2, 1e-12)
    return max(absolute, 1e-9)
