"""Two or three materials in place of one: where no single material does the work of a line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from kb.adapt.mixing import LEAST, MOST, Mixture, judge, nearest_triples, pair_shares
from kb.engine.answers import Swap, SwapResult
from kb.engine.batch import Batch, Share
from kb.engine.candidates import Candidate, best_play, score_candidate, standing
from kb.engine.cautions import cautions
from kb.engine.context import Caution, Context
from kb.engine.exchange import (
    Exchange,
    balancing_item,
    bounds,
    by_consistency,
    by_cover,
    dosing,
    put_on_line,
    sharing,
)
from kb.engine.gates import early_refusals, refuse_late
from kb.engine.obtaining import at_hand, listed
from kb.engine.oilphase import OilPhase
from kb.engine.profile import make_profile
from kb.engine.roles import Here
from kb.engine.sampling import Sampler
from kb.engine.scoreboard import scoreboard
from kb.engine.swap import DRAWS, explain
from kb.engine.worth import company_worth, level_worth
from kb.store.snapshot import Snapshot

#: Materials paired: the best at the line's own work, and of each kind that builds it together.
_OWN, _OF_A_KIND = 16, 8
#: Pairs and triples the full model looks at.
_LOOKED_AT, _TRIPLES = 30, 6
#: Each material more is bought, tested and weighed in too: it must be worth this much.
_ONE_MORE = 0.9
#: A soft fat can be built of a wax and an oil; together they do its work this well at best
#: (common practice: wax in oil for petrolatum).
_BUILT = 0.75
_SOFT = ("semisolid-occlusive", "butter", "sticky-fat")
_OIL, _WAX = "oil-phase-liquid", "balm-wax"
#: What the soft fat of mineral oil is itself built of: stand-ins are ranked by these.
_ITS_OIL, _ITS_WAX = "paraffinum-liquidum", "cera-microcristallina"
_COST_OF_PART = 0.02
#: Room and the hottest that is looked at, degC; most wax in an oil; network that just gels.
_ROOM, _HOTTEST, _MOST_WAX, _GELS = 25.0, 95.0, 0.5, 1.0
_HALVINGS = 14
#: Share of the balancing line that may be given away: it never vanishes.
_GIVEN = 0.99


def find_blends(c: Context, size: int, top: int, only: set[str] | None = None) -> list[Swap]:
    """Return blends of two, and with ``size`` 3 of three, in the order of their worth, explained.

    Pairs are enumerated: every two materials of the pool, at every share at which a trait of the
    mixture meets the original. Triples are found by the solver. The level of the whole is then
    solved in the full model, and every gate of a single stand-in holds for each part.

    Parameters
    ----------
    c : Context
        The question: formula, line, roles, policies.
    size : int
        Most materials in a blend, 2 or 3.
    top : int
        How many.
    only : set of str, optional
        Materials that may be used.
    """
    own, oils, waxes = _pool(c, only)
    mixtures = _pairs(c, own, oils, waxes)
    if size >= 3:
        mixtures += _triples(c, own, [*oils, *waxes])
    ranked = sorted(mixtures, key=lambda m: (-_promise(m, c), m.parts))
    found = [s for m in ranked[:_LOOKED_AT] if (s := _weigh(m, c)) is not None]
    found.sort(key=lambda s: (-s.total, s.replacing))
    found = _distinct(found)[:top]
    wide = make_profile(c.before.batch, c.base, DRAWS) if found else c.before
    for one in found:
        why = one.why
        explain(one, wide, c)
        one.why = [*why, *one.why]
        old = c.before.batch.items[c.index]
        parts = " and ".join(f"{c.label(m)} {x:.3g} %" for m, x in one.replacing)
        one.method[:1] = [
            f"{parts} instead of {c.label(old.material)} {old.percent:.3g} % ({one.trial.how})."
        ]
    return found


def add_blends(
    result: SwapResult,
    policies: list[str],
    base: Snapshot,
    size: int,
    top: int,
    *,
    only: frozenset[str] | None = None,
    preferred: frozenset[str] | None = None,
) -> None:
    """Put blends among the stand-ins of a line, in the order of their worth.

    The best blend is always shown, last if need be: it was asked for.

    Parameters
    ----------
    result : SwapResult
        The answer with single materials; its swaps are changed.
    policies : list of str
    base : Snapshot
    size : int
        Most materials in a blend.
    top : int
        How many swaps to show.
    only, preferred : frozenset of str, optional
        What is in stock.
    """
    first = set(preferred) if preferred is not None else None
    c = Context(base, result.before, result.index, result.here, policies, first)
    blends = find_blends(c, size, top, set(only) if only is not None else None)
    whole = sorted([*result.swaps, *blends], key=lambda s: (-s.total, s.replacing))
    shown = whole[:top]
    if blends and top > 1 and not any(s.others for s in shown):
        shown = [*shown[:-1], blends[0]]
    result.swaps = shown
    if shown:
        result.nearest_miss = None


def _distinct(found: list[Swap]) -> list[Swap]:
    """Leave out what holds the same leading part as two better ones."""
    seen: dict[str, int] = {}
    kept = []
    for one in found:
        first = one.candidate.material
        seen[first] = seen.get(first, 0) + 1
        if seen[first] <= 2:
            kept.append(one)
    return kept


def _pool(c: Context, only: set[str] | None) -> tuple[list[str], list[str], list[str]]:
    """Return who plays the line's role, and for a soft fat the oils and waxes to build it of."""
    own = _best(c, c.here, _OWN, only)
    if not any(soft in c.above() for soft in _SOFT):
        return own, [], []
    oils = _best(c, (Here(_OIL, 1.0),), _OF_A_KIND, only, like=_ITS_OIL, form="liquid")
    waxes = _best(c, (Here(_WAX, 1.0),), _OF_A_KIND, only, like=_ITS_WAX, form="waxy")
    return own, oils, waxes


