"""Viscosity of liquid mixtures, beside the plain mixing rules on the same points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from kb.science import associated, blending

from .row import Point, Row, ratio_row, read

#: Factor of the stated range where the model is not the engine's own, 90 % of the points of a
#: class: glycerin in water by volume; propylene glycol with an ester, one system only.
_FACTOR = {"volume": 1.09, "log": 1.15, "interaction": associated.GLYCOL_WATER_ERROR}
_HOW = {
    "mass": "blending index by mass",
    "alcohol": "blending index, the alcohol by the mole",
    "log": "geometric mean by mass",
    "interaction": "geometric mean by mass with an interaction",
    "volume": "blending index by volume",
}


def rows() -> Iterator[Row]:
    """Yield a row for each class of mixture."""
    data = read("mixtures")
    for family in dict.fromkeys(r["family"] for r in data):
        own = [r for r in data if r["family"] == family]
        row = ratio_row(
            f"mixture/{family}",
            f"liquid mixture, {family}",
            [_mixture(r) for r in own],
            _HOW[own[0]["rule"]],
        )
        row.beside = _plain_rules(own)
        row.quantity = "blend with alcohol" if own[0]["rule"] == "alcohol" else "blend"
        yield row
    yield _interaction_left_out([r for r in data if r["rule"] == "interaction"])


def _parts(r: dict[str, str]) -> tuple[list[float], list[float], list[float], list[float], float]:
    """Return masses, densities, kinematic viscosities, molar masses and the blend's density."""
    share = float(r["share_first"])
    masses = [share, 1.0 - share]
    rho = [float(r["rho_first"]), float(r["rho_second"])]
    nu = [float(r[f"eta_{w}"]) / d for w, d in zip(("first", "second"), rho, strict=True)]
    molar = [float(r["molar_first"]), float(r["molar_second"])]
    return masses, rho, nu, molar, float(blending.blend_density(masses, rho))


def _mixture(r: dict[str, str], interaction: float = associated.PROPYLENE_GLYCOL_WATER) -> Point:
    masses, rho, nu, molar, density = _parts(r)
    rule, log = r["rule"], float(blending.blend_log_mass(masses, nu))
    index = float(blending.blend_kinematic(masses, nu))
    found = {"mass": index, "alcohol": index, "log": log}.get(rule, 0.0)
    if rule == "alcohol":
        weights = associated.alcohol_weights(masses, molar, [1.0, 0.0])
        found = float(blending.blend_kinematic(weights, nu))
    elif rule == "volume":
        volumes = [m / d for m, d in zip(masses, rho, strict=True)]
        found = float(blending.blend_kinematic(volumes, nu))
    elif rule == "interaction":
        found = float(associated.grunberg_nissan(masses[0], nu[0], nu[1], interaction))
    hydrocarbons = masses[1] if rule == "alcohol" else 1.0
    error = _FACTOR.get(rule) or float(blending.mixing_error(masses, hydrocarbons, log / index))
    eta = found * density
    return Point(eta, float(r["eta"]), eta / error, eta * error)


def _plain_rules(data: Sequence[dict[str, str]]) -> dict[str, float]:
    """Return the mean error of each plain rule on the same points, %."""
    errors: dict[str, list[float]] = {}
    for r in data:
        masses, rho, nu, molar, density = _parts(r)
        mols = [m / w for m, w in zip(masses, molar, strict=True)]
        volumes = [m / d for m, d in zip(masses, rho, strict=True)]
        x = mols[0] / sum(mols)
        found = {
            "log by mass": float(blending.blend_log_mass(masses, nu)),
            "log by mole": float(blending.blend_log_mass(mols, nu)),
            "cube root by mole": (x * nu[0] ** (1 / 3) + (1 - x) * nu[1] ** (1 / 3)) ** 3,
            "index by mass": float(blending.blend_kinematic(masses, nu)),
            "index by volume": float(blending.blend_kinematic(volumes, nu)),
        }
        for name, value in found.items():
            error = abs(value * density / float(r["eta"]) - 1.0)
            errors.setdefault(name, []).append(100.0 * error)
    return {name: round(sum(e) / len(e), 2) for name, e in errors.items()}


def _fitted(data: Sequence[dict[str, str]]) -> float:
    """Return the interaction by least squares, each source with the same weight."""
    count = {s: sum(r["source"] == s for r in data) for s in {r["source"] for r in data}}
    above = below = 0.0
    for r in data:
        w = float(r["share_first"])
        rest = np.log(float(r["eta"]) / _mixture(r, 0.0).predicted)
        above += w * (1.0 - w) * rest / count[r["source"]]
        below += (w * (1.0 - w)) ** 2 / count[r["source"]]
    return above / below


def _interaction_left_out(data: Sequence[dict[str, str]]) -> Row:
    points = []
    for source in sorted({r["source"] for r in data}):
        fitted = _fitted([r for r in data if r["source"] != source])
        points += [_mixture(r, fitted) for r in data if r["source"] == source]
    row = ratio_row(
        "mixture/left-out", "liquid mixture, glycol and water, a source left out", points
    )
    row.note = "interaction fitted to the other sources"
    return row
