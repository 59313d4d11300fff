"""The water phase: thickness, water activity, pH, and how much preservative is free in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.engine.batch import Batch, Phases, Share, is_water
from kb.engine.polyols import thickens, water_with_polyols
from kb.engine.sampling import Sampler
from kb.engine.species import Species
from kb.science import preservation, salts, water_activity
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

#: A gum's viscosity grows with about this power of its level around 1 % (assumption).
_GUM_POWER = (1.8, 2.4, 3.2)
_UNKNOWN_GUM = (100.0, 800.0, 6000.0)
#: Salt, % of the water phase, from which a polymer of tolerance 0 or 1 loses its viscosity.
SALT_BREAKS = {0: 0.05, 1: 1.0, 2: 5.0, 3: 30.0}
#: What is left of an acrylic polymer's viscosity without neutralising, or with salt.
_COLLAPSED = 0.05
#: pH of water beside zinc oxide or calamine (craft: it drives the water phase to 7 to 8).
BASIC_POWDER_PH = (7.0, 7.5, 8.0)
#: Error of water activity: a share of what the solutes take off it, at most the other (90 % of the
#: published points lie inside).
_ACTIVITY_SHARE, _ACTIVITY_MOST = 0.055, 0.007
#: Salts whose osmotic coefficient is known, and to which molality.
_MEASURED_SALTS = (
    ("sodium-chloride", salts.pitzer_sodium_chloride, 6.2),
    ("magnesium-sulfate", salts.pitzer_magnesium_sulfate, 3.1),
)
_SOAP_PH = (8.0, 9.0, 10.0)
#: A glycol or polyol counts as antimicrobial from this share of the water phase, %.
GLYCOL_COUNTS_FROM = 12.0
#: Partition from log P where oils differ: log K = log P less this, in triglycerides and esters, in
#: hydrocarbons, and in hydrocarbons for phenols, which miss the oxygen they bond to. Lines through
#: published values; with what log P itself is known to, nine in ten lie within a factor of 3.
_LESS_POLAR_OIL, _LESS_HYDROCARBON, _LESS_PHENOL = 1.0, 1.75, 3.2
_PARTITION_SPREAD = 1.8
#: A free phenol gives up its proton below this; an ether of phenol has none to give.
_PHENOL_PKA = 11.5
#: A stated partition whose ends lie further apart than this was measured in unlike oils.
_UNLIKE_OILS = 4.0
#: Binding to nonionic ethoxylates: ratio of total to free per % of surfactant in the water.
_BINDING_PER_PERCENT = {"paraben": (0.3, 1.0, 4.0), "phenolic": (0.2, 0.5, 1.5)}


@dataclass(slots=True)
class Agent:
    """One antimicrobial: percent in the formula, free and active in water, cover it gives."""

    material: str
    percent: float
    free: Array
    active: Array
    undissociated: Array
    needed: Array | None

    @property
    def cover(self) -> Array | None:
        """Active level over the least level that stops growth."""
        return None if self.needed is None else self.active / self.needed


def water_ph(
    batch: Batch, species: Species, phases: Phases, draw: Sampler, base: Snapshot
) -> tuple[Array | None, str]:
    """Return the pH of the water phase as it will settle, and why."""
    if species.basic_powder and phases.water_mass > 0:
        low, value, high = BASIC_POWDER_PH
        if batch.ph is not None and batch.ph > value:
            return np.full(draw.count, batch.ph), "as stated in the formula"
        spread = draw.shift("ph/basic-powder", (high - low) / 2.0)
        name = base.materials[species.basic_powder[0]].inci
        return value + spread, f"{name} is basic and draws it to {low:g} to {high:g}"
    if batch.ph is not None:
        return np.full(draw.count, batch.ph), "as stated in the formula"
    if species.soap is not None and not species.soap.polyvalent:
        return _SOAP_PH[1] + draw.shift("ph/soap", 1.0), "soap formed in place"
    return None, "state `ph`: the water phase before emulsifying"


def thickness(
    phases: Phases, species: Species, batch: Batch, draw: Sampler, base: Snapshot
) -> tuple[Array, Array, list[str]]:
    """Return viscosity of the water phase (mPa.s at low rate), its yield (Pa), and notes."""
    total = max(phases.water_mass, 1e-9)
    salt = salt_percent(phases, base)
    eta = water_with_polyols(phases, draw, base)
    held = np.zeros(draw.count)
    notes: list[str] = []
    for share in phases.water:
        if not thickens(share.material, base):
            continue
        level = 100.0 * share.percent / total
        at_one = draw.need(share.material, "gel_viscosity", _UNKNOWN_GUM)
        power = _GUM_POWER[1] + draw.shift("gum/power", 0.5)
        part = at_one * level**power
        about = base.materials[share.material]
        collapsed = salt > salt_borne(base.value(share.material, "electrolyte_tolerance", 2.0))
        raw = base.does(share.material, "acrylic-thickener") and not species.alkali_mol
        if collapsed:
            notes.append(f"salt thins {about.inci}")
        if collapsed or (raw and "acid" in about.tags):
            part = part * _COLLAPSED
        eta = eta + part
        if base.value(share.material, "yield_gel", 0.0) >= 0.5 and not collapsed:
            held = held + np.minimum(part / 1000.0 * 0.5, 200.0)
    return eta, held, notes


def salt_borne(tolerance: float) -> float:
    """Return the electrolyte a tolerance on the scale of 0 to 3 bears, % of the water phase."""
    steps = sorted(SALT_BREAKS)
    return float(np.exp(np.interp(tolerance, steps, [np.log(SALT_BREAKS[s]) for s in steps])))


def salt_percent(phases: Phases, base: Snapshot) -> float:
    """Return the electrolyte in the water phase, % of it."""
    total = max(phases.water_mass, 1e-9)
    salt = sum(
        s.percent
        for s in phases.water
        if base.does(s.material, "electrolyte") >= 0.3 or s.material == "sodium-lactate"
    )
    return 100.0 * salt / total


def activity(phases: Phases, draw: Sampler, base: Snapshot) -> tuple[Array | None, list[str]]:
    """Return the water activity of the water phase, or none with what is missing."""
    water = sum(s.percent for s in phases.water if is_water(s.material, base))
    if water <= 0.5:
        return None, ["no free water"]
    result = np.ones(draw.count)
    missing: list[str] = []
    for share in phases.water:
        about = base.materials[share.material]
        if is_water(share.material, base) or "polymer" in about.tags:
            continue
        molar = draw.fact(share.material, "molar_mass")
        if molar is None:
            if share.percent > 0.5:
                missing.append(f"no molar mass for {about.inci}")
            continue
        if molar[0] > 2000 or share.percent < 0.02:
            continue
        if base.does(share.material, "electrolyte") >= 0.3:
            ions = (
                3.0 if "chloride" in share.material and "polyvalent-cation" in about.tags else 2.0
            )
            molality = np.asarray(water_activity.molality(share.percent, molar, water))
            osmotic = _osmotic(share.material, molality, draw)
            result = result * water_activity.electrolyte(molality, ions, osmotic)
        elif base.does(share.material, "humectant") or share.percent >= 0.5:
            k = draw.need(share.material, "norrish_k", (-0.5, 1.0, 4.0))
            bend = water_activity.GLYCERIN_BEND if share.material == "glycerin" else 0.0
            result = result * water_activity.bent_norrish(share.percent, molar, water, k, bend)
    # The model's own error against published points: none in water, more in thick syrups.
    half = np.minimum(_ACTIVITY_SHARE * (1.0 - result), _ACTIVITY_MOST)
    result = result + half * draw.shift("water-activity/model", 1.0)
    return np.clip(result, 0.0, 1.0), missing


def _osmotic(salt: str, molality: Array, draw: Sampler) -> Array:
    """Return the osmotic coefficient of a salt; a rough one where it was not measured."""
    for name, measured, most in _MEASURED_SALTS:
        if salt.startswith(name) and float(molality[0]) <= most:
            return np.asarray(measured(np.minimum(molality, most)))
    return np.full(draw.count, 0.9) + draw.shift("salt/osmotic", 0.15)


def agents(phases: Phases, ph: Array | None, draw: Sampler, base: Snapshot) -> list[Agent]:
    """Return every antimicrobial with what of it is free and active in the water."""
    water = phases.water_mass / 100.0
    if water <= 0.005:
        return []
    water = min(water, 1.0)
    oil = max(0.0, min(phases.oil_mass / 100.0, 1.0 - water))
    micelles = sum(
        s.percent
        for s in (*phases.water, *phases.oil)
        if "ethoxylated" in base.materials[s.material].tags
        and base.does(s.material, "ow-emulsifier")
    )
    found = []
    for share in (*phases.water, *phases.oil):
        if not _counts(share, phases, base):
            continue
        material = share.material
        partition = partition_in(material, phases, draw, base)
        pka = draw.fact(material, "pka")
        acid = base.does(material, "weak-acid-preservative") > 0
        free_acid = np.ones(draw.count)
        if acid and pka is not None:
            free_acid = np.asarray(
                preservation.undissociated_fraction(ph if ph is not None else 5.0, pka)
            )
        binding = 1.0 + _binding(material, draw, base) * micelles / (100.0 * water)
        active = preservation.active_in_water(
            share.percent, water, oil, partition, free_acid, binding
        )
        free = preservation.free_in_water(share.percent, water, oil, partition, free_acid, binding)
        needed = draw.fact(material, "minimum_effective_level")
        found.append(
            Agent(material, share.percent, np.asarray(free), np.asarray(active), free_acid, needed)
        )
    return found


def _counts(share: Share, phases: Phases, base: Snapshot) -> bool:
    if not base.does(share.material, "antimicrobial"):
        return False
    if base.does(share.material, "preservative") or base.does(
        share.material, "preservative-booster"
    ):
        only_glycol = all(
            "glycol-preservative" in base.roles[p.role].ancestors
            for p in base.plays(share.material)
            if "antimicrobial" in base.roles[p.role].ancestors
        )
        enough = 100.0 * share.percent / phases.water_mass >= GLYCOL_COUNTS_FROM
        return not only_glycol or enough
    return False


def partition_in(material: str, phases: Phases, draw: Sampler, base: Snapshot) -> Array:
    """Return the partition of a preservative between the oil phase of this batch and its water.

    A stated value holds for any oil when its range is narrow; else hydrocarbons and polar oils are
    told apart by log P and their shares add.
    """
    known = base.known(material, "partition_oil_water")
    log_p = base.known(material, "log_p")
    alike = known is not None and known.high <= _UNLIKE_OILS * max(known.low, 0.005)
    if known is not None and (alike or log_p is None):
        return draw.need(material, "partition_oil_water", (known.low, known.value, known.high))
    log = draw.need(material, "log_p", (0.5, 1.5, 3.0))
    tags = base.materials[material].tags
    phenol = "paraben" in tags or (
        "phenolic" in tags and base.value(material, "pka", 14.0) < _PHENOL_PKA
    )
    less = _LESS_PHENOL if phenol else _LESS_HYDROCARBON
    share = hydrocarbon_share(phases, base)
    mixed = (1.0 - share) * 10.0 ** (log - _LESS_POLAR_OIL) + share * 10.0 ** (log - less)
    return np.asarray(mixed * draw.factor(f"partition/{material}", _PARTITION_SPREAD))


def hydrocarbon_share(phases: Phases, base: Snapshot) -> float:
    """Return the share of hydrocarbons in the oil phase."""
    plain = sum(s.percent for s in phases.oil if is_hydrocarbon(s.material, base))
    return plain / phases.oil_mass if phases.oil_mass > 0 else 0.0


def is_hydrocarbon(material: str, base: Snapshot) -> bool:
    """Tell whether an oil-phase material has nothing polar in it."""
    tags = base.materials[material].tags
    return base.does(material, "nonpolar-oil") >= 0.5 or (
        "mineral-oil-derived" in tags and "blend" not in tags
    )


def _binding(material: str, draw: Sampler, base: Snapshot) -> Array:
    tags = base.materials[material].tags
    for tag, (_, value, high) in _BINDING_PER_PERCENT.items():
        if tag in tags:
            return value * draw.factor(f"binding/{material}", high / value)
    return np.full(draw.count, 0.05)
