"""What to change in the making, and what to test again because of this change."""

from __future__ import annotations

import re
from dataclasses import dataclass

from kb.engine.batch import Batch
from kb.engine.candidates import Candidate
from kb.engine.context import Caution, Context
from kb.engine.exchange import Exchange
from kb.engine.profile import Profile
from kb.store.snapshot import Snapshot

_MELT_MARGIN_K = 10.0
#: Levels nearer than this are one, %.
_EQUAL = 1e-6
#: Jars beside the solved level, as shares of it.
_LESS, _MORE = 0.75, 1.25
#: Families whose change can let drops or powder part; others need no centrifuge.
_HOLD_TOGETHER = ("emollient", "rheology-modifier", "electrolyte", "powder-part", "antimicrobial")


def method_changes(candidate: Candidate, trial: Exchange, after: Profile, c: Context) -> list[str]:
    """Return the changes to the method, in the order of work."""
    base, material = c.base, candidate.material
    item = c.before.batch.items[c.index]
    about, own = base.materials[material], base.materials[c.original]
    found = [f"Level {trial.percent:.3g} % instead of {item.percent:.3g} % ({trial.how})."]
    if trial.balance is not None and abs(trial.changed) >= 0.005:
        line = c.before.batch.items[trial.balance]
        verb = "takes" if trial.changed < 0 else "gives"
        found.append(
            f"{base.materials[line.material].inci} {verb} the difference of "
            f"{abs(trial.changed):.3g} %."
        )
    elif trial.balance is None and abs(trial.changed) >= 0.005:
        found.append("All other lines are scaled to keep 100 %.")
    found += _heat(material, c.original, base)
    if about.phase == "powder" and own.phase == "powder":
        old = base.value(c.original, "oil_absorption"), base.value(material, "oil_absorption")
        if old[0] > 0 and old[1] > 1.2 * old[0]:
            found.append(
                f"It takes up more oil ({old[1]:.0f} against {old[0]:.0f} g/100 g): wet and mill "
                "it in more of the liquid oils."
            )
        found.append("Wet the powder in the oils before the waxes go in; mind the dust.")
    if "gelatinises" in about.tags and after.phases.water_mass >= 3.0:
        found.append("Keep it out of hot water, where it swells to a paste: into the oils or cool.")
    if base.does(material, "water-thickener") >= 0.4:
        found.append("Disperse it in glycerin or cold water and let it hydrate before heating.")
    if base.does(material, "polymeric-oil-gellant") >= 0.5:
        found.append("Dissolve it hot in the liquid oils before anything else goes in.")
    if about.phase == "water" and own.phase == "oil" and c.before.system == "w/o":
        found.append("It goes into the water phase before emulsifying.")
    if c.matters("wo-emulsifier"):
        found.append(
            "Water slowly into the oil, phases within 5 K; homogenise again below 40 degC; rest a "
            "night before judging."
        )
    if c.matters("antimicrobial") and after.system == "w/o":
        found.append("Put it where the water is: into the water phase before emulsifying.")
    return found


def label_changes(trial: Exchange, c: Context) -> list[str]:
    """Return what changes on the label: name, place in the order, allergens, claims."""
    base = c.base
    item = trial.batch.items[c.index]
    about, own = base.materials[item.material], base.materials[c.original]

    def place(batch: Batch, material: str) -> int:
        levels = batch.by_material()
        return 1 + sum(percent > levels[material] + _EQUAL for percent in levels.values())

    old, new = place(c.before.batch, c.original), place(trial.batch, item.material)
    found = [f"{about.inci} instead of {own.inci}, place {new} (before {old})."]
    if item.percent < 1.0:
        found.append("Below 1 % the order is free.")
    if "allergen" in about.tags or "nut-allergen" in about.tags:
        found.append("Labelled allergens or a known sensitiser come in.")
    if base.does(c.original, "uv-filter") >= 0.5 and base.does(item.material, "uv-filter") < 0.3:
        found.append("No word on UV may stay.")
    if c.before.batch.items[c.index].active:
        found.append("The declared active and its claim fall.")
    return found


