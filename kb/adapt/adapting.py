"""Adapt a whole formula: from a batch and a wish to explained, proven answers."""

from __future__ import annotations

import time

from kb.adapt.answers import Adaptation, Exchanged, Moved, Solution
from kb.adapt.frame import Frame
from kb.adapt.fullmodel import Settled
from kb.adapt.infeasible import explain
from kb.adapt.proof import Progress, Proof, Search
from kb.adapt.widening import find
from kb.adapt.wish import Wish
from kb.engine.batch import Batch
from kb.engine.cautions import cautions
from kb.engine.cost import cost_change, put_cost
from kb.engine.exchange import Exchange
from kb.engine.profile import Profile, make_profile
from kb.engine.swap import DRAWS, change, why_it_fits
from kb.engine.trial import method_changes, trial_card
from kb.store.snapshot import Snapshot

#: A level that moves by less than this share is the same, %.
_SAME = 5e-3
#: Part of the time limit that an explanation of failure may take beside it.
_TO_EXPLAIN = 1.0


def adapt(
    batch: Batch, base: Snapshot, wish: Wish, tell: Progress | None = None, *, why: bool = True
) -> Adaptation:
    """Replace every line that a policy forbids, all at once, as near to the original as can be.

    Parameters
    ----------
    batch : Batch
        The formula in materials.
    base : Snapshot
    wish : Wish
        Policies, what must stay or go, stock, caps, number of answers, time.
    tell : callable, optional
        Told of progress in a few words.
    why : bool
        Explain: ranges of the effects, reasons, cautions, trial card, and for a question without
        an answer which rules closed the door. Without it only status, levels and proof are made,
        for those who ask of many formulas.

    Returns
    -------
    Adaptation
    """
    start = time.monotonic()
    before = make_profile(batch, base)
    frame = Frame.of(before, wish, base)
    asks = [
        f"{base.materials[batch.items[n].material].inci} (line {batch.items[n].line}): {said}"
        for n, said in frame.verdicts.asks.items()
    ]
    going, torn = frame.going(frozenset())
    if not going and not torn:
        return Adaptation("unchanged", wish, before, asks=asks)
    found: Search | None = None
    if not torn:
        if tell is not None:
            tell(f"{len(going)} lines must go; looking for stand-ins")
        left = wish.seconds - (time.monotonic() - start)
        found = find(frame, top=wish.top, seconds=left, tell=tell)
    result = Adaptation(found.status if found else "infeasible", wish, before, asks=asks)
    if found is not None and found.found:
        wide = make_profile(batch, base, DRAWS) if why else before
        for settled, proof in found.found:
            result.solutions.append(_solution(settled, proof, found, frame, wide, why=why))
        result.proof = found.found[0][1]
        if result.solutions:
            result.asks += [a for c in result.solutions[0].changes for a in c.asks]
    if result.status == "infeasible" and why:
        if tell is not None:
            tell("no answer; looking for the rules that close the door")
        result.closed_by, result.irreducible = explain(frame, max(_TO_EXPLAIN * wish.seconds, 5.0))
    return result


def _solution(
    settled: Settled, proof: Proof, found: Search, frame: Frame, wide: Profile, *, why: bool
) -> Solution:
    base, before = frame.base, frame.before
    after = make_profile(settled.batch, base, DRAWS) if why else settled.after
    changes = _changes(settled, found, frame)
    solution = Solution(
        list(changes.values()),
        _moved(settled, found, frame),
        settled.batch,
        settled.value,
        proof,
        after,
    )
    if not why:
        return solution
    solution.effects = {
        name: change(quantity, after.quantities[name])
        for name, quantity in wide.quantities.items()
        if name != "feel"
    }
    if frame.wish.prices:
        unit = f"{frame.wish.currency} per kg of formula".strip()
        cost = cost_change(before.batch, settled.batch, frame.wish.prices, unit)
        if cost is not None and cost.after is not None:
            solution.effects["cost"] = cost
            put_cost(after, cost.after, unit)
    card: list[str] = []
    for place, level in zip(settled.places, settled.levels, strict=True):
        number, choice = found.layout.columns[int(place)]
        slot = found.layout.slots[number]
        one = changes[slot.index]
        old = before.batch.items[slot.index].percent
        trial = Exchange(settled.batch, float(level), choice.levels.unit, None, float(level) - old)
        told = why_it_fits(choice.candidate, slot.context)
        inci = base.materials[choice.material].inci
        if slot.second:
            one.why.append(f"{inci} carries what the first does not: {told[0] if told else ''}")
            continue
        one.why = told + one.why
        one.cautions = cautions(choice.candidate, trial, settled.after, slot.context)
        steps = method_changes(choice.candidate, trial, settled.after, slot.context)
        one.method = [s for s in steps[1:] if "All other lines" not in s]
        jars, *rest = trial_card(choice.candidate, trial, settled.after, one.cautions, slot.context)
        card += rest
    solution.trial = _sorted_card(card)
    return solution


def _changes(settled: Settled, found: Search, frame: Frame) -> dict[int, Exchanged]:
    base, items = frame.base, frame.before.batch.items
    changes: dict[int, Exchanged] = {}
    for place, level in zip(settled.places, settled.levels, strict=True):
        number, choice = found.layout.columns[int(place)]
        index = found.layout.slots[number].index
        item = items[index]
        reasons = [frame.verdicts.reasons[k] for k in sorted(frame.verdicts.go[index])]
        one = changes.setdefault(
            index,
            Exchanged(index, item.line, item.material, item.percent, [], "; ".join(reasons)),
        )
        one.to.append((choice.material, float(level)))
        if choice.asks:
            one.asks.append(f"{base.materials[choice.material].inci}: {choice.asks}")
    return dict(sorted(changes.items()))


def _moved(settled: Settled, found: Search, frame: Frame) -> list[Moved]:
    items = frame.before.batch.items
    return [
        Moved(k, items[k].line, items[k].material, items[k].percent, float(level))
        for k, level in zip(found.layout.kept, settled.kept, strict=True)
        if abs(float(level) - items[k].percent) > _SAME
    ]


def _sorted_card(card: list[str]) -> list[str]:
    """Return each test once, by day, the heaviest class of change at the end."""
    classes = [line for line in card if line.startswith("Class:")]
    rank = ("major", "moderate", "minor")
    worst = min(classes, key=lambda c: next(n for n, w in enumerate(rank) if w in c), default="")
    tests: dict[str, str] = {}
    for line in card:
        if not line.startswith("Class:"):
            # The same test for two reasons is one test.
            tests.setdefault(line.rsplit(" (", 1)[0], line)
    order = ("Day 0", "Day 1", "Day 2", "Week", "Day 28", "Before")
    kept = sorted(
        tests.values(),
        key=lambda t: next((n for n, w in enumerate(order) if t.startswith(w + ":")), 3),
    )
    return kept + ([worst] if worst else [])
