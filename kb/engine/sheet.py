"""The sheet a batch is made by: grams, order of addition, temperatures, checks in process."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from kb.engine.batch import Item, is_water, phase_of, stage_kind
from kb.engine.label import Named, ingredient_list
from kb.engine.opening import Opened
from kb.engine.profile import Profile
from kb.engine.proving import Test, trial_of
from kb.store.snapshot import Snapshot

#: Melted through: this far above the top of the melting range, K.
MELT_MARGIN_K = 5.0
#: What bears no heat goes in below this, unless its own limit is lower, degC.
COOL_C = 40.0
#: Phases of an emulsion meet within this, K.
MEET_K = 5.0
#: A hot emulsion without anything to melt is still warmed, so that preservatives dissolve, degC.
_WARM_C = 45.0
#: Weighed in fewer steps of the balance than this, a line is off by several percent.
_FEW_STEPS = 20
_SOLID = frozenset({"waxy", "crystalline", "semisolid"})
_MIXING = (
    ("hand", "stir by hand without pause"),
    ("propeller", "stir with the propeller, without drawing in air"),
    ("high shear", "homogenise at high shear"),
    ("homogen", "homogenise"),
    ("rotor", "homogenise at high shear"),
    ("stick", "blend in short bursts, head below the surface"),
)


@dataclass(frozen=True, slots=True)
class Weighing:
    """One line to weigh in: number in the formula, name, percent, grams, where it goes."""

    line: int
    name: str
    material: str | None
    percent: float
    grams: float
    part: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the making, the lines it takes, and its temperature if it has one."""

    text: str
    lines: tuple[int, ...] = ()
    temperature_c: float | None = None


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """All that is needed at the bench."""

    batch_g: float
    readable_g: float
    weighings: tuple[Weighing, ...]
    steps: tuple[Step, ...]
    checks: tuple[str, ...]
    warnings: tuple[str, ...]
    label: tuple[Named, ...]
    trial: tuple[Test, ...] = ()


def round_to_total(percents: Sequence[float], batch_g: float, readable_g: float) -> list[float]:
    """Return grams in steps of the balance that add up to the batch, by largest remainder.

    Parameters
    ----------
    percents : sequence of float
        Percents of the lines; they are scaled to 100.
    batch_g : float
        Mass of the batch, g; rounded to the balance.
    readable_g : float
        Smallest step of the balance, g.

    Examples
    --------
    >>> round_to_total([33.333, 33.333, 33.334], 100.0, 1.0)
    [33.0, 33.0, 34.0]
    """
    places = max(0, -math.floor(math.log10(readable_g) + 1e-9))
    whole = sum(percents)
    steps = round(batch_g / readable_g)
    exact = [steps * percent / whole for percent in percents]
    counts = [math.floor(one + 1e-9) for one in exact]
    order = sorted(range(len(exact)), key=lambda n: (counts[n] - exact[n], n))
    for n in order[: steps - sum(counts)]:
        counts[n] += 1
    return [round(count * readable_g, places) for count in counts]


def usual_balance(batch_g: float) -> float:
    """Return the step of the balance that a batch of this size is weighed on, g."""
    for least, step in ((5000.0, 1.0), (500.0, 0.1)):
        if batch_g >= least:
            return step
    return 0.01


def make_sheet(
    opened: Opened,
    profile: Profile,
    base: Snapshot,
    batch_g: float,
    readable_g: float | None = None,
) -> BatchSheet:
    """Work out the sheet of a batch.

    Parameters
    ----------
    opened : Opened
        The formula with its materials.
    profile : Profile
        What is predicted of it; gives the kind of product.
    base : Snapshot
    batch_g : float
        Mass of the batch, g.
    readable_g : float, optional
        Smallest step of the balance, g; by the size of the batch when not given.
    """
    step = readable_g or usual_balance(batch_g)
    making = _Making(opened, profile, base)
    lines = opened.formula.lines
    grams = round_to_total([line.percent for line in lines], batch_g, step)
    total = sum(line.percent for line in lines)
    weighings = []
    for number, (line, answer, weight) in enumerate(
        zip(lines, opened.answers, grams, strict=True), 1
    ):
        material = answer.match.material if answer.match is not None else None
        part = making.part.get(number, line.stage or "not known")
        weighings.append(
            Weighing(number, line.given, material, 100.0 * line.percent / total, weight, part)
        )
    return BatchSheet(
        round(sum(grams), 6),
        step,
        tuple(weighings),
        tuple(making.steps()),
        tuple(_checks(profile, batch_g)),
        (*making.warnings, *_balance_warnings(weighings, step)),
        tuple(ingredient_list(opened.batch, base)),
        tuple(trial_of(profile, base)),
    )


def _balance_warnings(weighings: Sequence[Weighing], step: float) -> list[str]:
    few = [w for w in weighings if w.percent > 0 and w.grams < _FEW_STEPS * step]
    if not few:
        return []
    names = ", ".join(w.name for w in few)
    return [f"Too little for a balance that shows {step:g} g; use a finer one for: {names}."]