def _heat(material: str, original: str, base: Snapshot) -> list[str]:
    mine, theirs = base.known(original, "melting_point"), base.known(material, "melting_point")
    solid = base.materials[material].form in {"waxy", "crystalline", "semisolid"}
    if theirs is None or not solid or base.materials[material].phase == "powder":
        return []
    needed = theirs.high + _MELT_MARGIN_K
    old = (mine.high if mine is not None else 20.0) + _MELT_MARGIN_K
    if needed > old + 3.0 and needed > 40.0:
        return [f"Melt to {needed:.0f} degC (before: {max(old, 40.0):.0f} degC)."]
    if needed < old - 8.0 and old > 60.0:
        return [f"Melting to {max(needed, 50.0):.0f} degC is enough (before: {old:.0f} degC)."]
    return []


@dataclass(frozen=True, slots=True)
class _Test:
    """One line of the card: when, what, the limit, when to stop, and because of what."""

    when: str
    what: str
    limit: str
    stop: str
    because: str

    @property
    def days(self) -> int:
        """Days until the last of it is read; 0 for what has no day of its own."""
        unit = 7 if self.when.startswith("Week") else int(self.when.startswith("Day"))
        return unit * max(map(int, re.findall(r"\d+", self.when)), default=0)

    def __str__(self) -> str:
        return f"{self.when}: {self.what} - {self.limit}; {self.stop} ({self.because})."


def trial_card(
    candidate: Candidate,
    trial: Exchange,
    after: Profile,
    found: list[Caution],
    c: Context,
) -> list[str]:
    """Return jars and tests, cheapest first: only what this change calls for.

    Every test names its day, its limit, when to stop, and the change it is there for.
    """
    rules = {caution.rule for caution in found}
    return [
        _jars(candidate.material, trial.percent, c),
        *map(str, _tests(rules, c)),
        _class_of_change(c, rules),
    ]


def days_of_tests(found: list[Caution], c: Context) -> int:
    """Return the days until the last test of the card is read; the tests run side by side."""
    return max(test.days for test in _tests({caution.rule for caution in found}, c))


def _tests(rules: set[str], c: Context) -> list[_Test]:
    """Return the tests this change calls for, cheapest first."""
    return [
        *_on_the_day(c),
        *_at_the_bench(rules, c),
        *_in_storage(rules, c),
        *_at_a_laboratory(rules, c),
    ]


def _jars(material: str, level: float, c: Context) -> str:
    """Name the jars; none goes over what the law allows of this material."""
    caps = [
        limit.high
        for limit in c.base.limits(material)
        if limit.kind == "max" and limit.unit_is_percent and limit.high is not None
        if limit.applies in {"all", "leave-on"}
    ]
    most = max(min([_MORE * level, *caps]), level)
    levels = [f"{x:.3g}" for x in dict.fromkeys((_LESS * level, level, most))]
    named = ", ".join(levels[:-1]) + f" and {levels[-1]}"
    held = " (the law allows no more)" if most < _MORE * level else ""
    return f"Jars: {named} %{held} beside the old formula, same day, same hands."


def _changed(family: str, c: Context) -> str:
    """Name the work within a family that has changed hands."""
    here = [h for h in c.here if family in c.base.roles[h.role].ancestors]
    best = max(here, key=lambda h: h.share, default=None)
    return f"{c.base.roles[best.role if best else family].label} changed"


def _on_the_day(c: Context) -> list[_Test]:
    """Return what costs minutes: pH, kind of emulsion."""
    found = []
    alkaline = next((f for f in ("soap-part", "ph-adjuster") if c.matters(f)), "")
    if alkaline:
        found.append(
            _Test(
                "Day 0",
                "pH, by equivalents",
                "within 0.3 of the old one",
                "stop outside",
                _changed(alkaline, c),
            )
        )
    elif c.matters("antimicrobial"):
        found.append(
            _Test(
                "Day 0",
                "pH of the water phase, recorded before emulsifying",
                "within the window of the preservative",
                "stop outside",
                _changed("antimicrobial", c),
            )
        )
    if c.before.system in {"w/o", "o/w"} and c.matters("surface-active"):
        found.append(
            _Test(
                "Day 0",
                "dilution or conductivity",
                f"must still be {c.before.system.upper()}",
                "stop if not",
                _changed("surface-active", c),
            )
        )
    return found


