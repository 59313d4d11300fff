"""Legal ceilings that bind a stand-in on its line: by product, market and what it is there for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from kb.engine.roles import Here
from kb.store.records import Limit
from kb.store.snapshot import Snapshot

#: Share of a line's work from which it is there for a role in the eyes of the law.
_THERE_FOR = 0.3
#: Beginnings of a limit's basis that tie it to a role.
_TIED_TO = {"as preservative": "antimicrobial", "as UV filter": "uv-filter"}


def ceilings(
    material: str, here: tuple[Here, ...], product: Mapping[str, Any], base: Snapshot
) -> Iterator[Limit]:
    """Yield the highest allowed levels, in %, that bind a material on a line.

    A limit for preservatives binds only what preserves here; one for what stays on binds unless
    the product says that it is rinsed off.

    Parameters
    ----------
    material : str
    here : tuple of Here
        What the line does.
    product : mapping
        What the formula says of the product.
    base : Snapshot
    """
    market = str(product.get("market", "")).casefold()
    rinsed = product.get("leave_on") is False
    for limit in base.limits(material):
        if limit.kind != "max" or not limit.unit_is_percent or limit.high is None:
            continue
        if market and limit.jurisdiction != market:
            continue
        if limit.applies not in {"all", "rinse-off" if rinsed else "leave-on"}:
            continue
        role = next((r for word, r in _TIED_TO.items() if limit.basis.startswith(word)), "")
        if role and not _there_for(role, here, base):
            continue
        yield limit


def _there_for(role: str, here: tuple[Here, ...], base: Snapshot) -> bool:
    return sum(h.share for h in here if role in base.roles[h.role].ancestors) >= _THERE_FOR