class _Making:
    """Sorts the lines of a batch into parts and derives the steps from what the materials bear."""

    def __init__(self, opened: Opened, profile: Profile, base: Snapshot) -> None:
        self.base, self.profile = base, profile
        self.system = profile.system
        self.product = opened.formula.product
        self.name = {n: line.given for n, line in enumerate(opened.formula.lines, 1)}
        self.items = [item for item in opened.batch.items if item.percent > 0]
        self.warnings: list[str] = []
        #: Lines of the oil phase that go in after the hottest melting, below this, degC.
        self.later: dict[int, float] = {}
        unknown = [
            number
            for number, answer in enumerate(opened.answers, 1)
            if answer.match is None and opened.formula.lines[number - 1].percent > 0
        ]
        if unknown:
            names = ", ".join(self.name[n] for n in unknown)
            self.warnings.append(f"Not known, so it stands in no step: {names}.")
        self.part = {item.line: self._phase(item) for item in self.items}
        self.hot = self._melting()
        self._move_what_bears_no_heat()

    def _phase(self, item: Item) -> str:
        if stage_kind(item.stage) == "cool-down":
            return "cool-down"
        return phase_of(self.base.materials[item.material], item.stage, self.base)

    def _in(self, part: str) -> list[Item]:
        return [item for item in self.items if self.part[item.line] == part]

    def _melting(self) -> float | None:
        """Return the temperature at which all that must melt has melted, degC."""
        tops = [top for item in self._in("oil") if (top := self._top(item)) is not None]
        hot = max(tops, default=None)
        if hot is not None and hot + MELT_MARGIN_K <= COOL_C:
            hot = COOL_C - MELT_MARGIN_K
        return None if hot is None else 5.0 * math.ceil((hot + MELT_MARGIN_K) / 5.0)

    def _top(self, item: Item) -> float | None:
        """Return the top of the melting range of what must melt to go in, degC."""
        about = self.base.materials[item.material]
        known = self.base.known(item.material, "melting_point")
        if about.form not in _SOLID or known is None or known.value < 25.0:
            return None
        return known.high

    def _bears(self, item: Item) -> float | None:
        known = self.base.known(item.material, "max_process_temperature")
        return None if known is None else known.value

    def _move_what_bears_no_heat(self) -> None:
        """Put what spoils at the melting temperature behind it, or warn where that cannot be."""
        hot = self.hot if self.hot is not None else (_WARM_C if self._emulsion else None)
        if hot is None:
            return
        for item in self.items:
            part = self.part[item.line]
            if part not in {"oil", "water"} or is_water(item.material, self.base):
                continue
            limit, tags = self._bears(item), self.base.materials[item.material].tags
            if limit is None and tags & {"volatile", "heat-sensitive"}:
                limit = COOL_C
            if limit is None or limit >= hot:
                continue
            top = self._top(item)
            if top is not None and limit < top:
                self.warnings.append(
                    f"{self.name[item.line]} should not go above {limit:.0f} degC but melts up to "
                    f"{top:.0f} degC: add it last, as cool as it still melts."
                )
            elif part == "oil" and (top is not None or limit > COOL_C + MEET_K):
                self.later[item.line] = limit
            elif part == "water" and self.system == "w/o":
                # Behind the emulsifying it would no longer get into the drops.
                self.warnings.append(
                    f"{self.name[item.line]} should not go above {limit:.0f} degC: stir it into "
                    "the water phase last, just before emulsifying."
                )
            else:
                self.part[item.line] = "cool-down"

    @property
    def _emulsion(self) -> bool:
        return self.system in {"w/o", "o/w"}

    def steps(self) -> list[Step]:
        """Return the steps in order."""
        found = [Step(f"Weigh in; the sum must come out. {self._vessel()}".strip())]
        found += self._oil_steps()
        found += self._water_steps()
        found += self._joining()
        found += self._cooling()
        found.append(Step("Fill; note date, lot numbers, weight filled and who made it."))
        return found

    def _vessel(self) -> str:
        return (
            "Clean and dry the vessels: water starts rust and mould." if not self._emulsion else ""
        )

    def _oil_steps(self) -> list[Step]:
        base = self.base
        oil = [item for item in self._in("oil") if item.line not in self.later]
        powder = self._in("powder")
        gellants = [i for i in oil if base.does(i.material, "polymeric-oil-gellant") >= 0.5]
        solids = [i for i in oil if self._top(i) is not None and i not in gellants]
        liquids = [i for i in oil if i not in solids and i not in gellants]
        found = []
        if self.system == "powder" or (powder and not oil):
            found.append(self._step("Mix the powders and sieve them; mind the dust", powder))
            powder = []
        if gellants and liquids:
            found.append(
                self._step("Dissolve in the liquid oils, hot, before anything else", gellants)
            )
        elif gellants:
            solids += gellants
        if powder and liquids:
            found.append(
                self._step("Wet the powder in part of the liquid oils and mill it", powder)
            )
        elif powder:
            found.append(self._step("Mix the powder in until no lumps are left", powder))
        if solids:
            order = sorted(solids, key=lambda i: -(self._top(i) or 0.0))
            found.append(self._step("Melt, highest first, until clear", order, self.hot))
        if liquids:
            text = "Add the liquid oils and keep it clear" if solids else "Mix the oil phase"
            found.append(self._step(text, liquids, self.hot))
        if self.later:
            order = sorted(
                (item for item in self.items if item.line in self.later),
                key=lambda i: -self.later[i.line],
            )
            text = "Let it cool to this and melt or stir in, keeping it clear"
            found.append(self._step(text, order, self._meeting()))
        return found

    def _meeting(self) -> float | None:
        """Return the temperature of the finished oil phase, degC."""
        if self.hot is None:
            return None
        return min([self.hot, *self.later.values()])

    def _water_steps(self) -> list[Step]:
        base = self.base
        water = self._in("water")
        if not water:
            return []
        gums = [i for i in water if base.does(i.material, "water-thickener") >= 0.4]
        carriers = [
            i for i in water if i not in gums and base.does(i.material, "polyol-humectant") >= 0.5
        ]
        rest = [i for i in water if i not in gums and i not in carriers]
        rest.sort(key=lambda i: not is_water(i.material, base))
        found = []
        if gums:
            where = self._names(carriers) if carriers else "cold water"
            found.append(
                self._step(f"Disperse in {where} without lumps and let it swell", gums + carriers)
            )
            found.append(self._step("Add and stir until clear", rest))
        else:
            found.append(self._step("Dissolve the water phase", rest + carriers))
        if self.profile.ph is not None and self._emulsion:
            found.append(
                Step(f"Check the pH of the water phase and set it now: {self.profile.ph:.1f}.")
            )
        return found

    def _joining(self) -> list[Step]:
        if not self._emulsion or not self._in("water"):
            return []
        hot = self._meeting()
        found = []
        if hot is not None:
            found.append(Step("Weigh the water phase; make up with water what has evaporated."))
            found.append(
                Step(f"Bring both phases to one temperature, within {MEET_K:.0f} K.", (), hot)
            )
        way = (
            "water slowly into the oil, in a thin stream"
            if self.system == "w/o"
            else ("one phase into the other at once, then keep it moving")
        )
        found.append(Step(f"Emulsify: {way}; {self._mixing()}.", (), hot))
        return found

    def _mixing(self) -> str:
        said = str(self.product.get("equipment", "")).casefold()
        return next((text for word, text in _MIXING if word in said), "stir as fast as it takes")

    def _cooling(self) -> list[Step]:
        late = self._in("cool-down")
        found = []
        if not self._emulsion:
            if self.hot is not None:
                found.append(
                    Step("Cool while stirring, without air, until it begins to cloud at the wall.")
                )
            if late:
                found.append(self._step("Stir in quickly, before it sets", late))
            return found
        if self.hot is not None:
            at = COOL_C if late or self.system == "w/o" else 30.0
            found.append(Step("Cool while stirring slowly; scrape the wall.", (), at))
        if self.system == "w/o" and self.hot is not None:
            found.append(Step("Mix hard once more: it makes the drops finer.", (), COOL_C))
        if late:
            limits = [limit for i in late if (limit := self._bears(i)) is not None]
            found.append(self._step("Stir in, no warmer", late, min([COOL_C, *limits])))
        return found

    def _step(self, text: str, items: Sequence[Item], at: float | None = None) -> Step:
        names = self._names(items)
        lines = tuple(item.line for item in items)
        return Step(f"{text}: {names}." if names else f"{text}.", lines, at)

    def _names(self, items: Sequence[Item]) -> str:
        return ", ".join(self.name[item.line] for item in items)


def _checks(profile: Profile, batch_g: float) -> list[str]:
    """Return what to look at while the batch is made and after a night."""
    system = profile.system
    found = ["Appearance: even, no grains, no drops; photograph it."]
    if system == "w/o":
        found.append("Type: a drop stays whole in water and parts in oil; conductivity near zero.")
    elif system == "o/w":
        found.append("Type: a drop parts in water; conductivity well above zero.")
    if system == "o/w" and profile.ph is not None:
        found.append(f"pH of the finished batch; {profile.ph:.1f} was meant.")
    found.append(f"Weight: {batch_g:,g} g less what stays in the vessel; write the loss down.")
    body = profile.quantities.get("consistency_25c")
    if system != "powder":
        meant = ""
        if body is not None and body.value is not None and body.low is not None:
            low, high = (float(f"{end:.2g}") for end in (body.low, body.high or body.value))
            meant = f"; predicted {low:,.0f} to {high:,.0f} mPa.s at 10 1/s"
        found.append(
            f"After a night at 25 degC: consistency with the same spindle and speed{meant}."
        )
    return found