def _at_the_bench(rules: set[str], c: Context) -> list[_Test]:
    """Return what costs a day or two at the bench."""
    found = []
    families = ("surface-active", *_HOLD_TOGETHER)
    family = next((f for f in families if c.matters(f)), "")
    if c.before.system in {"w/o", "o/w"} and family:
        found.append(
            _Test(
                "Day 1",
                "centrifuge 3,000 rpm, 30 min",
                "no free oil or water",
                "stop if more than a trace",
                _changed(family, c),
            )
        )
    if c.matters("powder-part"):
        found.append(
            _Test(
                "Day 1",
                "spread on black card beside the old one",
                "cover, colour and grit as before",
                "stop at grit",
                _changed("powder-part", c),
            )
        )
    felt = next((f for f in ("emollient", "humectant", "feel-powder") if c.matters(f)), "")
    if felt:
        found.append(
            _Test(
                "Day 2",
                "slip, drag, tack, residue by three people, blind, beside the old one",
                "no two of them find it worse",
                "adjust the level if they do",
                _changed(felt, c),
            )
        )
    body = c.matters("rheology-modifier")
    if body or "consistency" in rules:
        found.append(
            _Test(
                "Day 1, 7, 28",
                "consistency at one speed, 25 degC",
                "within 30 % of the old one",
                "adjust the level if not",
                _changed("rheology-modifier", c) if body else "predicted consistency differs",
            )
        )
    return found


def _in_storage(rules: set[str], c: Context) -> list[_Test]:
    """Return what costs weeks."""
    found = []
    body = c.matters("oil-phase-structurant")
    if body or "melts-in-climate" in rules:
        found.append(
            _Test(
                "Week 1",
                "five cycles -5/40 degC",
                "no oil on top, no grains",
                "stop at free oil",
                _changed("oil-phase-structurant", c) if body else "melting behaviour differs",
            )
        )
    if c.matters("powder-part") and c.before.system != "powder":
        found.append(
            _Test(
                "Week 4",
                "stand at 40 degC",
                "no sediment",
                "stop if it does not stir in again",
                _changed("powder-part", c),
            )
        )
    if "oxidation" in rules:
        found.append(
            _Test(
                "Week 4 and 12",
                "smell and peroxide value at 40 degC",
                "no higher than the old one",
                "stop at a rancid smell",
                "more unsaturated oil",
            )
        )
    found.append(
        _Test(
            "Weeks 4, 8, 12",
            "keep at 4, 25, 40 degC; look, smell, weigh",
            "as the old one beside it",
            "stop when it parts",
            "another material came in",
        )
    )
    return found


def _at_a_laboratory(rules: set[str], c: Context) -> list[_Test]:
    """Return what is given out of the house."""
    found = []
    kept = c.matters("antimicrobial")
    if kept or rules & {"binds-preservative", "preservative-inactive", "ph-window"}:
        found.append(
            _Test(
                "Day 28",
                "preservative challenge test at a laboratory",
                "passes",
                "stop if not",
                _changed("antimicrobial", c) if kept else "free preservative changed",
            )
        )
    if c.matters("uv-filter"):
        found.append(
            _Test(
                "Before any claim",
                "UV protection tested again at a laboratory",
                "as claimed",
                "no claim if not",
                _changed("uv-filter", c),
            )
        )
    return found


def _class_of_change(c: Context, rules: set[str]) -> str:
    if c.matters("antimicrobial") or c.matters("uv-filter") or c.before.batch.items[c.index].active:
        return (
            "Class: major - safety assessment anew, challenge or efficacy test, notification and "
            "artwork changed."
        )
    works = ("surface-active", "rheology-modifier", "soap-part")
    if any(map(c.matters, works)) or rules & {"binds-preservative", "wrong-emulsion-type"}:
        return (
            "Class: moderate - safety file updated, stability repeated, artwork and notification "
            "brought up to date."
        )
    return (
        "Class: minor - safety file and ingredient list on the artwork updated; ask the safety "
        "assessor whether the notification changes."
    )
