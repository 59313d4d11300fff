"""The body of a product: viscosity and yield from oil, drops, powder and network."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from kb.engine import waterphase
from kb.engine.batch import Batch, Phases, Share
from kb.engine.oilphase import OilPhase, OilState
from kb.engine.polyols import water_with_polyols
from kb.engine.sampling import Sampler
from kb.engine.species import Species
from kb.science import attraction, consistency, droplets, powders
from kb.science.numbers import Array
from kb.science.structure import (
    REFERENCE_YIELD,
    SELF_REFERENCE_YIELD,
    STIRRED_MELT_SHARE,
    network_yield,
    stirred_share,
)
from kb.store.snapshot import Snapshot

RATE = 10.0
#: Temperature at which a stirred product is filled and sets, degC.
_SET_C = 25.0
#: Defaults as (low, value, high) where a material has no fact of its own.
DENSITY_OF = {"oil": (0.85, 0.91, 0.97), "water": (0.98, 1.0, 1.1), "powder": (2.0, 3.0, 5.0)}
_POWDER_OA = (15.0, 40.0, 120.0)
_DROP_PACKING = (0.74, 0.80, 0.87)
_INTRINSIC = 2.5
#: Share of its crystal network that emulsifying leaves; the rank of published consistencies holds
#: alike from 0.05 to 0.2 (structure.STIRRED_SHARE reaches from 0.05 to 1).
_STIRRED = (0.03, 0.1, 0.4)
_EXPONENT = (2.0, 2.5, 4.0)
#: Shear-thinning index of gums in water and the rate their viscosity is stated at, 1/s (a spindle
#: at 20 to 30 rounds a minute; assumption).
_GUM_INDEX = (0.3, 0.5, 0.7)
_GUM_RATE = 4.0
_SIZE = (0.3, 2.0, 15.0)
_POWDER_INDEX = (1.5, 1.57, 2.0)
_OIL_INDEX = (1.44, 1.465, 1.48)
#: Volume share at which attracting particles first connect (powders.ATTRACTION_PERCOLATION).
_PERCOLATION = 0.05
#: Share of polar oil in the oil phase that is enough to cover a powder (assumption).
_POLAR_ENOUGH = 0.2
#: Surface-active material, as a share of the powder, that covers it (assumption: 1 to 2 %).
_COVERS = 0.01
#: Liquid that flocs hold, beyond what a rubbed paste needs: the flow point of a powder in an oil
#: that does not disperse it lies about this factor above its rub-out value (assumption).
_FLOC = 1.6
#: Network of fatty alcohol and surfactant in the water of an O/W cream, % of the formula: 2 to 3 %
#: pours, 4 to 8 % makes creams (common practice).
_LAMELLAR_CRITICAL = (4.0, 6.0, 8.0)
#: Fatty alcohol that a surfactant can swell into that network, in parts of its mass: emulsifying
#: waxes hold 9 to 1 with a charged and 4 to 1 with an ethoxylated one.
_SWELLS = {"charged": 9.0, "nonionic": 4.0}


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
        self, t_c: float, states: dict[float, OilState], rate: float = RATE
    ) -> tuple[Array, Array, list[str]] | None:
        """Return viscosity (mPa.s), yield (Pa) and notes at a temperature, or nothing to judge.

        The viscosity is that at a shear rate, 1/s.
        """
        if self.system in {"o/w", "water gel"} or (
            self.system == "suspension" and self.phases.water_mass > self.phases.oil_mass
        ):
            return self._water_outside(t_c, rate)
        if self.system == "powder" or t_c not in states:
            return None
        return (*self._oil_outside(states[t_c], states.get(_SET_C), rate), [])

    def powder_share(self) -> float:
        """Return the volume share of powder in powder and oil."""
        powder, oil = float(self.v_powder[0]), float(self.v_oil[0])
        return powder / (powder + oil) if powder + oil > 0 else 0.0

    def _powder_terms(self, fluid: Array) -> tuple[Array, Array, Array]:
        """Viscous factor, yield factor and attraction yield of the powders in a fluid volume."""
        one = np.ones(self.draw.count)
        if not self.phases.powder or float(fluid[0]) <= 0:
            return one, one, 0.0 * one
        need, draw = self.draw.need, self.draw
        gap = self._gap()
        floc = 1.0 + (_FLOC - 1.0) * (attraction.COVERED_GAP - gap) / (
            attraction.COVERED_GAP - attraction.BARE_GAP[0]
        )
        volumes, packings, sizes, constants = [], [], [], []
        index_oil = self._oil_index()
        for share in self.phases.powder:
            density = need(share.material, "density", DENSITY_OF["powder"])
            oil_absorption = need(share.material, "oil_absorption", _POWDER_OA)
            volumes.append(share.percent / density)
            packings.append(np.asarray(powders.cpvc(oil_absorption * floc, density, 0.935)))
            sizes.append(need(share.material, "particle_size", _SIZE))
            index = need(share.material, "refractive_index", _POWDER_INDEX)
            constants.append(np.asarray(attraction.hamaker(index, index_oil)))
        volume = np.stack(volumes)
        packing = np.clip(np.asarray(powders.mixed_packing(volume, np.stack(packings))), 0.05, 0.9)
        phi = np.minimum(self.v_powder / (self.v_powder + fluid), 0.97 * packing)
        size = np.stack(sizes)
        strength = attraction.contact_strength(
            attraction.mixed_hamaker(volume, size, np.stack(constants)),
            attraction.sauter_size(volume, size),
            gap,
        ) * draw.factor("powder/attraction", 4.0)
        viscous = np.asarray(droplets.krieger_dougherty(phi, packing, _INTRINSIC))
        amplified = np.asarray(powders.yield_amplification(phi, packing))
        start = np.minimum(_PERCOLATION, 0.5 * packing)
        pull = np.asarray(powders.attraction_yield(phi, packing, start, strength))
        return viscous, amplified, pull

    def _gap(self) -> float:
        """Return the closest distance of particles in this fluid, nm: what sits on the powder."""
        phases, base = self.phases, self.base
        covers = sum(s.percent for s in (*phases.oil, *phases.water) if self._covers(s.material))
        if covers >= _COVERS * phases.powder_mass:
            return attraction.COVERED_GAP
        polar = sum(
            s.percent
            for s in phases.oil
            if "mineral-oil-derived" not in base.materials[s.material].tags
            and base.does(s.material, "nonpolar-oil") < 0.5
            and base.does(s.material, "wax") < 0.4
        )
        covered = min(1.0, polar / max(phases.oil_mass, 1e-9) / _POLAR_ENOUGH)
        bare = attraction.BARE_GAP[0]
        return bare + covered * (attraction.POLAR_OIL_GAP - bare)

    def _covers(self, material: str) -> bool:
        base = self.base
        return (
            max(base.does(material, r) for r in ("dispersant", "emulsifier", "soap-acid")) >= 0.4
            or "sterol" in base.materials[material].tags
        ) and base.does(material, "wax") < 0.4

    def _oil_index(self) -> Array:
        total, mass = np.zeros(self.draw.count), 0.0
        for share in self.phases.oil:
            total = total + share.percent * self.draw.need(
                share.material, "refractive_index", _OIL_INDEX
            )
            mass += share.percent
        return total / mass if mass > 0 else np.full(self.draw.count, 1.333)

    def _drops(self, inner: Array, outer: Array) -> Array:
        phi = np.minimum(inner / np.maximum(inner + outer, 1e-9), 0.735)
        packing = np.clip(_DROP_PACKING[1] + self.draw.shift("drops/packing", 0.06), 0.745, 0.9)
        return np.asarray(droplets.krieger_dougherty(phi, packing, _INTRINSIC))

    def _oil_outside(
        self, state: OilState, at_set: OilState | None, at_rate: float
    ) -> tuple[Array, Array]:
        exponent = _EXPONENT[1] + self.draw.shift("network/exponent", 0.5)
        network = state.network * self._class_error()
        own = np.asarray(network_yield(state.self_network, exponent, SELF_REFERENCE_YIELD))
        whole = np.asarray(network_yield(network, exponent, REFERENCE_YIELD))
        net = np.maximum(whole - own * REFERENCE_YIELD / SELF_REFERENCE_YIELD, 0.0)
        emulsion = self.system == "w/o"
        keep = np.ones(self.draw.count)
        if emulsion or self.batch.product.get("process") == "stirred":
            central = _STIRRED[1] if emulsion else STIRRED_MELT_SHARE[0]
            nominal = np.clip(central * self.draw.factor("process/stirred", 3.0), 0.0, 1.0)
            # What sets later, in the cold, is not stirred: the share is that of the filled body.
            filled = at_set or self.oil.at(_SET_C)
            keep = np.asarray(stirred_share(filled.network * self._class_error(), nominal))
        if emulsion:
            # Drops that nothing ties to a soft fat carry no load: its section shrinks by them.
            own = own * self.v_oil / np.maximum(self.v_oil + self.v_water, 1e-9)
        viscous, amplified, pull = self._powder_terms(self.v_oil)
        drops = (
            self._drops(self.v_water, self.v_oil + self.v_powder)
            if emulsion
            else np.ones(self.draw.count)
        )
        tau = np.asarray(
            consistency.total_yield(net * keep + own, 1.0, amplified, np.zeros(1), pull)
        )
        eta = consistency.apparent_viscosity(state.viscosity, viscous, drops, tau, at_rate)
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

    def _water_outside(self, t_c: float, at_rate: float) -> tuple[Array, Array, list[str]]:
        base, phases = self.base, self.phases
        eta_w, held, notes = waterphase.thickness(phases, self.species, self.batch, self.draw, base)
        fade = np.exp(-0.015 * (t_c - 25.0))
        lamellar = self._lamellar(t_c)
        exponent = 2.2 + self.draw.shift("lamellar/exponent", 0.5)
        # Set while stirred, like the crystals of a W/O cream; its levels are those of creams.
        net = REFERENCE_YIELD * lamellar**exponent * np.asarray(stirred_share(lamellar, 1.0))
        tau = net + held * fade
        viscous, amplified, _ = self._powder_terms(self.v_water)
        factor = viscous
        if self.system == "o/w":
            factor = factor * self._drops(self.v_oil, self.v_water)
        # Water with gum thins with shear, and between drops it is sheared faster than the whole.
        solid = (self.v_oil + self.v_powder) / np.maximum(
            self.v_oil + self.v_powder + self.v_water, 1e-9
        )
        rate = at_rate * np.sqrt(factor / np.maximum(1.0 - solid, 0.05))
        index = np.clip(_GUM_INDEX[1] + self.draw.shift("gum/index", 0.2), 0.1, 1.0)
        thin = water_with_polyols(phases, self.draw, self.base)
        gum = np.maximum(eta_w - thin, 0.0) * (rate / _GUM_RATE) ** (index - 1.0)
        eta = (thin + gum) * fade * factor + tau * amplified / at_rate * 1000.0
        return np.asarray(eta), np.asarray(tau), notes

    def _lamellar(self, t_c: float) -> Array:
        """Return the network of swollen fatty alcohol, in units of its least level."""
        base = self.base
        parts: list[tuple[float, Array]] = []
        for share in self.phases.oil:
            each = lamellar_part(share.material, t_c, self.draw, base)
            if each is not None:
                parts.append((share.percent, each))
        total = sum(percent for percent, _ in parts)
        room = min(1.0, self._swelling() / total) if total > 0 else 0.0
        found = np.zeros(self.draw.count)
        for percent, each in parts:
            found = found + room * percent * each
        return found

    def _swelling(self) -> float:
        """Return the fatty alcohol the surfactants at hand can swell, % of the formula."""
        base, soap = self.base, self.species.soap
        total = 0.0 if soap is None else soap.percent * _SWELLS["charged"]
        for share in (*self.phases.oil, *self.phases.water):
            total += share.percent * swells(share.material, base)
        return total


def lamellar_part(material: str, t_c: float, draw: Sampler, base: Snapshot) -> Array | None:
    """Return what one percent of a fatty partner brings to the swollen network; none of others."""
    network = max(
        base.does(material, "gel-network-alcohol"),
        base.does(material, "low-hlb-partner"),
        base.does(material, "solid-fatty-acid"),
    )
    if network < 0.3:
        return None
    critical = draw.need(material, "lamellar_critical", _LAMELLAR_CRITICAL)
    melting = base.value(material, "melting_point", 55.0)
    soft = 1.0 / (1.0 + np.exp((t_c - (melting - 5.0)) / 4.0))
    return np.asarray(network * soft / critical)


def swells(material: str, base: Snapshot) -> float:
    """Return how much fatty alcohol a surfactant can swell, in parts of its mass."""
    if base.does(material, "ow-emulsifier") < 0.4:
        return 0.0
    charged = base.materials[material].charge in {"anionic", "cationic"}
    return _SWELLS["charged" if charged else "nonionic"]
