"""The body of a product: viscosity and yield from oil, drops, powder and network."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from kb.engine import waterphase
from kb.engine.batch import Batch, Phases, Share
from kb.engine.oilphase import OilPhase, OilState
from kb.engine.sampling import Sampler
from kb.engine.species import Species
from kb.science import consistency, droplets, powders
from kb.science.numbers import Array
from kb.science.structure import network_yield
from kb.store.snapshot import Snapshot

RATE = 10.0
#: Defaults as (low, value, high) where a material has no fact of its own.
DENSITY_OF = {"oil": (0.85, 0.91, 0.97), "water": (0.98, 1.0, 1.1), "powder": (2.0, 3.0, 5.0)}
_POWDER_OA = (15.0, 40.0, 120.0)
_DROP_PACKING = (0.74, 0.80, 0.87)
_INTRINSIC = 2.5
_STIRRED = (0.05, 0.2, 1.0)
_EXPONENT = (2.0, 2.5, 4.0)
#: Attraction between particles, Pa, and where it starts; order of magnitude, an assumption.
_ATTRACTION = (400.0, 2500.0, 15000.0)
_PERCOLATION = 0.05
#: Network of fatty alcohol and surfactant in the water of an O/W cream, % of the formula.
_LAMELLAR_CRITICAL = (1.2, 2.5, 5.0)


@dataclass(slots=True)
class Body:
    """What resists flow in a batch; volumes in ml per 100 g, arrays over draws."""

    batch: Batch
    phases: Phases
    species: Species
    system: str | None
    oil: OilPhase
    draw: Sampler
    base: Snapshot
    v_oil: Array = field(init=False)
    v_water: Array = field(init=False)
    v_powder: Array = field(init=False)

    def __post_init__(self) -> None:
        self.v_oil = self._volume(self.phases.oil, "oil")
        self.v_water = self._volume(self.phases.water, "water")
        self.v_powder = self._volume(self.phases.powder, "powder")

    def _volume(self, shares: tuple[Share, ...], phase: str) -> Array:
        total = np.zeros(self.draw.count)
        for share in shares:
            total = total + share.percent / self.draw.need(
                share.material, "density", DENSITY_OF[phase]
            )
        return total

    def at(
        self, t_c: float, states: dict[float, OilState]
    ) -> tuple[Array, Array, list[str]] | None:
        """Return viscosity (mPa.s), yield (Pa) and notes at a temperature, or nothing to judge."""
        if self.system in {"o/w", "water gel"} or (
            self.system == "suspension" and self.phases.water_mass > self.phases.oil_mass
        ):
            return self._water_outside(t_c)
        if self.system == "powder" or t_c not in states:
            return None
        return (*self._oil_outside(states[t_c]), [])

    def powder_share(self) -> float:
        """Return the volume share of powder in powder and oil."""
        powder, oil = float(self.v_powder[0]), float(self.v_oil[0])
        return powder / (powder + oil) if powder + oil > 0 else 0.0

    def _powder_terms(self, fluid: Array) -> tuple[Array, Array, Array]:
        """Viscous factor, yield factor and attraction yield of the powders in a fluid volume."""
        one = np.ones(self.draw.count)
        if not self.phases.powder or float(fluid[0]) <= 0:
            return one, one, 0.0 * one
        phi = self.v_powder / (self.v_powder + fluid)
        demand = np.zeros(self.draw.count)
        for share in self.phases.powder:
            density = self.draw.need(share.material, "density", DENSITY_OF["powder"])
            oil_absorption = self.draw.need(share.material, "oil_absorption", _POWDER_OA)
            packing = np.asarray(powders.cpvc(oil_absorption, density, 0.935))
            demand = demand + share.percent / density / packing
        packing_all = np.clip(self.v_powder / demand, 0.05, 0.9)
        phi = np.minimum(phi, 0.97 * packing_all)
        viscous = np.asarray(droplets.krieger_dougherty(phi, packing_all, _INTRINSIC))
        amplified = np.asarray(powders.yield_amplification(phi, packing_all))
        wetted = any(self.base.does(s.material, "dispersant") >= 0.4 for s in self.phases.oil)
        strength = _ATTRACTION[1] * self.draw.factor("powder/attraction", 6.0)
        if wetted:
            strength = strength * 0.3
        start = np.minimum(_PERCOLATION, 0.5 * packing_all)
        attraction = np.asarray(powders.attraction_yield(phi, packing_all, start, strength))
        return viscous, amplified, attraction

    def _drops(self, inner: Array, outer: Array) -> Array:
        phi = np.minimum(inner / np.maximum(inner + outer, 1e-9), 0.735)
        packing = np.clip(_DROP_PACKING[1] + self.draw.shift("drops/packing", 0.06), 0.745, 0.9)
        return np.asarray(droplets.krieger_dougherty(phi, packing, _INTRINSIC))

    def _oil_outside(self, state: OilState) -> tuple[Array, Array]:
        exponent = _EXPONENT[1] + self.draw.shift("network/exponent", 0.5)
        network = state.network * self._class_error()
        net = np.asarray(network_yield(network, exponent, 30.0))
        emulsion = self.system == "w/o"
        keep = np.ones(self.draw.count)
        if emulsion:
            keep = np.clip(_STIRRED[1] * self.draw.factor("process/stirred", 2.5), 0.0, 1.0)
        viscous, amplified, attraction = self._powder_terms(self.v_oil)
        drops = (
            self._drops(self.v_water, self.v_oil + self.v_powder)
            if emulsion
            else np.ones(self.draw.count)
        )
        tau = np.asarray(consistency.total_yield(net, keep, amplified, np.zeros(1), attraction))
        eta = consistency.apparent_viscosity(state.viscosity, viscous, drops, tau, RATE)
        return np.asarray(eta), tau

    def _class_error(self) -> Array:
        """Error of the critical levels between kinds of structurant; cancels within one kind."""
        if self.draw.count == 1:
            return np.ones(1)
        parts = self.oil.network_by_material(25.0)
        total = sum(parts.values())
        if total <= 0:
            return np.ones(self.draw.count)
        log_error = np.zeros(self.draw.count)
        for material, part in parts.items():
            kind = next(
                (
                    r
                    for r in ("butter", "oil-gellant", "wax", "semisolid-occlusive", "emulsifier")
                    if self.base.does(material, r)
                ),
                "other",
            )
            log_error = log_error + part / total * np.log(self.draw.factor(f"network/{kind}", 1.35))
        return np.asarray(np.exp(log_error))

    def _water_outside(self, t_c: float) -> tuple[Array, Array, list[str]]:
        base, phases = self.base, self.phases
        eta_w, held, notes = waterphase.thickness(phases, self.species, self.batch, self.draw, base)
        fade = np.exp(-0.015 * (t_c - 25.0))
        lamellar = np.zeros(self.draw.count)
        for share in phases.oil:
            network = max(
                base.does(share.material, "gel-network-alcohol"),
                base.does(share.material, "low-hlb-partner"),
                base.does(share.material, "solid-fatty-acid"),
            )
            if network >= 0.3:
                critical = self.draw.need(
                    f"{share.material}", "lamellar_critical", _LAMELLAR_CRITICAL
                )
                melting = base.value(share.material, "melting_point", 55.0)
                soft = 1.0 / (1.0 + np.exp((t_c - (melting - 5.0)) / 4.0))
                lamellar = lamellar + network * share.percent / critical * soft
        exponent = 2.2 + self.draw.shift("lamellar/exponent", 0.5)
        tau = 30.0 * lamellar**exponent + held * fade
        drops = self._drops(self.v_oil, self.v_water) if self.system == "o/w" else 1.0
        viscous, amplified, _ = self._powder_terms(self.v_water)
        eta = eta_w * fade * drops * viscous + tau * amplified / RATE * 1000.0
        return np.asarray(eta), np.asarray(tau), notes

    # -- oil figures --------------------------------------------------------------------------
