"""The oil phase at a temperature: what is crystal, how thick the liquid, how strong the network."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from kb.engine.batch import Share
from kb.engine.liquids import ALCOHOL, HYDROCARBON, MOLAR_MASS, blended
from kb.engine.sampling import Sampler
from kb.science import solids as crystal_science
from kb.science import viscosity
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

#: Defaults as (low, value, high) where a material has no fact of its own.
_LIQUID_VISCOSITY = (10.0, 30.0, 100.0)
_EMULSIFIER_VISCOSITY = (200.0, 800.0, 4000.0)
#: Liquid part of petrolatum and like fats: its melt, 5 to 9 mm2/s at 100 degC, carried to 25 degC.
_SOFT_VISCOSITY = (60.0, 150.0, 400.0)
#: A soft or waxy material thicker than this was measured as a body, not as a liquid, mPa.s.
_APPARENT = 1000.0
_DENSITY = (0.85, 0.91, 0.97)
_SLOPE = (3.0, 3.6, 4.2)
#: Family of liquids by the role its members play, for the slope of viscosity on temperature.
_FAMILY_OF_ROLE = (
    ("fixed-oil", "triglyceride"),
    (HYDROCARBON, "hydrocarbon"),
    (ALCOHOL, "liquid fatty alcohol"),
    ("ester-emollient", "light ester"),
)
_WAXY = frozenset({"waxy", "crystalline"})
#: Dissolved wax in the liquid: 40 mm2/s at 25 degC, slope 3.0 (assumption of the worked example).
_DISSOLVED_NU = 40.0
_DISSOLVED_SLOPE = 3.0
#: Self-structured fats lose body with warmth: 59 to 106 kJ/mol for petrolatum, measured.
_SOFT_ENERGY = (59.0, 80.0, 106.0)
#: Fallback enthalpy of fusion for waxy solids, J/g.
_WAX_ENTHALPY = (140.0, 180.0, 220.0)
_GAS = 8.314e-3
#: Error of the solubility of a solid in oils that are not quite ideal, all components alike.
_SOLUBILITY_ERROR = 1.3
#: What a component's melting point is known to, K.
_MELTING_K = 1.5
#: Lots of a butter differ in the share of their solid triglycerides, by a factor: cocoa butter of
#: three origins runs from 53 to 77 % solid at 25 degC, mostly below what its listed triglycerides
#: give. Fats that are blended in bulk before sale differ less: tables of palm and palm kernel oil
#: agree within 3 %. Nine in ten of the 25 published points lie inside.
_LOT, _LOT_MOST = 1.24, 1.02
_BULK, _BULK_LOT = "elaeis-guineensis", 1.05
_NETWORK_EXPONENT = (2.0, 2.5, 4.0)
#: Share of the spread of critical levels that the oil makes and all structurants have in common
#: (small polar or volatile oils need up to five times more; assumption).
_OIL_SHARE = 0.7
#: Critical gelling level in % of the oil phase when nothing is known.
_CRITICAL = (2.0, 6.0, 12.0)


@dataclass(slots=True)
class _Component:
    share: int
    mass: float | Array
    molar: Array
    melting: Array
    enthalpy: Array
    association: str
    activity: float


@dataclass(slots=True)
class OilState:
    """The oil phase at one temperature; arrays over draws."""

    solids: Array
    viscosity: Array
    network: Array
    self_network: Array
    liquid_share: Array


@dataclass(slots=True)
class OilPhase:
    """An oil phase taken apart once, to be looked at at several temperatures."""

    shares: tuple[Share, ...]
    base: Snapshot
    draw: Sampler
    limited_by: list[str] = field(default_factory=list)
    _components: list[_Component] = field(default_factory=list)
    _liquids: list[tuple[Share, float | Array]] = field(default_factory=list)
    _soft: list[Share] = field(default_factory=list)
    _gellants: list[Share] = field(default_factory=list)
    _mass: float = 0.0
    _stacked: tuple[Array, Array, Array, Array, Array] | None = None
    _liquid_mols: Array | None = None
    _solids: dict[float, Array] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._mass = sum(share.percent for share in self.shares)
        for index, share in enumerate(self.shares):
            self._take(index, share)

    @property
    def empty(self) -> bool:
        """True when there is no oil phase."""
        return self._mass <= 0.0

    # -- sorting what each material brings ----------------------------------------------------

    def _take(self, index: int, share: Share) -> None:
        about = self.base.materials[share.material]
        part = share.percent / self._mass
        crystals = self.base.crystals(share.material)
        if crystals:
            left = np.full(self.draw.count, part)
            lot = self._lot(share.material, sum(one.share for one in crystals))
            for one in crystals:
                mass = part * one.share * lot
                left = left - mass
                key = f"{share.material}/{one.component}"
                self._components.append(
                    _Component(
                        index,
                        mass,
                        np.full(self.draw.count, one.molar_mass),
                        one.melting_point + self.draw.shift(f"melting/{key}", _MELTING_K),
                        one.fusion_enthalpy * self.draw.factor(f"fusion/{key}", 1.15),
                        one.association,
                        one.activity,
                    )
                )
            if float(left[0]) > 1e-9:
                self._liquids.append((share, np.maximum(left, 1e-9)))
            return
        if self._undissolved(share.material):
            self._gellants.append(share)
            return
        if self._self_structured(share.material):
            self._soft.append(share)
            self._liquids.append((share, part))
            return
        melting = self.base.known(share.material, "melting_point")
        solid = about.form in {"waxy", "crystalline", "powder"}
        if solid and melting is not None and melting.high > 25.0:
            self._components.append(self._fallback(index, share, part, melting.high))
            if share.percent > 0.2:
                self.limited_by.append(f"no crystal data for {about.inci}")
            return
        if about.form == "semisolid" and melting is not None and melting.high > 25.0:
            self._components.append(self._fallback(index, share, 0.5 * part, melting.high))
            self._liquids.append((share, 0.5 * part))
            return
        self._liquids.append((share, part))

    def _lot(self, material: str, solid_share: float) -> Array:
        """Return the factor by which the solid part of this lot of a butter differs."""
        if self.base.does(material, "butter") < 0.5:
            return np.ones(self.draw.count)
        spread = _BULK_LOT if material.startswith(_BULK) else _LOT
        lot = self.draw.factor(f"lot/{material}", spread)
        return np.minimum(lot, min(_LOT_MOST, 1.0 / solid_share))

    def _fallback(self, index: int, share: Share, mass: float, melting: float) -> _Component:
        material = share.material
        molar = self.draw.need(material, "molar_mass", (350.0, 600.0, 850.0))
        heat = self.draw.need(material, "fusion_enthalpy", _WAX_ENTHALPY)
        tm = melting + self.draw.shift(f"melting/{material}", 4.0)
        return _Component(index, mass, molar, tm, heat * molar / 1000.0, "plain", 1.0)

    def _undissolved(self, material: str) -> bool:
        return any(
            self.base.does(material, role) >= 0.5
            for role in (
                "polymeric-oil-gellant",
                "mineral-oil-phase-gellant",
                "metal-soap-thickener",
            )
        )

    def _self_structured(self, material: str) -> bool:
        return self.base.materials[material].form == "semisolid" and (
            self.base.does(material, "semisolid-occlusive") >= 0.5
            or self.base.does(material, "sticky-fat") >= 0.5
        )

    # -- the state at a temperature ------------------------------------------------------------

    def at(self, t_c: float) -> OilState:
        """Return solids (fraction of the oil phase), liquid viscosity (mPa.s) and network sum."""
        solid = self._solid(t_c)
        total = solid.sum(axis=0) if len(solid) else np.zeros(self.draw.count)
        gellants = sum(s.percent for s in self._gellants) / self._mass
        return OilState(
            total,
            self._viscosity(t_c, solid),
            self._network(t_c, solid),
            self._self_network(t_c),
            np.maximum(1.0 - total - gellants, 0.02),
        )

    def solids(self, t_c: float) -> Array:
        """Return the crystals, as a fraction of the oil phase."""
        solid = self._solid(t_c)
        return np.asarray(solid.sum(axis=0)) if len(solid) else np.zeros(self.draw.count)

    def _solid(self, t_c: float) -> Array:
        found = self._solids.get(t_c)
        if found is None:
            found = self._solids[t_c] = self._crystals(t_c)
        return found

    def _crystals(self, t_c: float) -> Array:
        if not self._components:
            return np.zeros((0, self.draw.count))
        molar, mols, limits = self._saturation(t_c)
        solid = crystal_science.dissolve(mols, limits, self._mols_of_liquid())
        return np.asarray(solid * molar)

    def _saturation(self, t_c: float) -> tuple[Array, Array, Array]:
        """Return molar mass, moles and saturation mole fraction: components by draws."""
        if self._stacked is None:
            self._stacked = self._stack()
        molar, mols, melting, enthalpy, activity = self._stacked
        limits = np.array(crystal_science.ideal_solubility(t_c, melting, enthalpy, activity))
        for row, c in enumerate(self._components):
            if c.association == "dimer":
                limits[row] = crystal_science.dimer_solubility(t_c, c.melting, c.enthalpy)
            elif c.association == "mixed":
                limits[row] = crystal_science.acid_solubility_in_ester(t_c, c.melting, c.enthalpy)
        limits = np.minimum(limits * self.draw.factor("solids/solubility", _SOLUBILITY_ERROR), 1.0)
        return molar, mols, limits

    def crystallising(self, t_c: float) -> list[tuple[str, float, float, float]]:
        """Return what can crystallise: material, mass fraction, g/mol, saturation mole fraction.

        Central values; the mass fraction is of the oil phase.
        """
        if not self._components:
            return []
        molar, mols, limits = self._saturation(t_c)
        return [
            (
                self.shares[c.share].material,
                float(mols[row][0] * molar[row][0]),
                float(molar[row][0]),
                float(limits[row][0]),
            )
            for row, c in enumerate(self._components)
        ]

    def melt_mols(self, t_c: float) -> float:
        """Return the moles of all that is liquid at a temperature, per gram of oil phase."""
        total = float(self._mols_of_liquid()[0])
        if not self._components:
            return total
        molar, mols, _ = self._saturation(t_c)
        return total + float((mols[:, 0] - self._solid(t_c)[:, 0] / molar[:, 0]).sum())

    def uncrystallised_network(self, t_c: float) -> float:
        """Return what gellants and self-structured fats bring to the network sum; central."""
        total = float(self._self_network(t_c)[0])
        for share in self._gellants:
            part = 100.0 * share.percent / self._mass
            total += part / float(self.critical(share.material)[0])
        return total

    def _stack(self) -> tuple[Array, Array, Array, Array, Array]:
        """Return molar mass, moles, melting point, enthalpy, activity: components by draws."""
        molar = np.stack([c.molar for c in self._components])
        return (
            molar,
            np.stack([c.mass / c.molar for c in self._components]),
            np.stack([c.melting for c in self._components]),
            np.stack([c.enthalpy for c in self._components]),
            np.array([[c.activity] for c in self._components]),
        )

    def _mols_of_liquid(self) -> Array:
        if self._liquid_mols is None:
            total = np.zeros(self.draw.count)
            for share, mass in self._liquids:
                total = total + mass / self.draw.need(share.material, "molar_mass", MOLAR_MASS)
            self._liquid_mols = np.maximum(total, 1e-9)
        return self._liquid_mols

    def _viscosity(self, t_c: float, solid: Array) -> Array:
        weights: list[Array] = []
        nus: list[Array] = []
        volumes = np.zeros(self.draw.count)
        for share, mass in self._liquids:
            weights.append(mass + np.zeros(self.draw.count))
            nus.append(self.kinematic(share.material, t_c))
            volumes = volumes + mass / self.draw.need(share.material, "density", _DENSITY)
        dissolved = sum(c.mass for c in self._components) - solid.sum(axis=0)
        weights.append(np.maximum(dissolved, 0.0) + 1e-9)
        nus.append(
            np.full(
                self.draw.count,
                float(viscosity.at_temperature(_DISSOLVED_NU, 25.0, t_c, _DISSOLVED_SLOPE)),
            )
        )
        w, nu = np.stack(weights), np.stack(nus)
        mass_sum = w.sum(axis=0)
        density = mass_sum / (volumes + weights[-1] / _DENSITY[1])
        w = w / mass_sum
        liquids = [share.material for share, _ in self._liquids]
        index, error = blended(liquids, w, nu, self.base, self.draw)
        power = np.log(self.draw.factor("oil-viscosity/mixing", math.e))  # 90 % within one
        return np.asarray(index * error**power * density)

    def kinematic(self, material: str, t_c: float) -> Array:
        """Return the kinematic viscosity of one liquid at a temperature, mm2/s."""
        about = self.base.materials[material]
        if about.form == "semisolid":
            default = _SOFT_VISCOSITY
        elif self.base.does(material, "emulsifier"):
            default = _EMULSIFIER_VISCOSITY
        else:
            default = _LIQUID_VISCOSITY
        # What of a wax does not crystallise is little, and nobody measures it.
        if self.base.known(material, "viscosity") is None and about.form not in _WAXY:
            note = f"no viscosity for {about.inci}"
            if note not in self.limited_by:
                self.limited_by.append(note)
        if about.form in {"semisolid", "waxy"} and (
            self.base.value(material, "viscosity", 0.0) > _APPARENT
        ):
            # Measured with its own crystals in it; what flows between them is wanted here.
            low, value, high = _SOFT_VISCOSITY
            error = self.draw.factor(f"liquid-part/{material}", math.sqrt(high / low))
            eta = value * error
        else:
            eta = self.draw.need(material, "viscosity", default)
        density = self.draw.need(material, "density", _DENSITY)
        nu = np.maximum(eta / density, 0.3)
        if t_c == 25.0:
            return np.asarray(nu)
        slope = self.draw.need(material, "viscosity_slope", self._slope(material))
        return np.maximum(np.asarray(viscosity.at_temperature(nu, 25.0, t_c, slope)), 0.25)

    def _slope(self, material: str) -> tuple[float, float, float]:
        """Return low, value, high of the slope in the family of a liquid."""
        if material.startswith("ricinus-communis-seed-oil"):
            value, low, high = viscosity.FAMILY_SLOPE["hydroxy triglyceride"]
            return low, value, high
        for role, family in _FAMILY_OF_ROLE:
            if self.base.does(material, role) >= 0.5:
                value, low, high = viscosity.FAMILY_SLOPE[family]
                return low, value, high
        return _SLOPE

    def binding(self, t_c: float) -> Array:
        """Return how well crystals and gels hold the liquid oil.

        The network over the liquid share; fine crystals (habit 2) count twice coarse ones (0).
        """
        solid = self._solid(t_c)
        total = np.zeros(self.draw.count)
        held = np.zeros(self.draw.count)
        for row, c in enumerate(self._components):
            material = self.shares[c.share].material
            fine = 0.5 + 0.25 * self.draw.need(material, "crystal_habit", (0.3, 1.0, 1.7))
            total = total + fine * 100.0 * solid[row] / self.critical(material)
            held = held + solid[row]
        for share in (*self._gellants, *self._soft):
            part = share.percent / self._mass
            total = total + 100.0 * part / self.critical(share.material)
        return np.asarray(total / np.maximum(1.0 - held, 0.05))

    def _network(self, t_c: float, solid: Array) -> Array:
        amounts: dict[str, Array] = {}
        for row, c in enumerate(self._components):
            material = self.shares[c.share].material
            amounts[material] = amounts.get(material, np.zeros(self.draw.count)) + solid[row]
        total = np.zeros(self.draw.count)
        for material, amount in amounts.items():
            total = total + 100.0 * amount / self.critical(material)
        for share in self._gellants:
            part = 100.0 * share.percent / self._mass
            total = total + part / self.critical(share.material)
        return total + self._self_network(t_c)

    def _self_network(self, t_c: float) -> Array:
        """Return what fats with a body of their own (petrolatum, wool fat) bring to the sum."""
        total = np.zeros(self.draw.count)
        if not self._soft:
            return total
        heat = _SOFT_ENERGY[1] * self.draw.factor("soft-fat/energy", 1.3)
        fade = np.exp(heat / _GAS * (1 / (t_c + 273.15) - 1 / 298.15) / _NETWORK_EXPONENT[1])
        for share in self._soft:
            part = 100.0 * share.percent / self._mass
            total = total + part * fade / self.critical(share.material)
        return total

    def critical(self, material: str) -> Array:
        """Return the least level that gels oil, % of the oil phase.

        Most of its spread comes from the oil, which moves all structurants alike.
        """
        found = self.draw.shared(
            material, "critical_gelling_concentration", _CRITICAL, "oil", _OIL_SHARE
        )
        return np.maximum(found, 0.05)

    def network_by_material(self, t_c: float) -> dict[str, float]:
        """Return each structurant's central part of the network sum at a temperature."""
        solid = self._solid(t_c)
        parts: dict[str, float] = {}
        for row, c in enumerate(self._components):
            material = self.shares[c.share].material
            value = 100.0 * float(solid[row][0]) / float(self.critical(material)[0])
            parts[material] = parts.get(material, 0.0) + value
        for share in (*self._gellants, *self._soft):
            part = 100.0 * share.percent / self._mass
            value = part / float(self.critical(share.material)[0])
            parts[share.material] = parts.get(share.material, 0.0) + value
        return parts
