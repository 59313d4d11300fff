"""What was measured of a batch, brought to 25 degC and 10 1/s where the model can."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from kb.engine.batch import Batch
from kb.engine.profile import consistency_at
from kb.errors import UsageError
from kb.own.measured import hours_in
from kb.science.anchoring import spread_of
from kb.science.consistency import SHEAR_RATE
from kb.store.snapshot import Snapshot

REFERENCE_C = 25.0
#: The model of warmth was made for these, degC.
_COLDEST, _WARMEST = 10.0, 40.0
#: Rates that a flow curve of one index may be carried over, 1/s.
_SLOWEST, _FASTEST = 1.0, 100.0
#: A batch has set after a night; a year-old one is another product, h.
_RESTED_H, _OLD_H = 12.0, 60 * 24.0
#: Error of the change from 10 to 40 degC, a factor (as `climate_drift` states it).
_DRIFT, _DRIFT_K = 1.5, 30.0
#: Half of the 90 % range of the shear-thinning index (as for gums in water).
_INDEX = 0.2


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured consistency, mPa.s, with how it was measured; nothing where that is unknown."""

    value: float
    temperature_c: float | None = None
    rate: float | None = None
    method: str = ""
    age_h: float | None = None
    date: str = ""
    where: str = ""


@dataclass(frozen=True, slots=True)
class Converted:
    """A reading at 25 degC and 10 1/s (or on the user's own spindle), and what it took."""

    value: float
    spread: float
    own_scale: bool
    said: str


def reading_of_row(row: Mapping[str, object]) -> Reading | None:
    """Return a logged row as a reading; nothing if it is no consistency."""
    if row["quantity"] != "consistency":
        return None
    words = [str(row[k]) for k in ("instrument", "spindle", "speed") if row[k]]
    age, temperature, value = row["age_h"], row["temperature_c"], row["value"]
    assert isinstance(value, float)
    return Reading(
        value,
        temperature if isinstance(temperature, float) else None,
        rate_in(str(row["speed"])),
        ", ".join(words),
        age if isinstance(age, float) else None,
        str(row["date"]),
        "log",
    )


def reading_of_file(measured: Mapping[str, object]) -> Reading | None:
    """Return the consistency of a formula's own [measured] block as a reading, if it has one."""
    at_25 = measured.get("consistency_25c")
    value = at_25 if at_25 is not None else measured.get("consistency")
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    if not (math.isfinite(value) and value > 0):
        return None
    words = [str(measured[k]) for k in ("instrument", "spindle", "speed") if measured.get(k)]
    age = measured.get("age_h", measured.get("age"))
    temperature = REFERENCE_C if at_25 is not None else measured.get("temperature_c")
    return Reading(
        float(value),
        float(temperature) if isinstance(temperature, int | float) else None,
        rate_in(str(measured.get("speed", ""))),
        ", ".join(words),
        _age(age),
        str(measured.get("date", "")),
        "formula file",
    )


def _age(value: object) -> float | None:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    try:
        return hours_in(value) if isinstance(value, str) and value else None
    except UsageError:
        return None


def unread_in_file(measured: Mapping[str, object]) -> list[str]:
    """Say what of a [measured] block cannot be read as a consistency, though it looks like one."""
    said = []
    for key, value in measured.items():
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if key in {"consistency_25c", "consistency"}:
            if not number or not math.isfinite(float(str(value))) or float(str(value)) <= 0:
                said.append(f"[measured] {key} is {value!r}, not a number of mPa.s: not used.")
        elif key == "age" and value and _age(value) is None:
            said.append(f"[measured] age is {value!r}; write for example 24h or 2d.")
        elif number and (
            near := get_close_matches(key, ("consistency_25c", "consistency"), 1, 0.7)
        ):
            said.append(f"[measured] {key} is not read; did you mean {near[0]}?")
    return said


def rate_in(speed: str) -> float | None:
    """Read a shear rate: ``10 1/s``, ``10/s``, ``10 s-1``; turns of a spindle are none.

    Examples
    --------
    >>> rate_in("10 1/s"), rate_in("2,5 s-1"), rate_in("20 rpm")
    (10.0, 2.5, None)
    """
    found = re.fullmatch(
        r"\s*(\d+(?:[.,]\d+)?)\s*(?:1\s*/\s*s|/\s*s|s\s*\^?\s*-\s*1|s⁻¹|per s)\s*", speed.casefold()
    )
    return float(found[1].replace(",", ".")) if found else None


def convert(reading: Reading, batch: Batch, base: Snapshot) -> Converted | str:
    """Bring a reading to 25 degC and 10 1/s, or say why it cannot be used.

    A reading of a spindle in turns has no known shear rate: it stays on the scale of that spindle
    at that speed.

    Returns
    -------
    Converted or str
        The reading, or the reason why not.
    """
    if reading.age_h is not None and reading.age_h < _RESTED_H:
        return f"{reading.age_h:g} h after making it had not set; measure after a night or more."
    if reading.age_h is not None and reading.age_h > _OLD_H:
        return f"after {reading.age_h / 24:.0f} days it has aged, which no model here follows."
    t_c = REFERENCE_C if reading.temperature_c is None else reading.temperature_c
    if not _COLDEST <= t_c <= _WARMEST:
        return f"{t_c:g} degC lies outside {_COLDEST:g} to {_WARMEST:g} degC."
    rate = reading.rate
    if rate is not None and not _SLOWEST <= rate <= _FASTEST:
        return f"{rate:g} 1/s lies outside {_SLOWEST:g} to {_FASTEST:g} 1/s."
    factor, spread, said = 1.0, 0.0, []
    if t_c != REFERENCE_C or (rate is not None and rate != SHEAR_RATE):
        here = consistency_at(batch, base, t_c, rate or SHEAR_RATE)
        there = consistency_at(batch, base, REFERENCE_C, SHEAR_RATE)
        if not here or not there:
            return "the model gives this formula no consistency to convert by."
        factor = there / here
        spread = math.hypot(
            spread_of(_DRIFT) * abs(t_c - REFERENCE_C) / _DRIFT_K,
            spread_of(math.exp(_INDEX * abs(math.log((rate or SHEAR_RATE) / SHEAR_RATE)))),
        )
        at = [f"{t_c:g} degC"] if t_c != REFERENCE_C else []
        at += [f"{rate:g} 1/s"] if rate is not None and rate != SHEAR_RATE else []
        said.append(f"brought from {' and '.join(at)} by x {factor:.3g}")
    own_scale = rate is None and bool(reading.method)
    if own_scale:
        said.append(f"as {reading.method} reads it; its shear rate is not known")
    if reading.temperature_c is None:
        said.append("25 degC assumed")
    return Converted(reading.value * factor, spread, own_scale, "; ".join(said))
