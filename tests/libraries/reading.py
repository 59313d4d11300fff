"""What general libraries say of a pure compound, by registry number, past their known traps."""

import statistics
from dataclasses import dataclass

import chemicals
from chemicals.identifiers import search_chemical
from thermo.interface import SurfaceTension
from thermo.viscosity import ViscosityLiquid
from thermo.volume import VolumeLiquid, VolumeSolid

ZERO_C = 273.15
#: Estimates, tables that run on as a straight line, fits far from a measurement (each by test).
REFUSED = {
    "melting_point": {"JOBACK"},
    "density": {"VDI_TABULAR"},
    "viscosity": {
        "VDI_TABULAR",
        "Fit 2023",
        "VISWANATH_NATARAJAN_2",
        "VISWANATH_NATARAJAN_2E",
        "VISWANATH_NATARAJAN_3",
        "LETSOU_STIEL",
        "JOBACK",
    },
    "surface_tension": {"VDI_TABULAR"},
}
#: A row of ours that came from a collection is not compared with the same collection.
SAME = {
    "crc-": "CRC",
    "cas-common": "COMMON_CHEMISTRY",
    "nist": "WEBBOOK",
    "vdi-": "VDI",
    "perry": "DIPPR",
    "viswanath": "VISWANATH",
    "jasper": "JASPER",
}


@dataclass(frozen=True)
class Compound:
    """An entry found under the very registry number that was asked for."""

    cas: str
    molar_mass: float
    formula: str
    smiles: str


def compound(cas: str) -> Compound | None:
    """Look a registry number up; none when it is missing or answered with another number."""
    if not cas:
        return None
    try:
        found = search_chemical(cas)
    except ValueError:
        return None
    if found.CASs != cas:
        return None
    return Compound(cas, float(found.MW), found.formula, found.smiles)


def melting_points(cas: str, source: str = "") -> dict[str, float]:
    """Return measured melting points by data set, degC; estimates never."""
    return {
        key: chemicals.Tm(cas, method=key) - ZERO_C
        for key in chemicals.Tm_methods(cas)
        if key not in REFUSED["melting_point"] and not _same(key, source)
    }


def at(name: str, found: Compound, t_c: float, source: str = "") -> dict[str, float]:
    """Return density (g/ml), viscosity (mPa.s) or surface tension (mN/m) by method.

    Liquid correlations run on below the melting point without a word, so the state is settled
    first, and each method is asked only inside its own limits.
    """
    melting = melting_points(found.cas).values()
    solid = bool(melting) and t_c < statistics.median(melting) - 1.0
    if solid and name != "density":
        return {}
    kind = {
        "density": VolumeSolid if solid else VolumeLiquid,
        "viscosity": ViscosityLiquid,
        "surface_tension": SurfaceTension,
    }[name]
    asked = kind(CASRN=found.cas)
    values = {}
    for key in sorted(asked.all_methods - REFUSED[name]):
        low, high = asked.T_limits.get(key, (0.0, 1e5))
        if _same(key, source) or not low - 1.0 <= t_c + ZERO_C <= high + 1.0:
            continue
        raw = asked.calculate(t_c + ZERO_C, key)
        values[key] = found.molar_mass / raw / 1e6 if name == "density" else raw * 1000.0
    return values


def _same(key: str, source: str) -> bool:
    return any(source.startswith(start) and key.startswith(k) for start, k in SAME.items())
