"""Put a candidate on a line: solve its level, and give the difference to a balancing line."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from kb.engine.batch import Batch, Item, phase_of
from kb.engine.ceilings import ceilings
from kb.engine.profile import Profile, consistency_at_25, cover_of, powder_volume_of
from kb.engine.roles import Here
from kb.store.records import Play
from kb.store.snapshot import Snapshot

_STEPS = 12
#: A figure this near its target, as a logarithm, has met it.
_NEAR_ENOUGH = 0.003
#: Share of the balancing line that may be given away: it never vanishes.
_MOST_OF_IT = 0.99
#: Usual levels are stretched by this much before they bind.
_STRETCH = 1.25


@dataclass(frozen=True, slots=True)
class Exchange:
    """A batch with one item replaced, how the level was found, and which line balances."""

    batch: Batch
    percent: float
    how: str
    balance: int | None
    changed: float


@dataclass(frozen=True, slots=True)
class Dosing:
    """The unit a stand-in is dosed in, and the percent it comes to as far as it is known."""

    unit: str
    percent: float


@dataclass(frozen=True, slots=True)
class Level:
    """A level in %, and in words how it was found."""

    percent: float
    how: str


def exchange(
    profile: Profile, index: int, candidate: str, here: tuple[Here, ...], base: Snapshot
) -> Exchange:
    """Replace the item at ``index`` by a candidate at the level that does the same work."""
    item = profile.batch.items[index]
    balance = balancing_item(profile, index, candidate, base)
    if candidate == item.material:
        return Exchange(profile.batch, item.percent, "the same material", balance, 0.0)
    low, high = bounds(candidate, here, item.percent, base, profile.batch.product)
    giving = sharing(profile.batch, index, balance)
    room = item.percent + _MOST_OF_IT * sum(profile.batch.items[n].percent for n in giving)
    high = min(high, room)
    low = min(low, high)

    def put(percent: float) -> Batch:
        return put_on_line(profile.batch, index, candidate, percent, balance)

    level = _solve(profile, item, candidate, here, low, high, put, base)
    percent = min(max(level.percent, low), high)
    how = level.how
    if abs(percent - level.percent) > 0.01 * max(level.percent, 0.01):
        how += f"; held at its usual {'highest' if percent < level.percent else 'lowest'} level"
    percent = min(max(float(f"{percent:.3g}"), low), high)
    return Exchange(put(percent), percent, how, balance, percent - item.percent)


def put_on_line(
    batch: Batch, index: int, candidate: str, percent: float, balance: int | None
) -> Batch:
    """Return the batch with another material on a line; the balance keeps the total."""
    items = list(batch.items)
    difference = items[index].percent - percent
    items[index] = items[index].of(candidate, percent)
    giving = sharing(batch, index, balance)
    if giving:
        whole = sum(items[n].percent for n in giving)
        for n in giving:
            part = items[n].percent / whole if whole > 0 else 1.0 / len(giving)
            items[n] = items[n].at(max(0.0, items[n].percent + part * difference))
    elif abs(difference) > 1e-9:
        rest = sum(i.percent for n, i in enumerate(items) if n != index)
        scale = (rest + difference) / rest if rest > 0 else 1.0
        items = [i if n == index else i.at(i.percent * scale) for n, i in enumerate(items)]
    return batch.with_items(items)


def sharing(batch: Batch, index: int, balance: int | None) -> list[int]:
    """Return the lines that give and take together: the balance and others of its kind.

    One line of a material or two of the same at one stage is all one.
    """
    if balance is None:
        return []
    one = batch.items[balance]
    return [
        n
        for n, item in enumerate(batch.items)
        if n != index
        and (item.material, item.stage) == (one.material, one.stage)
        and not (item.locked or item.active)
    ]


def bounds(
    candidate: str,
    here: tuple[Here, ...],
    percent: float,
    base: Snapshot,
    product: Mapping[str, Any] | None = None,
) -> tuple[float, float]:
    """Return the lowest and highest sensible level: usual use, stretched, and legal limits.

    What protects has a least level below which it does nothing; of anything else a line may hold
    as little as it held before.
    """
    plays = _fitting_plays(candidate, here, base)
    lows = [p.low for p in plays if p.low is not None]
    highs = [p.high for p in plays if p.high is not None]
    low = min(lows) / _STRETCH if lows else 0.25 * percent
    high = max(highs) * _STRETCH if highs else 2.0 * percent
    high = max(high, low)
    for limit in ceilings(candidate, here, product or {}, base):
        high = min(high, limit.high if limit.high is not None else high)
    least = high if base.does(candidate, "antimicrobial") else percent
    return min(low, high, least), min(100.0, high)


def _fitting_plays(candidate: str, here: tuple[Here, ...], base: Snapshot) -> list[Play]:
    wanted = {h.role for h in here}
    plays = base.plays(candidate)
    exact = [p for p in plays if p.role in wanted]
    near = [p for p in plays if any(base.similarity(p.role, w) > 0.5 for w in wanted)]
    return exact or near or list(plays)


def balancing_item(profile: Profile, index: int, candidate: str, base: Snapshot) -> int | None:
    """Choose the line that takes or gives the difference: the largest plain liquid of its phase."""
    items = profile.batch.items
    phase = phase_of(base.materials[candidate], items[index].stage, base)
    best: tuple[float, str, int] | None = None
    # Outside a powder the room for more powder is made by the liquids, not by other powders.
    loose = phase != "powder" or profile.system == "powder"
    for n, item in enumerate(items):
        if n == index or item.locked or item.active or not loose:
            continue
        about = base.materials[item.material]
        if phase_of(about, item.stage, base) != phase:
            continue
        if base.does(item.material, "emulsifier") >= 0.4 or base.does(item.material, "protection"):
            continue
        if phase == "oil" and about.form not in {"liquid", "semisolid"}:
            continue
        if phase == "water" and not base.does(item.material, "water-phase-base"):
            continue
        there = sum(items[k].percent for k in sharing(profile.batch, index, n))
        # Of equals the first by name, so that the order of the lines does not count.
        if best is None or (-there, item.material, n) < best:
            best = (-there, item.material, n)
    if best is None and phase in {"powder", "water"}:
        others = [
            (-sum(items[k].percent for k in sharing(profile.batch, index, n)), item.material, n)
            for n, item in enumerate(items)
            if n != index
            and not (item.locked or item.active)
            and (loose or base.materials[item.material].phase != "powder")
        ]
        best = min((one for one in others if one[0] < -3.0), default=None)
    return None if best is None else best[2]


def _solve(
    profile: Profile,
    item: Item,
    candidate: str,
    here: tuple[Here, ...],
    low: float,
    high: float,
    put: Callable[[float], Batch],
    base: Snapshot,
) -> Level:
    """Find the level that does the same work, in the unit the leading role is dosed in."""
    dose = dosing(profile, item, candidate, here, base)
    if dose.unit == "volume":
        return _by_volume(profile, item, dose.percent, low, high, put, base)
    if dose.unit == "cover":
        return by_cover(profile, item.percent, low, high, put, base)
    if dose.unit == "consistency":
        return by_consistency(profile, item.percent, low, high, put, base)
    return Level(dose.percent, dose.unit)


def dosing(
    profile: Profile, item: Item, candidate: str, here: tuple[Here, ...], base: Snapshot
) -> Dosing:
    """Return the unit in which a candidate is dosed on a line, and what it comes to.

    By volume, cover and consistency the level depends on the company; the percent is then only
    where to start.
    """
    above = base.roles[here[0].role].ancestors if here else frozenset()
    old = item.percent

    def ratio(name: str, text: str) -> Dosing | None:
        mine, theirs = base.value(item.material, name), base.value(candidate, name)
        if mine == mine and theirs == theirs and mine > 0 and theirs > 0:
            return Dosing(text, old * theirs / mine)
        return None

    even = Dosing("1:1 by mass", old)
    if above & {"soap-alkali", "polymer-neutraliser", "alkali", "acid"}:
        found = ratio("equivalent_mass", "by equivalents")
        if found:
            return found
    if above & {"soap-acid"}:
        mine = base.value(item.material, "acid_value")
        theirs = base.value(candidate, "acid_value")
        if mine > 0 and theirs > 0 and 0.5 < theirs / mine < 2.0:
            return Dosing("by acid value", old * mine / theirs)
    if above & {"electrolyte", "chelant"}:
        found = ratio("molar_mass", "mole for mole")
        if found:
            return found
    if "humectant" in above:
        found = ratio("molar_mass", "by osmotic moles")
        if found and 0.6 <= found.percent / old <= 1.7:
            return found
        return even
    if above & {"filler", "pigment", "slip-filler"} and "barrier-powder" not in above:
        mine, theirs = base.value(item.material, "density"), base.value(candidate, "density")
        if mine > 0 and theirs > 0:
            return Dosing("volume", old * theirs / mine)
    if "antimicrobial" in above:
        return Dosing("cover", old)
    bulk = above & {"butter", "semisolid-occlusive", "sticky-fat"}
    if "oil-phase-structurant" in above and not (bulk and not _carries_the_body(profile, item)):
        return Dosing("consistency", old)
    if above & {"water-thickener"}:
        return Dosing("consistency", old)
    return even


def _carries_the_body(profile: Profile, item: Item) -> bool:
    """Tell whether most of the network comes from this material."""
    whole = sum(profile.network_parts.values())
    return whole > 0 and profile.network_parts.get(item.material, 0.0) > 0.5 * whole


def by_consistency(
    profile: Profile,
    old: float,
    low: float,
    high: float,
    put: Callable[[float], Batch],
    base: Snapshot,
) -> Level:
    """Bisect the level at which the model gives the same consistency as before."""
    target = profile.value("consistency_25c")
    if target is None:
        return Level(old, "1:1 by mass")

    def figure(percent: float) -> float:
        found = consistency_at_25(put(percent), base)
        return found if found is not None else float("nan")

    at_low, at_high = figure(low), figure(high)
    if at_low != at_low or at_high != at_high:
        return Level(old, "1:1 by mass")
    if at_low > at_high:
        return Level(old, "1:1 by mass; more of it does not thicken")
    if target <= at_low:
        return Level(low, "lowest usual level; still at least as thick")
    if target >= at_high:
        return Level(high, "highest usual level; thinner than before")
    return Level(
        _meet(figure, target, (low, at_low), (high, at_high)),
        "for the same consistency at 25 degC",
    )


def _meet(
    figure: Callable[[float], float],
    target: float,
    below: tuple[float, float],
    above: tuple[float, float],
) -> float:
    """Find where a rising figure meets a target, on logarithms (Illinois method)."""
    a, fa = math.log(max(below[0], 1e-6)), math.log(max(below[1], 1e-6 * target) / target)
    b, fb = math.log(above[0]), math.log(above[1] / target)
    x = b
    for _ in range(_STEPS):
        x = b - fb * (b - a) / (fb - fa) if fb != fa else 0.5 * (a + b)
        fx = math.log(max(figure(math.exp(x)), 1e-12) / target)
        if abs(fx) < _NEAR_ENOUGH:
            break
        if fx * fb < 0.0:
            a, fa = b, fb
        else:
            fa *= 0.5
        b, fb = x, fx
    return math.exp(x)


def by_cover(
    profile: Profile,
    old: float,
    low: float,
    high: float,
    put: Callable[[float], Batch],
    base: Snapshot,
) -> Level:
    """Bisect the level that gives the same preservative cover in the water."""
    target = profile.cover
    if target is None or target <= 0:
        return Level(old, "1:1 by mass")

    def cover(percent: float) -> float:
        return cover_of(put(percent), base) or 0.0

    if cover(high) <= target:
        return Level(high, "highest usual level; less cover than before")
    if cover(low) >= target:
        return Level(low, "lowest usual level; at least the same cover")
    return Level(
        _meet(cover, target, (low, cover(low)), (high, cover(high))),
        "for the same free preservative over its least level",
    )


def _by_volume(
    profile: Profile,
    item: Item,
    even: float,
    low: float,
    high: float,
    put: Callable[[float], Batch],
    base: Snapshot,
) -> Level:
    """Find the level that gives the same powder by volume in the whole.

    Where powder stands in for powder the whole hardly changes, and the volumes of the two lines
    are made equal.
    """
    how = "by volume of powder"
    target = powder_volume_of(profile.batch, base)
    at_low, at_high = powder_volume_of(put(low), base), powder_volume_of(put(high), base)
    if profile.system == "powder" or not 0.0 < at_low <= target <= at_high:
        return Level(even, how)

    def figure(percent: float) -> float:
        return powder_volume_of(put(percent), base)

    return Level(_meet(figure, target, (low, at_low), (high, at_high)), how)