def _best(
    c: Context,
    here: tuple[Here, ...],
    number: int,
    only: set[str] | None,
    like: str = "",
    form: str = "",
) -> list[str]:
    """Return the best materials for some roles, like the original or like another material."""
    base = c.base
    board = scoreboard(base)
    original = like if like in base.materials else c.original
    ranking = board.rank(original, here, base, c.before.ph)
    alone = replace(c, here=here)
    found: list[str] = []
    for place in ranking.in_order(board.sold(base), leading=True):
        candidate = ranking.at(place)
        if only is not None and not listed(candidate.material, only):
            continue
        if form and base.materials[candidate.material].form != form:
            continue
        refusals = {r.rule for r in early_refusals(candidate, alone)}
        if refusals - ({"melts-in-climate"} if form == "liquid" else set()):
            continue
        found.append(candidate.material)
        if len(found) >= number:
            break
    return found


def _pairs(c: Context, own: list[str], oils: list[str], waxes: list[str]) -> list[Mixture]:
    found = []
    for oil, wax in itertools.product(oils, waxes):
        built = None if oil == wax else _built(oil, wax, c)
        if built is not None:
            found.append(built)
    for first, second in itertools.combinations(own, 2):
        shares = pair_shares(first, second, c.original, c.here, c.base)
        judged = judge((first, second), shares, c.original, c.here, c.base, c.before.ph)
        if judged:
            found.append(max(judged, key=lambda m: (m.fit, -m.shares[0])))
    return found


def _built(oil: str, wax: str, c: Context) -> Mixture | None:
    """Return the wax in oil that has the body of the soft fat by itself, with where it melts.

    It melts where its network falls below the least that gels: well below the wax alone.
    """
    base = c.base
    draw = Sampler(base, 0)

    def network(share: float, t_c: float) -> float:
        phase = OilPhase((Share(oil, 1.0 - share), Share(wax, share)), base, draw)
        return float(phase.at(t_c).network[0])

    alone = OilPhase((Share(c.original, 1.0),), base, draw)
    wanted = float(alone.at(_ROOM).network[0])
    if wanted <= 0.0 or network(_MOST_WAX, _ROOM) < wanted:
        return None
    share = _bisect(lambda x: network(x, _ROOM) - wanted, 0.005, _MOST_WAX)
    if network(share, _HOTTEST) >= _GELS:
        return None
    melts = _bisect(lambda t: _GELS - network(share, t), _ROOM, _HOTTEST) if wanted > _GELS else 0.0
    instead = {"critical_gelling_concentration": 100.0 / wanted}
    if melts:
        instead["melting_point"] = melts
    row = np.array([[1.0 - share, share]])
    judged = judge((oil, wax), row, c.original, c.here, base, c.before.ph, instead)
    return judged[0] if judged else None


