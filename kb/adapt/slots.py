"""Which lines go, which stay, and who may stand in for those that go, with all that bars them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from kb.adapt.levels import Company, Levels, levels_of
from kb.adapt.wish import Wish
from kb.engine import policy as policies
from kb.engine.batch import Item, phase_of
from kb.engine.candidates import Candidate
from kb.engine.cautions import static_cautions
from kb.engine.context import Context
from kb.engine.gates import early_refusals
from kb.engine.obtaining import at_hand, listed
from kb.engine.profile import Profile
from kb.engine.roles import Here, roles_here
from kb.engine.scoreboard import scoreboard
from kb.engine.search import kind_of_material
from kb.engine.worth import company_worth, level_worth
from kb.store.snapshot import Snapshot

#: Least worth a choice can have: it bounds the cost of one.
_LEAST_WORTH = 1e-4
#: What a policy leaves open is worth this much less: the supplier may say no.
_OPEN_POLICY = 0.8
#: A second material for a line costs this much at the least: fewer are better.
_SECOND = 0.35
#: A helper's own fit counts by half: it carries a part of the work.
_SECOND_COUNTS = 0.5
#: Cost of standing away from the best level by all of it; the bulk of a phase may shift.
_RATE, _RATE_OF_BULK = 0.5, 0.1
#: Share of a line's work, or of the network, from which a helper may carry it.
_WORTH_HELP, _BODY_WORTH_HELP = 0.05, 0.1
_HELPER_ROLE = "balm-wax"
_HELPER_RATE = 0.02


@dataclass(slots=True)
class Choice:
    """One material that may fill a slot; ``barred`` gives the rules against it, with reasons."""

    candidate: Candidate
    levels: Levels
    cost: float
    rate: float
    kind: str
    barred: dict[str, str] = field(default_factory=dict)
    asks: str = ""

    @property
    def material(self) -> str:
        """Material id."""
        return self.candidate.material


@dataclass(slots=True)
class Slot:
    """A line that must go, or a helper's place beside one (``second``).

    Choices are made in the order of their scores, as far as they were asked for; no choice that is
    still ahead costs less than ``floor``.
    """

    index: int
    here: tuple[Here, ...]
    context: Context
    second: bool = False
    choices: list[Choice] = field(default_factory=list)
    floor: float = math.inf
    ahead: list[Ahead] = field(default_factory=list)

    def fill(self, number: float) -> None:
        """Make choices until so many are free of rules, for each role that they may carry."""
        for one in self.ahead:
            one.fill(self, number)
        self.floor = min((one.floor for one in self.ahead), default=math.inf)


@dataclass(slots=True)
class Ahead:
    """Candidates for one role of a slot, best first, made into choices when asked."""

    candidates: Iterator[tuple[Candidate, float]]
    make: Callable[[Candidate], Choice | None]
    cost_of: Callable[[float], float]
    floor: float = 0.0
    free: int = 0

    def fill(self, slot: Slot, number: float) -> None:
        """Make choices until so many are free of rules."""
        while self.free < number:
            candidate, worth = next(self.candidates, (None, 0.0))
            if candidate is None:
                self.floor = math.inf
                return
            self.floor = self.cost_of(worth)
            choice = self.make(candidate)
            if choice is None:
                continue
            self.free += not choice.barred
            old = next((c for c in slot.choices if c.material == choice.material), None)
            if old is None:
                slot.choices.append(choice)
            elif choice.cost < old.cost:
                slot.choices[slot.choices.index(old)] = choice


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Why each line must go or must stay, as rule keys, and what the policy leaves open."""

    go: dict[int, frozenset[str]]
    stay: dict[int, frozenset[str]]
    asks: dict[int, str]
    reasons: dict[str, str]


def judge_lines(profile: Profile, wish: Wish, base: Snapshot) -> Verdicts:
    """Judge every line by the policies, the names forbidden, the lock and what is to be kept."""
    go: dict[int, frozenset[str]] = {}
    stay: dict[int, frozenset[str]] = {}
    asks: dict[int, str] = {}
    reasons: dict[str, str] = {}
    for index, item in enumerate(profile.batch.items):
        found: set[str] = set()
        judged = policies.judge(item.material, list(wish.policies), base)
        inci = base.materials[item.material].inci
        if judged.answer == "no":
            found.add(f"policy/{item.line}")
            reasons[f"policy/{item.line}"] = f"line {item.line}, {inci}: {judged.reason}"
        elif judged.answer == "unknown":
            asks[index] = judged.reason
        if listed(item.material, set(wish.forbid)):
            found.add(f"forbid/{item.line}")
            reasons[f"forbid/{item.line}"] = f"line {item.line}, {inci}, was forbidden by name"
        if found:
            go[index] = frozenset(found)
        held = set()
        if index in wish.keep:
            held.add(f"keep/{item.line}")
            reasons[f"keep/{item.line}"] = f"line {item.line}, {inci}, was to be kept"
        if item.locked:
            held.add(f"locked/{item.line}")
            reasons[f"locked/{item.line}"] = f"line {item.line}, {inci}, is locked in the formula"
        if held:
            stay[index] = frozenset(held)
    return Verdicts(go, stay, asks, reasons)


