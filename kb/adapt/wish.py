"""What is asked of an adaptation, and the names of the rules that can stand in its way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

#: What each rule says, for those who ask which rules closed the door.
RULE_TEXT = {
    "policy": "the policy forbids the material on the line",
    "forbid": "the material was forbidden by name",
    "keep": "the line was to be kept",
    "locked": "the line is locked in the formula",
    "shelf": "only what is in stock may be used",
    "max-changes": "the number of new materials is capped",
    "cost-cap": "the cost is capped",
    "usual-level": "every material stays within its usual levels",
    "legal-limit": "every material stays within what the law allows",
    "consistency": "the consistency at 25 degC stays near that of the original",
    "melts-in-climate": "the body holds from 10 to 40 degC as it did",
    "oil-binding": "the oil stays bound",
    "preservative-cover": "the free preservative still covers what it must in the water",
    "phase-ratio": "the share of the inner phase stays",
    "powder-volume": "the powder by volume stays",
    "emulsifier-level": "there is enough emulsifier for the inner phase",
    "water-capacity": "an emulsifier is there that can hold this much water",
    "hlb": "the HLB of the emulsifiers stays near that of the original",
    "total": "what gives and takes between the lines has its bounds",
}


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked: policies, what must stay or go, what may be used, and how long to look.

    Attributes
    ----------
    policies : tuple of str
        Policies every material must pass.
    keep : frozenset of int
        Places in the batch that stay as they are.
    forbid : frozenset of str
        Materials (ids or generic ids) that may not be used.
    max_changes : int or None
        Most materials that may be brought in.
    only, preferred : frozenset of str or None
        What is in stock: only that, or first at equal worth.
    prices : mapping
        Price per kilogram by material.
    cost_cap : float or None
        Most that a kilogram of formula may cost; every material then needs a price.
    blend : int
        Most materials that may stand in for one line, 1 or 2.
    top : int
        How many answers, different in kind.
    seconds : float
        Time limit.
    without : frozenset of str
        Rules that are not to count.
    currency : str
        Of the prices.
    """

    policies: tuple[str, ...] = ()
    keep: frozenset[int] = frozenset()
    forbid: frozenset[str] = frozenset()
    max_changes: int | None = None
    only: frozenset[str] | None = None
    preferred: frozenset[str] | None = None
    prices: Mapping[str, float] = field(default_factory=dict)
    cost_cap: float | None = None
    blend: int = 2
    top: int = 1
    seconds: float = 30.0
    without: frozenset[str] = frozenset()
    currency: str = ""


def rule_id(key: str) -> str:
    """Return the rule a key such as ``policy/5`` belongs to."""
    return key.split("/")[0]
