"""When the stock of a material ends: batches drawn in turn from what is left."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from datetime import date, timedelta

#: Days of a mean month.
MONTH = 365.25 / 12.0
#: Years looked ahead; what lasts longer has no date.
_HORIZON_YEARS = 20


@dataclass(frozen=True, slots=True)
class Use:
    """What one formula takes: kg of the material a batch, batches a month."""

    file: str
    kg: float
    batches: float


@dataclass(frozen=True, slots=True)
class Last:
    """The day of a formula's last batch and how many it could still make.

    No day: the stock outlasts the years looked at; no batch: there is not enough for one.
    """

    day: date | None
    batches: int


def last_batches(uses: list[Use], left_kg: float, start: date) -> dict[str, Last]:
    """Draw batches from the stock in the order of their days; return each formula's last.

    Every formula makes its first batch on the first day and the next ones evenly spaced. A formula
    is out when the rest is too little for its batch; one that takes less goes on.

    Parameters
    ----------
    uses : list of Use
    left_kg : float
        What is left on the first day.
    start : date
        First day without fresh supply.
    """
    end = _HORIZON_YEARS * 365.25
    made = {use.file: 0 for use in uses}
    last: dict[str, date | None] = {use.file: start for use in uses}
    lasting: set[str] = set()
    queue = [(0.0, n) for n, use in enumerate(uses) if use.batches > 0 and use.kg > 0]
    heapq.heapify(queue)
    left = left_kg
    while queue:
        day, n = heapq.heappop(queue)
        use = uses[n]
        # A hair more than nothing, so that 3 batches of 0.1 kg come out of 0.3 kg.
        if use.kg > left * (1.0 + 1e-9) + 1e-12:
            continue
        if day > end:
            lasting.add(use.file)
            continue
        left -= use.kg
        made[use.file] += 1
        last[use.file] = start + timedelta(days=int(day))
        heapq.heappush(queue, (made[use.file] * MONTH / use.batches, n))
    return {
        use.file: Last(None if use.file in lasting else last[use.file], made[use.file])
        for use in uses
    }
