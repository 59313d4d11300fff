"""How readily the oil phase of a batch turns rancid."""

from __future__ import annotations

import numpy as np

from kb.engine.batch import Phases, Share
from kb.engine.quantity import Quantity
from kb.engine.sampling import Sampler
from kb.science.numbers import Array
from kb.science.oxidation import (
    IODINE_FACTORS,
    RELATIVE_RATE,
    antioxidant_cover,
    oxidisability,
)
from kb.store.snapshot import Snapshot

#: Antioxidant per polyunsaturates, mg/g, that halves the index, and the most that counts
#: (assumption: it slows the start, it does not change the oil).
_HALVES_AT = 8.0
_MOST = 16.0
#: Saturated share taken where none is known, %.
_SATURATES = 10.0


def oxidation(phases: Phases, draw: Sampler, base: Snapshot) -> Quantity:
    """Return the oxidation index: 1 is pure oleic oil, lowered by chain breakers.

    Oleic, linoleic and linolenic shares come from the polyunsaturates and the iodine value.
    """
    oils = [s for s in phases.oil if base.does(s.material, "oil-phase-part")]
    mass = sum(s.percent for s in oils)
    if mass <= 0:
        return Quantity("oxidation", None, "index", "oxidation", ["no oil phase"])
    totals = np.zeros((3, draw.count))
    missing = 0.0
    for share in oils:
        chains = _chains(share.material, draw)
        if chains is None:
            missing += share.percent if base.does(share.material, "fixed-oil") > 0 else 0.0
        else:
            totals = totals + share.percent / mass * chains
    rates = [RELATIVE_RATE[acid][0] for acid in ("oleic", "linoleic", "linolenic")]
    index = np.asarray(oxidisability(totals, rates))
    guards = [
        (s.percent, base.does(s.material, "antioxidant"), _still_helps(s, base))
        for s in (*phases.oil, *phases.water)
        if base.does(s.material, "antioxidant") >= 0.3
    ]
    limits = [f"{missing:.3g} % oils without a fatty-acid figure"] if missing else []
    if guards:
        poly = np.maximum((totals[1] + totals[2]) * mass, 1e-6)
        masses, strengths = [g for g, _, _ in guards], [s for _, s, _ in guards]
        cover = np.minimum(antioxidant_cover(masses, strengths, poly), _MOST)
        helping = sum(g * s * h for g, s, h in guards) / sum(g * s for g, s, _ in guards)
        index = index / (1.0 + cover * helping / _HALVES_AT)
        limits.append("antioxidant counted by its share of the polyunsaturates")
        if helping < 1.0:
            limits.append("so much antioxidant may promote oxidation: it counts for less and less")
    return Quantity("oxidation", index, "index", "oxidation", limits)


def _still_helps(guard: Share, base: Snapshot) -> float:
    """Return 1 up to the level from which an antioxidant may promote oxidation, then less.

    That level stands among the compatibilities with fixed oils; beyond it the credit falls as the
    level rises, so that more never helps more (assumption: nobody has measured how fast).
    """
    turns_at = [
        edge.subject_min
        for handle in base.handles(guard.material)
        for edge in base.edges_touching(handle)
        if edge.subject == handle
        and edge.object == "role:fixed-oil"
        and edge.rule == "oxidation"
        and edge.subject_min > 0.0
    ]
    return min([1.0, *(level / guard.percent for level in turns_at)])


def _chains(material: str, draw: Sampler) -> Array | None:
    """Return oleic, linoleic and linolenic shares (0 to 1) of a material."""
    poly = draw.fact(material, "polyunsaturates")
    iodine = draw.fact(material, "iodine_value")
    if poly is None and iodine is None:
        return None
    linoleic, linolenic, oleic = (
        IODINE_FACTORS[acid] for acid in ("linoleic", "linolenic", "oleic")
    )
    if poly is None:
        assert iodine is not None
        poly = np.maximum(iodine - oleic * (100.0 - _SATURATES), 0.0) / (linoleic - oleic)
    poly = np.clip(poly, 0.0, 100.0)
    if iodine is None:
        return np.stack([np.zeros(draw.count), poly, np.zeros(draw.count)]) / 100.0
    room = np.maximum(100.0 - poly - _SATURATES, 0.0)
    mono = np.clip((iodine - linoleic * poly) / oleic, 0.0, room)
    excess = np.maximum(iodine - linoleic * poly - oleic * mono, 0.0)
    triple = np.minimum(excess / (linolenic - linoleic), poly)
    return np.stack([mono, poly - triple, triple]) / 100.0