def _bisect(rising: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if rising(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _triples(c: Context, own: list[str], built: list[str]) -> list[Mixture]:
    pool = list(dict.fromkeys([*own, *built]))
    base = c.base
    costs = np.array(
        [
            _COST_OF_PART
            - 0.2
            * math.log(max(score_candidate(m, c.original, c.here, base, c.before.ph).score, 1e-2))
            for m in pool
        ]
    )
    found = []
    for parts, shares in nearest_triples(pool, costs, c.original, c.here, base, _TRIPLES):
        row = np.asarray(shares, dtype=np.float64)[None, :]
        found += judge(parts, row, c.original, c.here, base, c.before.ph)
    return found


def _roles(mixture: Mixture, c: Context) -> tuple[float, dict[str, str]]:
    """Return how well the parts together do the line's work, and by playing what."""
    base = c.base
    fit, played = 0.0, {}
    built = _is_built(mixture, c)
    for want in c.here:
        plays = [best_play(want.role, m, base) for m in mixture.parts]
        best = sum(s * p for s, (p, _) in zip(mixture.shares, plays, strict=True))
        role = max(plays)[1]
        if built and any(soft in base.roles[want.role].ancestors for soft in _SOFT):
            best, role = max(best, _BUILT), role or want.role
        if best > 0.0 and role:
            fit += want.share * best
            played[want.role] = role
    return fit, played


def _is_built(mixture: Mixture, c: Context) -> bool:
    """Tell whether it is an oil with a wax in it."""
    base = c.base
    wax = any(base.does(m, "wax") >= 0.5 for m in mixture.parts)
    oil = any(base.materials[m].form == "liquid" for m in mixture.parts)
    return wax and oil and any(soft in c.above() for soft in _SOFT)


def _candidate(mixture: Mixture, c: Context) -> Candidate:
    """Return the blend as one candidate, named after its largest part."""
    fit, played = _roles(mixture, c)
    lead = _order(mixture)[0][0]
    known = [standing(m, c.base) for m in mixture.parts]
    return Candidate(
        lead,
        fit,
        mixture.worst,
        mixture.mean,
        mixture.known,
        min(known),
        0.0,
        played,
        list(mixture.comparisons),
    )


def _together(mixture: Mixture, c: Context) -> str:
    if _is_built(mixture, c):
        return "a wax in an oil, as soft fats are built; its share gives the body"
    return "their traits, each by its law of mixing, come nearer than those of one"


def _order(mixture: Mixture) -> list[tuple[str, float]]:
    return sorted(zip(mixture.parts, mixture.shares, strict=True), key=lambda p: (-p[1], p[0]))


def _promise(mixture: Mixture, c: Context) -> float:
    candidate = _candidate(mixture, c)
    worth = float(candidate.score) * _ONE_MORE ** (len(mixture.parts) - 1)
    for part in mixture.parts:
        worth *= at_hand(part, c) ** (1.0 / len(mixture.parts))
    return worth


def _weigh(mixture: Mixture, c: Context) -> Swap | None:
    """Look at a blend in full; none if a gate refuses it or one of its parts."""
    whole = _candidate(mixture, c)
    if c.leading not in whole.played:
        return None
    parts = [replace(whole, material=m) for m in mixture.parts]
    holds = any(
        c.base.does(m, "wax") >= 0.5 or c.base.materials[m].form in {"waxy", "semisolid"}
        for m in mixture.parts
    )
    for part in parts:
        for refusal in early_refusals(part, c):
            if refusal.rule == "melts-in-climate" and holds:
                continue  # the wax beside it carries the body
            return None
    trial, levels, how = _put(mixture, c)
    if min(levels.values()) <= 0.0:
        return None
    after = make_profile(trial, c.base)
    first, *rest = sorted(levels.items(), key=lambda p: (-p[1], p[0]))
    item = c.before.batch.items[c.index]
    total = sum(levels.values())
    exchange = Exchange(trial, total, how, None, total - item.percent)
    said: list[Caution] = []
    for part in parts:
        if refuse_late(part, exchange, after, c) is not None:
            return None
        said += cautions(part, replace(exchange, percent=levels[part.material]), after, c)
    said = list(dict.fromkeys(said))
    careful = company_worth(said)
    had, got = c.before.value("consistency_25c"), after.value("consistency_25c")
    figures = 1.0
    if had and got:
        figures = 1.0 / (1.0 + 0.5 * (math.log(got / had) / math.log(3.0)) ** 2)
    level = level_worth(item.percent, total)
    several = _ONE_MORE ** (len(parts) - 1)
    parts_of_score = {
        "role": min(whole.role_fit, 1.0),
        "worst_trait": whole.worst,
        "traits": whole.mean,
        "evidence": whole.evidence,
        "company": careful,
        "figures": figures,
        "level": level,
        "several": several,
    }
    score = _promise(mixture, c) * careful * figures * level
    names = " and ".join(c.label(m) for m, _ in (first, *rest))
    return Swap(
        replace(whole, material=first[0]),
        replace(exchange, percent=first[1]),
        score,
        parts_of_score,
        said,
        after,
        why=[f"{names} together: {_together(mixture, c)}"],
        others=tuple(rest),
    )


def _put(mixture: Mixture, c: Context) -> tuple[Batch, dict[str, float], str]:
    """Solve the level of a blend in the full model; return the batch and the level of each part.

    An oil with a wax keeps the mass of the line, and their ratio gives the body; any other blend
    keeps its ratio, and its whole is dosed in the unit of the line.
    """
    profile, base = c.before, c.base
    item = profile.batch.items[c.index]
    names, shares = zip(*_order(mixture), strict=True)
    balance = balancing_item(profile, c.index, names[0], base)

    def put(percent: float, shares: tuple[float, ...] = shares) -> Batch:
        whole = put_on_line(profile.batch, c.index, names[0], percent, balance)
        items = list(whole.items)
        items[c.index] = items[c.index].at(percent * shares[0])
        more = [
            replace(items[c.index].of(m, percent * s), role="")
            for m, s in zip(names[1:], shares[1:], strict=True)
        ]
        return whole.with_items([*items, *more])

    dose = dosing(profile, item, names[0], c.here, base)
    total, how = dose.percent, dose.unit
    if _is_built(mixture, c) and len(names) == 2:
        wax = max(range(2), key=lambda n: base.does(names[n], "wax"))

        def with_wax(percent: float) -> Batch:
            part = percent / item.percent
            both = (part, 1.0 - part) if wax == 0 else (1.0 - part, part)
            return put(item.percent, both)

        low, high = 0.02 * item.percent, 0.6 * item.percent
        found = by_consistency(profile, item.percent * shares[wax], low, high, with_wax, base)
        part = found.percent / item.percent
        shares = (part, 1.0 - part) if wax == 0 else (1.0 - part, part)
        total, how = item.percent, f"wax {found.how}"
    elif dose.unit in {"consistency", "cover"}:
        spans = [bounds(m, c.here, item.percent, base) for m in names]
        low = min(s[0] for s in spans)
        room = item.percent + _GIVEN * sum(
            profile.batch.items[n].percent for n in sharing(profile.batch, c.index, balance)
        )
        high = min(max(s[1] for s in spans), room)
        low = min(low, high)
        solve = by_consistency if dose.unit == "consistency" else by_cover
        found = solve(profile, item.percent, low, high, put, base)
        total, how = min(max(found.percent, low), high), found.how
    elif dose.unit == "volume":
        how = "by volume of powder"
    for name, share in zip(names, shares, strict=True):
        for limit in base.limits(name):
            binds = limit.kind == "max" and limit.applies in {"all", "leave-on"}
            if binds and limit.unit_is_percent and limit.high is not None:
                total = min(total, limit.high / max(share, 1e-9))
    if not all(LEAST / 4.0 <= s <= 1.0 for s in shares) or max(shares) > max(MOST, 0.98):
        return put(total, shares), dict.fromkeys(names, 0.0), how
    return (
        put(total, shares),
        {m: total * s for m, s in zip(names, shares, strict=True)},
        how,
    )
