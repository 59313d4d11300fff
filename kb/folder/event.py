"""Something happens to one material: which formulas it hits, by when, and what mends them all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from kb.folder.asking import Answer
from kb.folder.cover import Cover, fewest
from kb.folder.running_out import Last, Use, last_batches

#: Kilograms a batch where neither file nor option says; small makers' kettles hold about that.
BATCH_KG = 10.0
#: Keys of ``[product]`` that say how much is made.
_BATCH, _OFTEN = "batch_kg", "batches_a_month"
#: Days of the stability test of twelve weeks, where no stand-in says more.
_LEAST_DAYS = 84

ENDS, LIMIT, PRICE = "ends", "limit", "price"


@dataclass(frozen=True, slots=True)
class Event:
    """What happens.

    Parameters
    ----------
    kind : str
        ``ends``, ``limit`` or ``price``.
    material : str
    day : date
        From when it counts.
    today : date
    left_kg : float
        Stock on that day, or on which the price still is the old one.
    batch_kg, batches : float
        Size and number a month where the file does not say.
    figure : float, optional
        The new limit in percent of the formula, or the new price per kg.
    was : float, optional
        The price per kg so far.
    """

    kind: str
    material: str
    day: date
    today: date
    left_kg: float
    batch_kg: float = BATCH_KG
    batches: float = 1.0
    figure: float | None = None
    was: float | None = None


@dataclass(frozen=True, slots=True)
class Hit:
    """A formula that is hit.

    ``stays`` says that less of the material is enough; ``days`` how long the tests of the change
    take, ``begin`` by when they must begin, ``late`` how many days that is in the past.
    """

    file: str
    name: str
    percent: float
    lines: list[Answer]
    kg_a_month: float
    last: Last
    days: int
    begin: date | None
    late: int
    stays: bool
    mended: bool
    costs_a_month: float | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """The whole folder after the event.

    ``at_hand`` are the generic ids of what the folder and the shelf hold, and of what was chosen.
    """

    event: Event
    answers: list[Answer]
    hits: list[Hit]
    open: list[Hit]
    cover: Cover
    serves: dict[str, list[str]]
    from_folder: int
    run_out: date | None
    at_hand: frozenset[str]

    def use(self, line: Answer) -> list[Any] | None:
        """Return the best stand-in of a line that needs nothing beyond what was chosen."""
        return next((s for s in line["stand_ins"] if _generic(s[0]) in self.at_hand), None)

    @property
    def broken(self) -> list[Answer]:
        """Files that are no readable formula."""
        return [a for a in self.answers if a["error"] is not None]


def outcome(answers: list[Answer], event: Event, at_hand: frozenset[str] = frozenset()) -> Outcome:
    """Put the answers of all formulas together.

    Parameters
    ----------
    answers : list of dict
        What ``asking.answers`` gave when asked for all good stand-ins of this material.
    event : Event
    at_hand : frozenset of str
        Generic ids of materials that are there beside those of the folder.
    """
    hit = [a for a in answers if a["lines"]]
    used = {_generic(m) for a in answers if a["error"] is None for m in a["holds"]}
    used = (used | at_hand) - {_generic(event.material)}
    uses = [_use(a, event) for a in hit]
    lasts = last_batches(uses, event.left_kg, event.day)
    hits = [_hit(a, use, lasts[a["file"]], event) for a, use in zip(hit, uses, strict=True)]
    far = date.max
    hits.sort(key=lambda h: (h.begin or far, h.last.day or far, -(h.costs_a_month or 0.0), h.file))
    needs = [_serving(line) for h in hits if h.mended for line in h.lines if not _stays(line)]
    cover = fewest(needs, frozenset(used))
    serves: dict[str, list[str]] = {name: [] for name in cover.chosen}
    for h in hits:
        for name in cover.chosen:
            if any(name in _serving(line) for line in h.lines if not _stays(line)):
                serves[name].append(h.file)
    run_out = max((h.last.day for h in hits if h.last.day), default=None)
    return Outcome(
        event,
        answers,
        hits,
        [h for h in hits if not h.mended],
        cover,
        serves,
        sum(1 for need in needs if used & need.keys()),
        None if any(h.last.day is None for h in hits) else run_out,
        frozenset(used) | set(cover.chosen),
    )


def _use(answer: Answer, event: Event) -> Use:
    product: dict[str, Any] = answer["product"]
    size = _positive(product.get(_BATCH), event.batch_kg)
    often = _positive(product.get(_OFTEN), event.batches)
    percent = sum(line["percent"] for line in answer["lines"])
    return Use(answer["file"], percent / 100.0 * size, often)


def _positive(value: Any, otherwise: float) -> float:
    number = isinstance(value, (int, float)) and not isinstance(value, bool) and value > 0
    return float(value) if number else otherwise


def _hit(answer: Answer, use: Use, last: Last, event: Event) -> Hit:
    lines = answer["lines"]
    stays = all(_stays(line) for line in lines)
    mended = stays or all(_stays(line) or line["stand_ins"] for line in lines)
    if event.kind == LIMIT:
        # What is made after the day must keep the limit, whatever is left of the material.
        last = Last(event.day, last.batches)
    days = 0
    if event.kind != PRICE:
        shortest = [min((s[3] for s in ln["stand_ins"]), default=0) for ln in lines]
        days = max(_LEAST_DAYS, *shortest)
    begin = None if last.day is None or event.kind == PRICE else last.day - timedelta(days=days)
    month = use.kg * use.batches
    costs = None
    if event.kind == PRICE and event.figure is not None:
        costs = month * (event.figure - (event.was or 0.0))
    return Hit(
        answer["file"],
        answer["name"],
        sum(line["percent"] for line in lines),
        lines,
        month,
        last,
        days,
        begin,
        max(0, (event.today - begin).days) if begin is not None else 0,
        stays,
        mended,
        costs,
    )


def _stays(line: Answer) -> bool:
    return bool(line["lowered"] and line["lowered"]["enough"])


def _serving(line: Answer) -> dict[str, float]:
    worths: dict[str, float] = {}
    for stand_in in line["stand_ins"]:
        name = _generic(stand_in[0])
        worths[name] = max(worths.get(name, 0.0), stand_in[1])
    return worths


def _generic(material: str) -> str:
    return material.split("--")[0]
