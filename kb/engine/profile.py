"""Everything the science says of a batch: each quantity with range, method and what limits it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.engine import feel as feeling
from kb.engine import oxidising, waterphase
from kb.engine.batch import Batch, Phases, is_water, sort_phases
from kb.engine.body import DENSITY_OF, RATE, Body
from kb.engine.oilphase import OilPhase, OilState
from kb.engine.quantity import Quantity
from kb.engine.sampling import Sampler
from kb.engine.species import Species, form_species
from kb.engine.system import Emulsifier, Kind, emulsifiers, infer
from kb.science import settling
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

TEMPERATURES_C = (10.0, 25.0, 40.0)
#: Share of meaningless-HLB emulsifiers from which no blend HLB is given.
HLB_NULL_SHARE = 0.2
#: The absolute consistency is right within this factor; it cancels in a swap.
ABSOLUTE = 4.0
#: Powder in the oil beyond this volume makes a paste.
PASTE_SHARE = 0.18
#: Measured beeswax gels hold 1.2 to 2.3 % solids where the table of components gives 2.6.
_CRYSTAL_SHARE = 1.3
_HELD_YIELD_PA = 1.0


@dataclass(slots=True)
class Profile:
    """All quantities of a batch, and what they were worked out from."""

    batch: Batch
    phases: Phases
    species: Species
    inferred: Kind
    system: str | None
    emulsifiers: list[Emulsifier]
    quantities: dict[str, Quantity]
    network: dict[float, float]
    network_parts: dict[str, float]
    agents: list[waterphase.Agent]
    ph: float | None
    ph_reason: str
    structure_yield_40: float
    sampler: Sampler

    def value(self, name: str) -> float | None:
        """Return the central value of a quantity."""
        return self.quantities[name].value

    @property
    def cover(self) -> float | None:
        """Sum of active level over least level, all agents; none without any figure."""
        return total_cover(self.agents)


def make_profile(batch: Batch, base: Snapshot, draws: int = 0, *, brief: bool = False) -> Profile:
    """Predict everything about a batch.

    Parameters
    ----------
    batch : Batch
    base : Snapshot
    draws : int
        Draws for the ranges; 0 gives central values only.
    brief : bool
        Leave out what decides on no stand-in: HLB, solids, binding, origin, oxidation, feel.
    """
    return _Maker(batch, base, draws).make(brief=brief)


def consistency_at_25(batch: Batch, base: Snapshot) -> float | None:
    """Return the central consistency at 25 degC alone, mPa.s; what level solving asks for."""
    return _Maker(batch, base, 0).consistency_alone()


def consistency_at(batch: Batch, base: Snapshot, t_c: float, rate: float) -> float | None:
    """Return the central consistency at a temperature (degC) and shear rate (1/s), mPa.s."""
    return _Maker(batch, base, 0).consistency_alone(t_c, rate)


def cover_of(batch: Batch, base: Snapshot) -> float | None:
    """Return the preservative cover alone."""
    return _Maker(batch, base, 0).cover_alone()


@dataclass(frozen=True, slots=True)
class Holding:
    """What holds a product together, central values: body at 25 degC, its swing, what is left hot.

    ``consistency`` in mPa.s, ``drift`` from 10 to 40 degC as a ratio, ``hot_yield`` at 40 degC in
    Pa, ``binding`` as an index, ``cover`` of the preservative.
    """

    consistency: float | None
    drift: float | None
    hot_yield: float
    binding: float | None
    cover: float | None


def holding_of(batch: Batch, base: Snapshot, draw: Sampler | None = None) -> Holding:
    """Return what holds a batch together alone, the same figures as its profile.

    A sampler of central values may be shared by many batches of one base.
    """
    return _Maker(batch, base, 0, draw).holding()


def powder_volume_of(batch: Batch, base: Snapshot) -> float:
    """Return the powder by volume alone, %."""
    phases, draw = sort_phases(batch, base), Sampler(base, 0)
    volume = {
        phase: sum(
            share.percent / float(draw.need(share.material, "density", DENSITY_OF[phase])[0])
            for share in getattr(phases, phase)
        )
        for phase in ("oil", "water", "powder")
    }
    whole = sum(volume.values())
    return 100.0 * volume["powder"] / whole if whole > 0.0 else 0.0


def total_cover(agents: list[waterphase.Agent]) -> float | None:
    """Return the sum of active level over least level; none without any figure."""
    known = [float(a.cover[0]) for a in agents if a.cover is not None]
    return sum(known) if known else None


class _Maker:
    def __init__(
        self, batch: Batch, base: Snapshot, draws: int, draw: Sampler | None = None
    ) -> None:
        self.batch, self.base = batch, base
        self.draw = draw or Sampler(base, draws)
        self.phases = sort_phases(batch, base)
        self.species = form_species(batch, self.phases, base)
        self.inferred = infer(batch, self.phases, self.species, base)
        self.system = batch.system or self.inferred.system
        self.oil = OilPhase(self.phases.oil, base, self.draw)
        self.body = Body(batch, self.phases, self.species, self.system, self.oil, self.draw, base)
        self.quantities: dict[str, Quantity] = {}

    def put(
        self,
        name: str,
        draws: Array | None,
        unit: str,
        method: str,
        limited_by: list[str] | None = None,
        detail: dict[str, object] | None = None,
    ) -> None:
        if draws is not None and not np.all(np.isfinite(draws)):
            draws = None
            limited_by = [*(limited_by or []), "outside what the model can say"]
        self.quantities[name] = Quantity(name, draws, unit, method, limited_by or [], detail)

    def consistency_alone(self, t_c: float = 25.0, rate: float = RATE) -> float | None:
        states = {} if self.oil.empty else {t: self.oil.at(t) for t in {25.0, t_c}}
        found = self.body.at(t_c, states, rate)
        return None if found is None else float(found[0][0])

    def holding(self) -> Holding:
        states = {} if self.oil.empty else {t: self.oil.at(t) for t in TEMPERATURES_C}
        found = {t: self.body.at(t, states) for t in TEMPERATURES_C}
        eta = {t: float(f[0][0]) for t, f in found.items() if f is not None}
        hot = found[40.0]
        return Holding(
            eta.get(25.0),
            eta[10.0] / eta[40.0] if len(eta) == len(TEMPERATURES_C) else None,
            0.0 if hot is None else float(hot[1][0]),
            None if self.oil.empty else float(self.oil.binding(25.0)[0]),
            self.cover_alone(),
        )

    def cover_alone(self) -> float | None:
        ph, _ = waterphase.water_ph(self.batch, self.species, self.phases, self.draw, self.base)
        return total_cover(waterphase.agents(self.phases, ph, self.draw, self.base))

    def make(self, *, brief: bool = False) -> Profile:
        base, phases, draw = self.base, self.phases, self.draw
        working = emulsifiers(phases, self.species, base)
        if not brief:
            self._hlb(working)
            self._required()
        states = {} if self.oil.empty else {t: self.oil.at(t) for t in TEMPERATURES_C}
        ph, why = waterphase.water_ph(self.batch, self.species, phases, draw, base)
        self._volumes()
        tau = self._consistency(states)
        if not brief:
            self._oil_figures(states)
        known_ph = ph is not None
        self.put("water_phase_ph", ph, "pH", "ph", [] if known_ph else [why])
        if phases.water_mass <= 0.5:
            self.quantities["water_phase_ph"] = Quantity(
                "water_phase_ph", None, "pH", "ph", ["no water phase"]
            )
        a_w, missing = waterphase.activity(phases, draw, base)
        self.put("water_activity", a_w, "1", "water-activity", missing)
        found = waterphase.agents(phases, ph, draw, base)
        self._free(found, known_ph)
        if not brief:
            self._origin()
            self._oxidation()
            self.quantities["feel"] = feeling.feel(phases, states.get(25.0), self.oil, base)
        self._settling(states, tau)
        self.put("cost", None, "", "", ["no prices are known"])
        return Profile(
            self.batch,
            phases,
            self.species,
            self.inferred,
            self.system,
            working,
            self.quantities,
            {t: float(s.network[0]) for t, s in states.items()},
            {} if brief or self.oil.empty else self.oil.network_by_material(25.0),
            found,
            None if ph is None else float(ph[0]),
            why,
            float(tau[40.0][0]) if 40.0 in tau else 0.0,
            draw,
        )

    # -- emulsifiers --------------------------------------------------------------------------

    def _hlb(self, working: list[Emulsifier]) -> None:
        total = sum(e.percent for e in working)
        limits: list[str] = []
        draws = None
        if total <= 0:
            limits.append("no emulsifier")
        elif sum(e.percent for e in working if not e.meaningful) > HLB_NULL_SHARE * total:
            names = ", ".join(
                sorted({self._label(e.material) for e in working if not e.meaningful})
            )
            limits.append(f"HLB says nothing about {names}")
        else:
            counted = [e for e in working if e.meaningful]
            mass = sum(e.percent for e in counted)
            draws = np.zeros(self.draw.count)
            for e in counted:
                value = self.draw.need(e.material, "hlb", (e.hlb - 2, e.hlb, e.hlb + 2))
                draws = draws + e.percent / mass * value
            draws = draws + self.draw.shift("hlb/meaning", 1.0)
        self.put("hlb", draws, "1", "blend-hlb", limits)

    def _required(self) -> None:
        side = "required_hlb_wo" if self.system == "w/o" else "required_hlb_ow"
        total, known, missing = np.zeros(self.draw.count), 0.0, 0.0
        for share in self.phases.oil:
            if self.base.does(share.material, "emulsifier") >= 0.4:
                continue
            value = self.draw.fact(share.material, side)
            if value is None:
                missing += share.percent
            else:
                total, known = total + share.percent * value, known + share.percent
        if known <= 0 or missing > 0.6 * (known + missing) or self.phases.water_mass < 3:
            text = "no emulsion" if self.phases.water_mass < 3 else "too few oils have a value"
            self.put("required_hlb", None, "1", "required-hlb", [text])
            return
        limits = [f"{100 * missing / (known + missing):.0f} % of the oils have no value"]
        self.put("required_hlb", total / known, "1", "required-hlb", limits if missing > 0 else [])

    def _label(self, material: str) -> str:
        return self.base.materials[material].inci if material in self.base.materials else material

    # -- volumes ------------------------------------------------------------------------------

    def _volumes(self) -> None:
        phases = self.phases
        body = self.body
        whole = body.v_oil + body.v_water + body.v_powder
        mass = phases.oil_mass + phases.water_mass + phases.powder_mass
        self.put("density", mass / np.maximum(whole, 1e-9), "g/ml", "density")
        if phases.powder:
            self.put("powder_volume", 100.0 * body.v_powder / whole, "%", "density")
        else:
            self.put("powder_volume", None, "%", "density", ["no powder"])
        inner = {"w/o": body.v_water, "o/w": body.v_oil}.get(self.system or "")
        if inner is None or phases.water_mass < 3.0:
            self.put("dispersed_fraction", None, "1", "dispersed", ["no emulsion"])
        else:
            self.put("dispersed_fraction", inner / whole, "1", "dispersed")

    # -- consistency --------------------------------------------------------------------------

    def _consistency(self, states: dict[float, OilState]) -> dict[float, Array]:
        """Fill consistency and climate drift; return the yield at each temperature, Pa."""
        absolute = self.draw.factor("consistency/absolute", ABSOLUTE)
        eta: dict[float, Array] = {}
        tau: dict[float, Array] = {}
        limits: list[str] = list(self.oil.limited_by)
        for t in TEMPERATURES_C:
            found = self.body.at(t, states)
            if found is not None:
                eta[t], tau[t], notes = found
                limits += [n for n in notes if n not in limits]
        if not eta:
            text = "a powder has none" if self.system == "powder" else "nothing continuous to judge"
            for name, unit in (("consistency_25c", "mPa.s"), ("climate_drift_10_over_40", "1")):
                self.put(name, None, unit, "consistency", [text])
            return {}
        if self.body.powder_share() > PASTE_SHARE and self.system != "o/w":
            limits.append("powder-rich paste: attraction between particles is only estimated")
        self.put("consistency_25c", eta[25.0] * absolute, "mPa.s", "consistency", limits[:6])
        self.put(
            "climate_drift_10_over_40",
            eta[10.0] / eta[40.0] * self.draw.factor("climate/model", 1.5),
            "1",
            "climate-drift",
            limits[:6],
        )
        return tau

    # -- oil figures --------------------------------------------------------------------------

    def _oil_figures(self, states: dict[float, OilState]) -> None:
        if not states:
            self.put("oil_viscosity_25c", None, "mPa.s", "oil-viscosity", ["no oil phase"])
            self.put("oil_binding", None, "index", "oil-binding", ["no oil phase"])
            for t in TEMPERATURES_C:
                self.put(f"solids_{t:.0f}c", None, "%", "ideal-solids", ["no oil phase"])
            return
        limits = list(self.oil.limited_by)
        self.put("oil_viscosity_25c", states[25.0].viscosity, "mPa.s", "oil-viscosity", limits)
        self.put("oil_binding", self.oil.binding(25.0), "index", "oil-binding", limits)
        for t in TEMPERATURES_C:
            # How much of a wax can crystallise at all is known to about a third.
            share = self.draw.factor("solids/share", _CRYSTAL_SHARE)
            found = np.minimum(100.0 * states[t].solids * share, 100.0)
            self.put(f"solids_{t:.0f}c", found, "%", "ideal-solids", limits)

    # -- water figures ------------------------------------------------------------------------

    def _free(self, found: list[waterphase.Agent], known_ph: bool) -> None:
        limits: list[str] = []
        if not found:
            limits.append("no preservative" if self.phases.water_mass > 3 else "no water to keep")
        weak = any(float(a.undissociated[0]) < 1.0 for a in found)
        if weak and not known_ph:
            limits.append("pH not stated: 5.0 assumed for weak acids")
        detail: dict[str, object] = {}
        for agent in found:
            one = Quantity("", agent.free, "", "")
            detail[agent.material] = {
                "value": one.value,
                "low": one.low,
                "high": one.high,
                "active": float(agent.active[0]),
                "undissociated": float(agent.undissociated[0]),
                "needed": None if agent.needed is None else float(agent.needed[0]),
            }
        total = sum((a.free for a in found), np.zeros(self.draw.count)) if found else None
        self.put("free_preservative", total, "% in water", "free-preservative", limits, detail)

    def _origin(self) -> None:
        total, missing = np.zeros(self.draw.count), self.batch.unknown
        mass = self.batch.unknown
        for share in (*self.phases.oil, *self.phases.water, *self.phases.powder):
            mass += share.percent
            index = self.draw.fact(share.material, "natural_origin_index")
            if index is None:
                if is_water(share.material, self.base):
                    index = np.ones(self.draw.count)
                else:
                    missing += share.percent
                    continue
            total = total + share.percent * np.where(index >= 0.5, np.minimum(index, 1.0), 0.0)
        limits = [f"{missing:.3g} % of the formula has no index"] if missing > 0.05 else []
        draws = None if missing > 25.0 or mass <= 0 else total / mass
        self.put("natural_origin", draws, "1", "natural-origin", limits)

    def _oxidation(self) -> None:
        found = oxidising.oxidation(self.phases, self.draw, self.base)
        self.quantities["oxidation"] = found

    # -- settling -----------------------------------------------------------------------------

    def _settling(self, states: dict[float, OilState], tau: dict[float, Array]) -> None:
        heavy = list(self.phases.powder)
        if not heavy or self.system == "powder":
            self.put("settling", None, "mm/day", "settling", ["no powder in a liquid"])
            self.quantities["settling"].detail = {"state": "held" if not heavy else "unclear"}
            return
        outside_oil = self.system in {"w/o", "anhydrous"} or (
            self.system == "suspension" and self.phases.oil_mass > self.phases.water_mass
        )
        share = max(heavy, key=lambda s: s.percent)
        size = self.draw.need(share.material, "particle_size", (0.3, 2.0, 15.0))
        density = self.draw.need(share.material, "density", DENSITY_OF["powder"])
        if outside_oil and states:
            eta, rho = states[25.0].viscosity, 920.0
        else:
            eta, _, _ = waterphase.thickness(
                self.phases, self.species, self.batch, self.draw, self.base
            )
            rho = 1000.0
        speed = np.asarray(settling.stokes(size, density * 1000.0, rho, eta))
        warm = float(tau[40.0][0]) if 40.0 in tau else 0.0
        if warm > _HELD_YIELD_PA:
            state = "held"
        elif warm > 0.1 * _HELD_YIELD_PA or float(speed[0]) < 0.5:
            state = "unclear"
        else:
            state = "settles"
        draws = None if state == "held" else np.abs(speed)
        limits = ["the network holds it"] if state == "held" else ["size of the clumps"]
        self.put("settling", draws, "mm/day", "settling", limits, {"state": state})
