"""What one percent of a material brings to each figure that adds up; worked out once a base."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from weakref import WeakKeyDictionary

import numpy as np

from kb.engine.batch import Phases, Share, phase_of, stage_kind, take_apart
from kb.engine.body import DENSITY_OF
from kb.engine.oilphase import OilPhase
from kb.engine.profile import TEMPERATURES_C
from kb.engine.sampling import Sampler
from kb.engine.species import Soap, Species
from kb.engine.system import emulsifiers
from kb.store.snapshot import Snapshot

_NO_SOAP: Soap | None = None
#: Kinematic viscosity that counts as neither thick nor thin, mm2/s.
_REFERENCE = 30.0
_NOTHING = Species(_NO_SOAP, 0.0, 0.0, (), False, ())


@dataclass(frozen=True, slots=True)
class Crystal:
    """One component that can crystallise: mass fraction, g/mol, least gelling level, saturation.

    ``saturation`` holds the mole fraction at each of the temperatures of the profile.
    """

    share: float
    molar: float
    critical: float
    saturation: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Anatomy:
    """One percent of a material taken apart: mass and volume (ml) by phase, emulsifier, network.

    ``thickness`` is the logarithm of the viscosity of what is liquid in oil, over that of a light
    vegetable oil, times its share: what the blending of viscosities by mass adds up.
    """

    mass: dict[str, float]
    volume: dict[str, float]
    right: dict[str, float]
    hlb: float
    counted: float
    steady: tuple[float, ...]
    crystals: tuple[Crystal, ...] = field(default=())
    thickness: float = 0.0

    def network(self, percent: float, oil: float, melt: tuple[float, ...], row: int) -> float:
        """Return what a level brings to the network sum at one of the temperatures.

        Parameters
        ----------
        percent : float
            Level in the formula, %.
        oil : float
            Oil phase, % of the formula.
        melt : tuple of float
            Moles of liquid per gram of oil phase at each temperature.
        row : int
            Which temperature.
        """
        part = percent / oil
        total = self.steady[row] * part
        for one in self.crystals:
            solid = part * one.share - one.saturation[row] * melt[row] * one.molar
            total += 100.0 * max(solid, 0.0) / one.critical
        return total


_KNOWN: WeakKeyDictionary[Snapshot, dict[tuple[str, str], Anatomy]] = WeakKeyDictionary()


def anatomy_of(material: str, stage: str, base: Snapshot) -> Anatomy:
    """Return the anatomy of a material put in at a stage."""
    known = _KNOWN.setdefault(base, {})
    key = (material, stage_kind(stage))
    if key not in known:
        known[key] = _look(material, stage, base)
    return known[key]


def _look(material: str, stage: str, base: Snapshot) -> Anatomy:
    draw = Sampler(base, 0)
    mass = {"oil": 0.0, "water": 0.0, "powder": 0.0}
    volume = dict(mass)
    shares: dict[str, list[Share]] = {phase: [] for phase in mass}
    for part, percent in take_apart(material, 1.0, base):
        phase = phase_of(base.materials[part], stage, base)
        mass[phase] += percent
        volume[phase] += percent / float(draw.need(part, "density", DENSITY_OF[phase])[0])
        shares[phase].append(Share(part, percent))
    phases = Phases(*(tuple(shares[p]) for p in ("oil", "water", "powder")))
    found = emulsifiers(phases, _NOTHING, base)
    right = {
        "w/o": sum(e.percent for e in found if not e.water_loving),
        "o/w": sum(e.percent for e in found if e.water_loving),
    }
    counted = [e for e in found if e.meaningful]
    steady = tuple(0.0 for _ in TEMPERATURES_C)
    crystals: list[Crystal] = []
    thickness = 0.0
    if phases.oil:
        oil = OilPhase(phases.oil, base, draw)
        scale = mass["oil"]
        steady = tuple(scale * oil.uncrystallised_network(t) for t in TEMPERATURES_C)
        rows = [oil.crystallising(t) for t in TEMPERATURES_C]
        for same in zip(*rows, strict=True):
            name, share, molar, _ = same[0]
            critical = float(oil.critical(name)[0])
            crystals.append(Crystal(scale * share, molar, critical, tuple(r[3] for r in same)))
        for one in phases.oil:
            if base.materials[one.material].form in {"liquid", "semisolid"}:
                nu = float(oil.kinematic(one.material, 25.0)[0])
                thickness += one.percent * math.log(nu / _REFERENCE)
    return Anatomy(
        mass,
        volume,
        right,
        sum(e.percent * e.hlb for e in counted),
        sum(e.percent for e in counted),
        steady,
        tuple(crystals),
        thickness,
    )


def bring(anatomies: list[Anatomy], what: str, phase: str) -> np.ndarray:
    """Return one figure of many anatomies by phase or system: ``mass``, ``volume``, ``right``."""
    return np.array([getattr(a, what)[phase] for a in anatomies], dtype=np.float64)
