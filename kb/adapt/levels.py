"""The level at which a choice does the work of the line alone, and how far it may stray."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from kb.adapt.anatomy import anatomy_of
from kb.engine import waterphase
from kb.engine.batch import Item, Phases, Share, take_apart
from kb.engine.body import lamellar_part, swells
from kb.engine.exchange import bounds, dosing
from kb.engine.oilphase import OilPhase
from kb.engine.profile import TEMPERATURES_C, Profile
from kb.engine.roles import Here
from kb.engine.sampling import Sampler
from kb.store.snapshot import Snapshot

#: Row of 25 degC among the temperatures.
AT_25 = TEMPERATURES_C.index(25.0)
#: How far from its best level a choice may stand, as factors, by the unit it is dosed in. By
#: consistency and cover the windows of the whole formula decide; a plain mass may shift a quarter
#: (craft: dose x 0.8 to 1.25); what is dosed by moles, equivalents or volume hardly at all.
_STRAY = {
    "consistency": (0.4, 2.5),
    "cover": (0.7, 2.0),
    "1:1 by mass": (0.8, 1.25),
    "balance": (0.4, 1.6),
}
_STRAY_BY_NUMBER = (0.95, 1.05)
#: A share of the network below this is no body to speak of.
_NO_BODY = 0.02
#: Power of a gum's viscosity in its level.
_GUM_POWER = 2.4
#: Viscosity of a 1 % dispersion of a gum that nothing is known of, mPa.s.
_UNKNOWN_GUM = 800.0
_GRID = 25


@dataclass(frozen=True, slots=True)
class Levels:
    """Lowest, best and highest level of a choice, %, and the unit it is dosed in."""

    low: float
    best: float
    high: float
    unit: str
    wanted: float


@dataclass(slots=True)
class Company:
    """What the levels are worked out in: the formula as it was."""

    profile: Profile
    base: Snapshot
    oil_mass: float
    melt: tuple[float, ...]
    _rates: dict[str, float] = field(default_factory=dict)

    @classmethod
    def of(cls, profile: Profile, base: Snapshot) -> Company:
        """Return the company a profile gives."""
        oil = profile.phases.oil_mass
        melt = tuple(0.0 for _ in TEMPERATURES_C)
        if oil > 0.0:
            phase = OilPhase(profile.phases.oil, base, Sampler(base, 0))
            melt = tuple(phase.melt_mols(t) for t in TEMPERATURES_C)
        return cls(profile, base, oil, melt)

    def network(self, material: str, stage: str, percent: float, row: int = AT_25) -> float:
        """Return what a level of a material brings to the network of this oil phase."""
        if self.oil_mass <= 0.0:
            return 0.0
        anatomy = anatomy_of(material, stage, self.base)
        return anatomy.network(percent, self.oil_mass, self.melt, row)

    def cover_rate(self, material: str, percent: float) -> float:
        """Return the preservative cover of one percent of a material, about some level."""
        if material not in self._rates:
            self._rates[material] = self.cover(material, percent) / max(percent, 1e-9)
        return self._rates[material]

    def lamellar(self, material: str, percent: float) -> float:
        """Return what a level of a material brings to the swollen network of an O/W cream."""
        total = 0.0
        for part, share in take_apart(material, percent, self.base):
            each = lamellar_part(part, 25.0, Sampler(self.base, 0), self.base)
            total += 0.0 if each is None else share * float(each[0])
        return total

    def swelling(self, material: str, percent: float) -> float:
        """Return how much fatty alcohol a level of a surfactant can swell, %."""
        total = 0.0
        for part, share in take_apart(material, percent, self.base):
            total += share * swells(part, self.base)
        return total

    def gum(self, material: str, percent: float) -> float:
        """Return what a level of a gum brings to the viscosity of the water phase, mPa.s."""
        if self.base.does(material, "water-thickener") < 0.4:
            return 0.0
        at_one = self.base.value(material, "gel_viscosity", _UNKNOWN_GUM)
        water = max(self.profile.phases.water_mass, 1e-9)
        return float(at_one * (100.0 * percent / water) ** _GUM_POWER)

    def cover(self, material: str, percent: float) -> float:
        """Return the preservative cover a level of a material gives in this water."""
        if not self.base.does(material, "antimicrobial"):
            return 0.0
        phases = self.profile.phases
        ph = None if self.profile.ph is None else np.array([self.profile.ph])
        one = Phases(phases.oil, (*_without(phases.water, material), Share(material, percent)), ())
        found = waterphase.agents(one, ph, Sampler(self.base, 0), self.base)
        mine = next((a for a in found if a.material == material), None)
        return 0.0 if mine is None or mine.cover is None else float(mine.cover[0])


def _without(shares: tuple[Share, ...], material: str) -> tuple[Share, ...]:
    return tuple(s for s in shares if s.material != material)


def levels_of(
    item: Item, candidate: str, here: tuple[Here, ...], company: Company, *, balance: bool
) -> Levels:
    """Return the levels of a candidate on a line.

    ``balance`` says that the line is the bulk of its phase, which gives and takes for the others.
    """
    base, profile = company.base, company.profile
    low, high = bounds(candidate, here, item.percent, base)
    dose = dosing(profile, item, candidate, here, base)
    wanted, unit = dose.percent, dose.unit
    if unit == "consistency":
        wanted, unit = _for_body(item, candidate, low, high, company)
    elif unit == "cover":
        old = company.cover(item.material, item.percent)
        each = company.cover(candidate, 1.0)
        wanted = old / each if old > 0.0 and each > 0.0 else item.percent
    elif unit == "1:1 by mass" and balance:
        unit = "balance"
    best = min(max(wanted, low), high)
    less, more = _STRAY.get(unit, _STRAY_BY_NUMBER)
    return Levels(
        min(max(low, less * wanted), best), best, max(min(high, more * wanted), best), unit, wanted
    )


def _for_body(
    item: Item, candidate: str, low: float, high: float, company: Company
) -> tuple[float, str]:
    """Return the level that brings the same part of the body, on a grid between the bounds."""
    base = company.base
    mine, theirs = (base.value(m, "gel_viscosity") for m in (item.material, candidate))
    if mine > 0.0 and theirs > 0.0:
        return item.percent * (mine / theirs) ** (1.0 / _GUM_POWER), "consistency"
    whole = company.profile.network.get(25.0, 0.0)
    part = company.network(item.material, item.stage, item.percent)
    if part < _NO_BODY * max(whole, 1e-9) or low <= 0.0 or high <= low:
        return item.percent, "1:1 by mass"
    grid = np.geomspace(low, high, _GRID)
    brought = np.array([company.network(candidate, item.stage, x) for x in grid])
    if brought[-1] <= 0.0:
        return item.percent, "1:1 by mass"
    rising = np.concatenate(([True], np.diff(brought) > 1e-12))
    return float(np.interp(part, brought[rising], grid[rising])), "consistency"
