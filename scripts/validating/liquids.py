"""Viscosity with temperature, and of suspensions and emulsions."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from kb.science import droplets, viscosity

from .row import Point, Row, factor_row, ratio_row, read

_ROOM_C = 25.0
#: Stated error of a curve through measured points: one sample measured well, or rounded handbook
#: figures of natural oils.
_CURVE_ERROR = {
    "vegetable oil": 0.05,
    "castor oil": 0.06,
    "squalane": 0.03,
    "glycerin-water": 0.008,
}
_CURVE_ERROR_ELSE = 0.005
#: What a careful measurement is off by.
_MEASURED = 0.01


#: What the relative viscosity is off by beyond the range of the packing.
_SUSPENSION_ERROR = {"drops": 1.5, "spheres": 1.3}


def rows() -> Iterator[Row]:
    """Yield all rows about liquids."""
    yield from _left_out()
    yield from _from_one_value()
    yield from _drops()


# -- temperature: a curve through the others ---------------------------------------------------


def _series() -> dict[str, list[dict[str, str]]]:
    found: dict[str, list[dict[str, str]]] = {}
    for r in read("viscosity_temperature"):
        if float(r["t_c"]) <= 60.0:
            found.setdefault(f"{r['liquid']}|{r['source']}", []).append(r)
    return {k: sorted(v, key=lambda r: float(r["t_c"])) for k, v in found.items() if len(v) >= 4}


def _fit_vogel(t: np.ndarray, y: np.ndarray) -> tuple[float, float, float]:
    """Fit ln viscosity by least squares over a grid of C."""
    best = (np.inf, 0.0, 0.0, 0.0)
    for c in np.linspace(40.0, float(t.min()) + 273.15 - 30.0, 120):
        x = 1.0 / (t + 273.15 - c)
        design = np.stack([np.ones_like(x), x], axis=1)
        solved, *_ = np.linalg.lstsq(design, y, rcond=None)
        rest = float(((design @ solved - y) ** 2).sum())
        if rest < best[0]:
            best = (rest, float(solved[0]), float(solved[1]), float(c))
    return best[1:]


def _digits_error(r: dict[str, str]) -> float:
    """Half a unit of the last printed digit, as a share of the value."""
    text = r["value"].rstrip("0").rstrip(".") if r["value"].endswith(".0") else r["value"]
    decimals = len(text.split(".")[1]) if "." in text else 0
    return 0.5 * 10.0**-decimals / float(r["value"])


def _left_out() -> Iterator[Row]:
    """Leave one temperature out, inside the others, and predict it."""
    by_family: dict[str, list[Point]] = {}
    for series in _series().values():
        t = np.array([float(r["t_c"]) for r in series])
        v = np.array([float(r["value"]) for r in series])
        for i in range(1, len(series) - 1):
            keep = np.arange(len(series)) != i
            if len(series) >= 5:
                a, b, c = _fit_vogel(t[keep], np.log(v[keep]))
                found = float(viscosity.vogel(t[i], a, b, c))
            else:
                near = np.argsort(np.abs(t[keep] - t[i]))[:2]
                (t1, t2), (v1, v2) = t[keep][near], v[keep][near]
                slope = viscosity.slope_from_two(v1, t1, v2, t2)
                found = float(viscosity.at_temperature(v1, t1, t[i], slope))
            stated = _CURVE_ERROR.get(series[0]["family"], _CURVE_ERROR_ELSE)
            digits = _digits_error(series[i]) * float(v[i])
            point = Point(found, float(v[i]), found * (1 - stated), found * (1 + stated), digits)
            by_family.setdefault(series[0]["family"], []).append(point)
    for family, points in by_family.items():
        row = ratio_row(
            f"temperature/{family}",
            f"viscosity at a temperature left out, {family}",
            points,
            "Vogel through five or more, double logarithm through the two nearest of four",
        )
        row.quantity = "temperature left out"
        yield row


#: Families by the slope they share, and the target they count for.
_SLOPES = {
    "vegetable oil": ("triglyceride", "oils"),
    "squalane": ("hydrocarbon", "oils"),
    "castor oil": ("hydroxy triglyceride", "castor and glycols"),
    "propylene glycol": ("glycol", "castor and glycols"),
    "propanediol": ("glycol", "castor and glycols"),
}


def _from_one_value() -> Iterator[Row]:
    """From the value nearest 25 degC to the rest, with the slope of the family."""
    found: dict[str, list[tuple[float, Point]]] = {}
    for series in _series().values():
        if series[0]["family"] not in _SLOPES:
            continue
        base = min(series, key=lambda r: abs(float(r["t_c"]) - _ROOM_C))
        if abs(float(base["t_c"]) - _ROOM_C) > 6.0:
            continue
        family, group = _SLOPES[series[0]["family"]]
        found.setdefault(group, []).extend(
            (float(r["t_c"]), _carried(base, r, viscosity.FAMILY_SLOPE[family]))
            for r in series
            if r["t_c"] != base["t_c"]
        )
    for group, points in found.items():
        row = ratio_row(
            f"temperature/one value, {group}",
            f"viscosity from one value near 25 degC, 0 to 60 degC, {group}",
            [point for _, point in points],
            "slope of the family",
        )
        row.quantity = f"one value {group}"
        row.ranges = [
            one for one, (t, _) in zip(row.ranges, points, strict=True) if 10.0 <= t <= 40.0
        ]
        yield row


def _carried(base: dict[str, str], r: dict[str, str], slopes: tuple[float, ...]) -> Point:
    t0, t1 = float(base["t_c"]), float(r["t_c"])
    ends = [
        float(viscosity.at_temperature(float(base["value"]), t0, t1, slope)) for slope in slopes
    ]
    error = _MEASURED + _digits_error(base)
    digits = _digits_error(r) * float(r["value"])
    return Point(
        ends[0], float(r["value"]), min(ends) * (1 - error), max(ends) * (1 + error), digits
    )


# -- drops and particles -----------------------------------------------------------------------


def _drops() -> Iterator[Row]:
    data = read("relative_viscosity")
    sets = {
        "drops": ("water in oil", {"water in spilt oil", "water in crude oil"}, (0.80, 0.74, 0.87)),
        "spheres": ("hard spheres", {"hard spheres", "sub-micron spheres"}, (0.64, 0.58, 0.71)),
    }
    for key, (what, kinds, packing) in sets.items():
        points = []
        for r in data:
            phi = float(r["phi"])
            if r["kind"] not in kinds or phi > 0.55:
                continue
            value, high, low = (
                float(droplets.krieger_dougherty(phi, p, droplets.SPHERE_INTRINSIC))
                for p in packing
            )
            error = _SUSPENSION_ERROR[key]
            points.append(Point(value, float(r["relative"]), low / error, high * error))
        row = factor_row(
            f"relative-viscosity/{key}",
            f"relative viscosity, {what}",
            points,
            "Krieger and Dougherty against fits to measured sets",
        )
        row.quantity = "relative viscosity"
        yield row
