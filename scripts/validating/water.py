"""Water activity against humidities, isopiestic tables and freezing points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from kb.engine import waterphase
from kb.engine.batch import Phases, Share
from kb.engine.sampling import Sampler
from kb.science import freezing, water_activity
from kb.store.snapshot import Snapshot

from .engine_sets import DRAWS, point
from .row import Point, Row, difference_row, read

#: Freezing points below this are too far from 25 degC to be compared as they stand, degC.
_NEAR_C = -7.5
_ROOM_C = 25.0
#: Terms of the curve through the heats of mixing.
_TERMS = 4
_GLYCOL = "propylene glycol"
_GLYCOL_MASS = 76.095
_SUGARS = {"glucose", "fructose", "sucrose", "maltose"}
_GLYCOLS = {"glycerin", _GLYCOL}


def rows(base: Snapshot) -> Iterator[Row]:
    """Yield all rows about water activity."""
    yield from _at_25(base)
    yield _glycerin_left_out()
    yield from _freezing(base)
    yield _glycol(base)
    yield _glycol_left_out()


def _activity(solute: str, percent: float, base: Snapshot) -> np.ndarray:
    match = base.names.resolve(solute).match
    water = base.names.resolve("water").match
    assert match is not None and water is not None, solute
    material = match.material
    if solute == "magnesium sulfate":
        material += "--anhydrous"
    shares = (Share(material, percent), Share(water.material, 100 - percent))
    found, missing = waterphase.activity(Phases((), shares, ()), Sampler(base, DRAWS), base)
    assert found is not None and not missing, missing
    return found


def _at_25(base: Snapshot) -> Iterator[Row]:
    groups: dict[str, list[Point]] = {}
    for r in read("water_activity"):
        measured = float(r["a_w"])
        name = "sugars" if r["solute"] in _SUGARS else r["solute"]
        part = "above 0.85" if measured > 0.85 else "below 0.85"
        found = point(_activity(r["solute"], float(r["percent"]), base), measured)
        groups.setdefault(f"{name}, {part}", []).append(found)
    for name, points in groups.items():
        row = difference_row(
            f"water-activity/{name}", f"water activity, {name}", "a_w", points, "25 degC"
        )
        row.quantity = f"water activity {name.split(', ')[1]}"
        yield row


def _glycerin_left_out() -> Row:
    """Glycerin with its second constant fitted to the other points."""
    data = [
        (float(r["percent"]), float(r["a_w"]))
        for r in read("water_activity")
        if r["solute"] == "glycerin"
    ]
    k = water_activity.NORRISH_K["glycerin"]
    bends = np.linspace(0.0, 1.5, 151)
    points = []
    for i, (percent, measured) in enumerate(data):
        rest = [d for j, d in enumerate(data) if j != i]
        error = sum(
            (np.asarray(water_activity.bent_norrish(p, 92.09, 100.0 - p, k, bends)) - a) ** 2
            for p, a in rest
        )
        bend = float(bends[int(np.argmin(error))])
        found = float(water_activity.bent_norrish(percent, 92.09, 100.0 - percent, k, bend))
        points.append(Point(found, measured))
    return difference_row(
        "water-activity/left-out", "water activity, glycerin, point left out", "a_w", points
    )


def _freezing(base: Snapshot) -> Iterator[Row]:
    """Published freezing points; what is warmer than -7.5 degC is compared as it is."""
    groups: dict[str, list[Point]] = {}
    deep: dict[str, list[str]] = {}
    for r in read("freezing"):
        if r["solute"] == _GLYCOL:
            continue
        name = "sugars" if r["solute"] in _SUGARS else r["solute"]
        t_c, percent = float(r["freezing_c"]), float(r["percent"])
        measured = float(freezing.activity_of_ice(t_c))
        found = point(_activity(r["solute"], percent, base), measured)
        if t_c >= _NEAR_C:
            groups.setdefault(name, []).append(found)
        else:
            text = f"{percent:g} % at {t_c:g} degC: {found.predicted:.3f}, from ice {measured:.3f}"
            deep.setdefault(name, []).append(text + " (cold, not counted)")
    for name, points in groups.items():
        row = difference_row(
            f"water-activity/freezing {name}",
            f"water activity from freezing points, {name}",
            "a_w",
            points,
            "published; -7.5 to 0 degC",
        )
        row.quantity = "water activity above 0.85"
        row.lines = deep.get(name, [])
        yield row


def _heats() -> np.ndarray:
    """Return the Redlich-Kister coefficients through the measured heats of mixing, J/mol."""
    data = read("heat_of_mixing")
    x = np.array([float(r["mole_fraction"]) for r in data])
    heat = np.array([float(r["heat"]) for r in data])
    terms = [x * (1 - x) * (1 - 2 * x) ** k for k in range(_TERMS)]
    solved, *_ = np.linalg.lstsq(np.stack(terms, axis=1), heat, rcond=None)
    return np.asarray(solved)


def _glycol_points() -> list[tuple[float, float]]:
    """Return percent of propylene glycol and water activity at 25 degC from its freezing points."""
    heats = _heats()
    found = []
    for r in read("freezing"):
        if r["solute"] != _GLYCOL:
            continue
        percent, t_c = float(r["percent"]), float(r["freezing_c"])
        mols = percent / _GLYCOL_MASS
        x = mols / (mols + (100.0 - percent) / water_activity.MOLAR_MASS_WATER)
        heat = float(freezing.partial_heat_of_water(x, heats))
        cold = float(freezing.activity_of_ice(t_c))
        found.append((percent, float(freezing.at_temperature(cold, t_c, _ROOM_C, heat))))
    return found


def _glycol(base: Snapshot) -> Row:
    points = [point(_activity(_GLYCOL, percent, base), a) for percent, a in _glycol_points()]
    row = difference_row(
        "water-activity/propylene glycol",
        "water activity, propylene glycol at 25 degC",
        "a_w",
        points,
        "published freezing points carried to 25 degC with published heats of mixing",
    )
    row.quantity = "water activity below 0.85"
    row.lines = [
        f"{percent:g} %: {p.predicted:.3f}, measured {p.measured:.3f}"
        for (percent, _), p in zip(_glycol_points(), points, strict=True)
    ]
    return row


def _glycol_left_out() -> Row:
    """Propylene glycol with its constant fitted to the other points."""
    data = _glycol_points()
    points = [
        Point(_norrish(percent, _best_constant([d for j, d in enumerate(data) if j != i])), a)
        for i, (percent, a) in enumerate(data)
    ]
    return difference_row(
        "water-activity/glycol left out",
        "water activity, propylene glycol, point left out",
        "a_w",
        points,
    )


def _norrish(percent: float, k: float) -> float:
    return float(water_activity.norrish(percent, _GLYCOL_MASS, 100.0 - percent, k))


def _best_constant(data: Sequence[tuple[float, float]]) -> float:
    """Return the constant by least squares of the error over what the solute takes off."""
    tried = np.linspace(0.0, 4.0, 401)
    error = [sum(((_norrish(p, float(k)) - a) / (1.0 - a)) ** 2 for p, a in data) for k in tried]
    return float(tried[int(np.argmin(error))])
