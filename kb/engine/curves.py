"""Curves over temperature from a finished profile, and of an effect over the level of one line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kb.engine.batch import Batch
from kb.engine.body import Body
from kb.engine.exchange import Exchange, bounds, put_on_line
from kb.engine.oilphase import OilPhase, OilState
from kb.engine.profile import Profile, consistency_at_25, cover_of
from kb.engine.quantity import Quantity
from kb.engine.roles import Here
from kb.science.numbers import Array
from kb.store.snapshot import Snapshot

#: From a cold cellar to a hot car, degC.
TEMPERATURES_C = tuple(float(t) for t in np.linspace(5.0, 45.0, 17))
#: Where the profile itself gives its figures, degC.
_REFERENCE_C = 25.0


#: Levels of a dose curve, and how far beyond the 1:1 point and the chosen one it reaches.
_LEVELS, _BEYOND = 25, 1.5


@dataclass(frozen=True, slots=True)
class DoseCurve:
    """An effect against the level of a stand-in, %, with the 1:1 point and the chosen one.

    ``before`` is the effect of the formula as it was.
    """

    name: str
    unit: str
    levels: tuple[float, ...]
    effects: tuple[float, ...]
    before: float
    one_to_one: tuple[float, float]
    chosen: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Curve:
    """One quantity over temperature: central values and their 90 % range."""

    name: str
    unit: str
    temperatures_c: tuple[float, ...]
    central: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]

    def at(self, t_c: float) -> float:
        """Return the central value at a temperature of the curve."""
        return self.central[self.temperatures_c.index(t_c)]


@dataclass(frozen=True, slots=True)
class Curves:
    """What a batch does between cold and heat; a curve is none where nothing can be said."""

    consistency: Curve | None
    solids: Curve | None
    draws: tuple[Array, ...] = ()


def curves(
    profile: Profile, base: Snapshot, temperatures_c: Sequence[float] = TEMPERATURES_C
) -> Curves:
    """Return consistency and oil-phase solids over temperature.

    The ranges are those of the profile's draws, with the same errors as its figures: at 25 degC a
    curve passes through the figure of the profile.

    Parameters
    ----------
    profile : Profile
    base : Snapshot
    temperatures_c : sequence of float
        In rising order, degC.
    """
    draw = profile.sampler
    oil = OilPhase(profile.phases.oil, base, draw)
    asked = sorted({*temperatures_c, _REFERENCE_C})
    states = {} if oil.empty else {t: oil.at(t) for t in asked}
    body = Body(profile.batch, profile.phases, profile.species, profile.system, oil, draw, base)
    eta = {t: found[0] for t in asked if (found := body.at(t, states)) is not None}
    stated = profile.quantities["consistency_25c"].draws
    if stated is None or not eta:
        return Curves(None, _solids(profile, states, temperatures_c))
    scale = stated / eta[_REFERENCE_C]
    columns = tuple(eta[t] * scale for t in temperatures_c)
    return Curves(
        _curve("consistency", "mPa.s", temperatures_c, columns),
        _solids(profile, states, temperatures_c),
        columns,
    )


def change(before: Curves, after: Curves) -> Curve | None:
    """Return consistency after over before; errors that both share cancel draw by draw.

    Parameters
    ----------
    before, after : Curves
        Over the same temperatures and with the same number of draws.

    Raises
    ------
    ValueError
        The two were not asked the same way.
    """
    if before.consistency is None or after.consistency is None:
        return None
    temperatures = before.consistency.temperatures_c
    if temperatures != after.consistency.temperatures_c:
        raise ValueError("both curves must have the same temperatures")
    if len(before.draws[0]) != len(after.draws[0]):
        raise ValueError("both curves must have the same number of draws")
    columns = tuple(b / a for a, b in zip(before.draws, after.draws, strict=True))
    return _curve("change of consistency", "1", temperatures, columns)


def dose_curve(
    profile: Profile,
    index: int,
    material: str,
    here: tuple[Here, ...],
    trial: Exchange,
    base: Snapshot,
) -> DoseCurve | None:
    """Return consistency, or preservative cover, against the level of a stand-in.

    Parameters
    ----------
    profile : Profile
        Of the formula as it was.
    index : int
        Place of the line that is replaced.
    material : str
        What stands in.
    here : tuple of Here
        Roles of the line; a preservative is shown by its cover, all else by the consistency.
    trial : Exchange
        The level that was chosen and the line that balances it.
    base : Snapshot

    Returns
    -------
    DoseCurve or None
        None where the formula has no such figure.
    """
    kept = bool(here) and "antimicrobial" in base.roles[here[0].role].ancestors
    name, unit = ("preservative cover", "1") if kept else ("consistency", "mPa.s")
    figure = cover_of if kept else consistency_at_25
    old = profile.batch.items[index].percent

    def put(percent: float) -> Batch:
        return put_on_line(profile.batch, index, material, percent, trial.balance)

    def effect(percent: float) -> float:
        return _known(figure(put(percent), base))

    before = _known(figure(profile.batch, base))
    marks = (old, trial.percent)
    low, high = bounds(material, here, old, base)
    giving = trial.batch.items[trial.balance].percent if trial.balance is not None else 0.0
    most = max(*marks, min(high, trial.percent + giving))
    low = max(min(low, *marks), 1e-3)
    low, high = max(low, min(marks) / _BEYOND**3), min(most, max(marks) * _BEYOND)
    levels = tuple(float(x) for x in np.geomspace(low, max(high, 1.01 * low), _LEVELS))
    effects = tuple(effect(level) for level in levels)
    chosen, one = effect(trial.percent), effect(old)
    if not np.isfinite([before, chosen]).all() or before <= 0.0:
        return None
    return DoseCurve(name, unit, levels, effects, before, (old, one), (trial.percent, chosen))


def _solids(
    profile: Profile, states: dict[float, OilState], temperatures_c: Sequence[float]
) -> Curve | None:
    if not states:
        return None
    stated = profile.quantities["solids_25c"].draws
    at_25 = 100.0 * states[_REFERENCE_C].solids
    if stated is None:
        return None
    # The model's error is one factor at all temperatures; where nothing is solid at 25 degC it
    # cannot be read off and the draws of the facts stand alone.
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = np.where(at_25 > 0.0, stated / at_25, 1.0)
    columns = tuple(np.minimum(100.0 * states[t].solids * scale, 100.0) for t in temperatures_c)
    return _curve("solids", "% of the oil phase", temperatures_c, columns)


def _curve(
    name: str, unit: str, temperatures_c: Sequence[float], columns: Sequence[Array]
) -> Curve:
    found = [Quantity(name, column, unit, "") for column in columns]
    return Curve(
        name,
        unit,
        tuple(temperatures_c),
        tuple(_known(q.value) for q in found),
        tuple(_known(q.low) for q in found),
        tuple(_known(q.high) for q in found),
    )


def _known(number: float | None) -> float:
    return float("nan") if number is None else number
