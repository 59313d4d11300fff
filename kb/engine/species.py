"""What forms in the pot: soaps by equivalents, neutralised polymers, zinc and acids."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.batch import Batch, Phases
from kb.store.snapshot import Snapshot

#: mg KOH per mol, to turn an acid value into moles.
_KOH_MG = 56105.6
_WATER_G = 18.015


@dataclass(frozen=True, slots=True)
class Soap:
    """Soap formed in place: percent of the formula, counter-ion kind, what it came from."""

    percent: float
    polyvalent: bool
    acids: tuple[str, ...]
    alkalis: tuple[str, ...]
    neutralised: float

    @property
    def hlb(self) -> float:
        """HLB that stands for this soap in the type rule: 18 alkali, 3 polyvalent."""
        return 3.0 if self.polyvalent else 18.0


@dataclass(frozen=True, slots=True)
class Species:
    """What the pot holds besides what was weighed in."""

    soap: Soap | None
    acid_mol: float
    alkali_mol: float
    neutralised_polymers: tuple[str, ...]
    zinc_soap_likely: bool
    basic_powder: tuple[str, ...]

    @property
    def spare_alkali_mol(self) -> float:
        """Alkali left over, mol per 100 g formula."""
        return max(0.0, self.alkali_mol - self.acid_mol)


def form_species(batch: Batch, phases: Phases, base: Snapshot) -> Species:
    """Work out by equivalents what reacts.

    Fatty and wax acids count with their acid value, alkalis with their equivalent mass; what is
    short of the two limits the soap. A basic powder reacts slowly with free fatty acid.
    """
    acids: list[tuple[str, float, float]] = []
    alkalis: list[tuple[str, float, float, bool]] = []
    polymers: list[str] = []
    basic: list[str] = []
    for share in (*phases.oil, *phases.water, *phases.powder):
        about = base.materials[share.material]
        if base.does(share.material, "soap-acid"):
            value = base.value(share.material, "acid_value", 0.0)
            mols = share.percent * 1000.0 * value / _KOH_MG / 1000.0
            if mols > 0:
                acids.append((share.material, mols, share.percent))
        if base.does(share.material, "alkali") >= 0.4 or base.does(share.material, "soap-alkali"):
            equivalent = base.value(share.material, "equivalent_mass")
            if equivalent == equivalent and about.phase != "powder":
                ion = "polyvalent-cation" in about.tags
                alkalis.append((share.material, share.percent / equivalent, equivalent, ion))
        if base.does(share.material, "acrylic-thickener"):
            polymers.append(share.material)
        if about.phase == "powder" and _is_basic(share.material, base):
            basic.append(share.material)
    acid_mol = sum(mols for _, mols, _ in acids)
    alkali_mol = sum(mols for _, mols, _, _ in alkalis)
    soap = None
    reacting = min(acid_mol, alkali_mol)
    if reacting > 1e-6:
        acid_mass = sum(p for _, _, p in acids)
        # A wax brings few acid groups: only the acid that reacts becomes soap.
        reacting_mass = sum(p if m / p > 2.5e-3 else m * 410.0 for _, m, p in acids) * (
            reacting / acid_mol
        )
        added = sum(m * e for _, m, e, _ in alkalis) * (reacting / alkali_mol)
        polyvalent = sum(m for _, m, _, ion in alkalis if ion) > 0.5 * alkali_mol
        soap = Soap(
            min(reacting_mass + added - reacting * _WATER_G * 0.5, acid_mass + added),
            polyvalent,
            tuple(n for n, _, _ in acids),
            tuple(n for n, _, _, _ in alkalis),
            reacting / acid_mol,
        )
    free_acid = any(m / p > 2.5e-3 for _, m, p in acids)
    return Species(
        soap,
        acid_mol,
        alkali_mol,
        tuple(polymers) if alkali_mol > 0 else (),
        bool(basic) and free_acid,
        tuple(basic),
    )


def _is_basic(material: str, base: Snapshot) -> bool:
    generic = material.split("--")[0]
    return generic in {"zinc-oxide", "calamine", "zinc-carbonate", "magnesium-carbonate"} or (
        base.does(material, "alkali") > 0
    )
