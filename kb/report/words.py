"""How quantities and units are called in a sentence."""

from __future__ import annotations

from kb.report.tree import Tree

_NAMES = {
    "hlb": "HLB of the emulsifiers",
    "required_hlb": "required HLB of the oils",
    "oil_viscosity_25c": "liquid oil, 25 degC",
    "consistency_25c": "consistency, 25 degC",
    "climate_drift_10_over_40": "consistency 10 over 40 degC",
    "solids_10c": "oil-phase solids, 10 degC",
    "solids_25c": "oil-phase solids, 25 degC",
    "solids_40c": "oil-phase solids, 40 degC",
    "oil_binding": "oil binding",
    "powder_volume": "powder, by volume",
    "dispersed_fraction": "inner phase, by volume",
    "density": "density",
    "water_phase_ph": "pH of the water phase",
    "water_activity": "water activity",
    "free_preservative": "free preservative in water",
    "natural_origin": "natural origin with water",
    "oxidation": "oxidation index",
    "settling": "settling of powder",
    "cost": "cost",
    "feel": "feel",
}


def quantity_name(name: str) -> str:
    """Return how a quantity is called in a sentence."""
    return _NAMES.get(name, name.replace("_", " "))


def titled(named: Tree) -> str:
    """Return an INCI name with its grade, which tells two of one name apart."""
    inci: str = named["inci"]
    return f"{inci} ({named['grade']})" if named.get("grade") else inci


def unit_word(unit: str) -> str:
    """Return a unit as written behind a figure; nothing for plain numbers."""
    return "" if unit in {"1", "-", "pH", "index"} else unit


def with_unit(figure: str, unit: str) -> str:
    """Return a figure with its unit behind it."""
    return f"{figure} {unit_word(unit)}".rstrip()


def plural(number: int, word: str) -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> plural(1, "note"), plural(2, "note")
    ('1 note', '2 notes')
    """
    return f"{number:,} {word}{'' if number == 1 else 's'}"
