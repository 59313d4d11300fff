"""One line of one formula: which stand-ins are good, and what closes the door when none is."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.answers import Swap
from kb.engine.batch import is_water
from kb.engine.context import Context, Refusal
from kb.engine.profile import Profile
from kb.engine.roles import roles_here
from kb.engine.search import Search
from kb.engine.swap import OTHERS_FIT_BETTER, search_for, why_lower
from kb.engine.trial import days_of_tests
from kb.store.snapshot import Snapshot

#: Worth from which a stand-in is good. Of 75 published pairs known to fail none is worth as much;
#: of 48 known to work closely 41 are (tests/data; ``scripts/judge_swaps.py`` runs them).
GOOD = 0.5


@dataclass(frozen=True, slots=True)
class StandIn:
    """One good stand-in: worth 0 to 1, its level in %, days until its tests are done."""

    material: str
    worth: float
    percent: float
    days: int


@dataclass(frozen=True, slots=True)
class Line:
    """A line with its good stand-ins, best first, and the reason when there is none."""

    number: int
    material: str
    percent: float
    role: str
    stand_ins: tuple[StandIn, ...]
    rule: str
    reason: str
    nearest: str


def line_of(
    profile: Profile,
    index: int,
    context: Context,
    most: int | None,
    good: float = GOOD,
    only: set[str] | None = None,
) -> Line:
    """Look for good stand-ins of a line.

    Parameters
    ----------
    profile : Profile
        The formula as it is.
    index : int
        Place of the item in its batch.
    context : Context
        The question; its ``here`` says what the line does.
    most : int, optional
        Stop after this many good ones in the order of their scores; none asks for all.
    good : float
        Worth from which a stand-in is good.
    only : set of str, optional
        Materials that may be used.
    """
    item = profile.batch.items[index]
    found: list[Swap] = []
    refused: tuple[str, str, str] | None = None
    closed = _closed(profile, index)
    if closed is None:
        search = search_for(context, None, only)
        found, refused = _good(search, most, good)
    else:
        refused = (*closed, "")
    found.sort(key=lambda s: (-s.total, s.candidate.material))
    rule, reason, nearest = ("", "", "") if found or refused is None else refused
    return Line(
        item.line,
        item.material,
        item.percent,
        context.leading,
        tuple(
            StandIn(
                s.candidate.material,
                round(s.total, 4),
                s.trial.percent,
                days_of_tests(s.cautions, context),
            )
            for s in found
        ),
        rule,
        reason,
        nearest,
    )


def context_of(profile: Profile, index: int, policies: list[str]) -> Context:
    """Return the question about a line of a formula."""
    base = profile.sampler.base
    here = roles_here(profile.batch.items[index], profile, base)
    return Context(base, profile, index, here, policies)


def needs_none(profile: Profile, index: int) -> bool:
    """Tell whether a line is plain water, which nobody runs out of in this sense."""
    return is_water(profile.batch.items[index].material, profile.sampler.base)


def _closed(profile: Profile, index: int) -> tuple[str, str] | None:
    """Return why a line may not be changed at all."""
    item = profile.batch.items[index]
    if item.locked:
        return "locked", "the line is locked"
    if item.active:
        return "function-lost", "the line is a declared active: the claim falls with it"
    return None


def _good(
    search: Search, most: int | None, good: float
) -> tuple[list[Swap], tuple[str, str, str] | None]:
    """Return the good stand-ins, and what stood against the nearest of the others.

    A stand-in is worth at most its score, so the search ends where scores fall below ``good``.
    """
    found: list[Swap] = []
    nearest: tuple[str, str, str] | None = None
    best_below = 0.0
    gone = search.context.original.split("--")[0]
    for candidate in search.suitable():
        if search.bound(candidate) < good:
            if nearest is None:
                text = "nothing known is near enough in role and traits"
                nearest = ("ranked-lower", text, candidate.material)
            break
        if _holds(candidate.material, gone, search.context.base):
            continue
        weighed = search.weighed(candidate)
        if isinstance(weighed, Refusal):
            if nearest is None:
                nearest = (weighed.rule, weighed.reason, candidate.material)
            continue
        if weighed.total < good:
            if weighed.total > best_below:
                best_below = weighed.total
                nearest = (*_held_down(weighed, search.context), candidate.material)
            continue
        found.append(weighed)
        if most is not None and len(found) >= most:
            break
    if not found and nearest is None:
        nearest = ("function-lost", "nothing in the base does this work here", "")
    return found, nearest


def _holds(material: str, gone: str, base: Snapshot) -> bool:
    """Tell whether a blend brings the very material that is to go."""
    return any(part.part.split("--")[0] == gone for part in base.parts(material))


def _held_down(found: Swap, c: Context) -> tuple[str, str]:
    """Name what lowers the worth of a stand-in most."""
    told = why_lower(found.candidate, c)
    rule, reason = told.rule, told.reason.removeprefix(f"{OTHERS_FIT_BETTER}; ")
    if reason == OTHERS_FIT_BETTER:
        part = min(found.parts, key=lambda name: found.parts[name])
        reason = f"nothing is near enough; least in {part.replace('_', ' ')}"
    return rule, reason