def bulk_lines(profile: Profile, base: Snapshot) -> set[int]:
    """Return the lines that give and take: the largest plain liquid of the oil, and the water."""
    found: set[int] = set()
    for phase in ("oil", "water"):
        best: tuple[float, int] | None = None
        for index, item in enumerate(profile.batch.items):
            about = base.materials[item.material]
            if item.locked or item.active or phase_of(about, item.stage, base) != phase:
                continue
            if base.does(item.material, "emulsifier") >= 0.4:
                continue
            if phase == "oil" and about.form not in {"liquid", "semisolid"}:
                continue
            if phase == "water" and not base.does(item.material, "water-phase-base"):
                continue
            if best is None or (-item.percent, index) < best:
                best = (-item.percent, index)
        if best is not None:
            found.add(best[1])
    return found


def make_slot(
    index: int,
    profile: Profile,
    company: Company,
    wish: Wish,
    base: Snapshot,
    *,
    bulk: bool,
    wide: bool,
) -> Slot:
    """Return a slot for a line; ``wide`` also looks at what cannot play the leading role."""
    item = profile.batch.items[index]
    here = roles_here(item, profile, base)
    preferred = set(wish.preferred) if wish.preferred is not None else None
    context = Context(base, profile, index, here, list(wish.policies), preferred)
    slot = Slot(index, here, context)

    def make(candidate: Candidate) -> Choice | None:
        return _choice(candidate, slot, item, company, wish, bulk=bulk)

    if here:
        slot.ahead.append(Ahead(_ranked(slot, leading=not wide), make, _cost_of))
    return slot


def make_second(slot: Slot, company: Company, wish: Wish, base: Snapshot) -> Slot:
    """Return the place of a helper beside a slot: one that carries work the first may not.

    That is any role of the line but the leading one, and the body, where the line brings a good
    part of it.
    """
    item = company.profile.batch.items[slot.index]
    roles = [h for h in slot.here[1:] if h.share >= _WORTH_HELP]
    whole = sum(company.profile.network_parts.values())
    part = company.profile.network_parts.get(item.material, 0.0)
    structural = any("oil-phase-structurant" in base.roles[h.role].ancestors for h in slot.here)
    if whole > 0.0 and part > _BODY_WORTH_HELP * whole and not structural:
        roles.append(Here(_HELPER_ROLE, part / whole))
    if structural and len(slot.here) == 1:
        roles = list(slot.here)
    found = Slot(slot.index, slot.here, slot.context, second=True)
    for role in roles:
        alone = (Here(role.role, 1.0),)
        helper = Slot(slot.index, alone, replace(slot.context, here=alone), second=True)

        def make(candidate: Candidate, helper: Slot = helper) -> Choice | None:
            choice = _choice(candidate, helper, item, company, wish, bulk=False)
            if choice is not None:
                choice.cost = _SECOND + _SECOND_COUNTS * choice.cost
                # A helper may be as little as it likes: its part is what the first leaves.
                levels = choice.levels
                choice.levels = replace(levels, low=min(levels.low, 0.1 * levels.best))
                choice.rate *= _HELPER_RATE
            return choice

        found.ahead.append(Ahead(_ranked(helper, leading=True), make, _second_cost_of))
    return found


def _ranked(slot: Slot, *, leading: bool) -> Iterator[tuple[Candidate, float]]:
    """Yield candidates with what they are worth at most, best first."""
    c = slot.context
    board = scoreboard(c.base)
    ranking = board.rank(c.original, slot.here, c.base, c.before.ph, c.salt)
    sold = board.sold(c.base)
    for place in ranking.in_order(sold, leading=leading):
        candidate = ranking.at(place)
        if candidate.role_fit > 0.0 and candidate.played:
            yield candidate, candidate.score * float(sold[place])


def _cost_of(worth: float) -> float:
    return -math.log(max(worth, _LEAST_WORTH))


def _second_cost_of(worth: float) -> float:
    return _SECOND + _SECOND_COUNTS * _cost_of(worth)


def _choice(
    candidate: Candidate, slot: Slot, item: Item, company: Company, wish: Wish, *, bulk: bool
) -> Choice | None:
    c = slot.context
    barred = {refusal.rule: refusal.reason for refusal in early_refusals(candidate, c)}
    if listed(candidate.material, set(wish.forbid)):
        barred["forbid"] = "it was forbidden by name"
    if wish.only is not None and not listed(candidate.material, set(wish.only)):
        barred["shelf"] = "it is not in stock"
    levels = levels_of(item, candidate.material, slot.here, company, balance=bulk)
    if levels.high <= 0.0:
        return None
    judged = policies.judge(candidate.material, c.policies, c.base)
    worth = candidate.score * company_worth(static_cautions(candidate, c))
    worth *= at_hand(candidate.material, c)
    worth *= level_worth(item.percent, levels.best)
    if judged.answer == "unknown":
        worth *= _OPEN_POLICY
    rate = (_RATE_OF_BULK if bulk else _RATE) / max(levels.best, 1e-6)
    cost = _cost_of(worth) + _RATE * abs(
        math.log(max(levels.best, 1e-6) / max(levels.wanted, 1e-6))
    )
    return Choice(
        candidate,
        levels,
        cost,
        rate,
        kind_of_material(candidate, c),
        barred,
        judged.reason if judged.answer == "unknown" else "",
    )
