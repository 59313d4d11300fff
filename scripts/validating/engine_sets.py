"""What the engine says of whole mixtures against measurements: solids, partition, type, feel."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator

import numpy as np

from kb.engine import waterphase
from kb.engine.batch import Phases, Share
from kb.engine.oilphase import OilPhase
from kb.engine.quantity import Quantity
from kb.engine.sampling import Sampler
from kb.science import emulsion_type, solids
from kb.store.snapshot import Snapshot

from .consistency import published, run
from .row import Point, Row, difference_row, factor_row, read, share_row

DRAWS = 400


def rows(base: Snapshot) -> Iterator[Row]:
    """Yield all rows that need the base."""
    yield from _solid_fat(base)
    yield from _solubility()
    yield _partition(base)
    yield from _types(base)
    yield from _feel(base)


def point(draws: np.ndarray, measured: float, scale: float = 1.0) -> Point:
    q = Quantity("", draws * scale, "", "")
    assert q.value is not None and q.low is not None and q.high is not None
    return Point(q.value, measured, q.low, q.high)


def _solid_fat(base: Snapshot) -> Iterator[Row]:
    data = read("solid_fat")
    names = {"theobroma": "cocoa butter", "elaeis": "palm and palm kernel oil"}
    for start, what in names.items():
        points = []
        for r in data:
            if not r["material"].startswith(start):
                continue
            draw = Sampler(base, DRAWS)
            oil = OilPhase((Share(r["material"], 100.0),), base, draw)
            points.append(point(oil.solids(float(r["t_c"])), float(r["solid"]), 100.0))
        note = "nothing fitted" if start == "theobroma" else "shares fitted to other tables"
        row = difference_row(
            f"solids/{start}", f"solid fat, undiluted {what}", "points", points, note
        )
        row.quantity = "solids"
        yield row


#: Solvents in which the pairs of acid molecules stay together, and in which they part.
_PAIRING = {"hexane": True, "ethanol": True}


def _solubility() -> Iterator[Row]:
    kinds: dict[str, list[Point]] = {}
    for r in read("solubility"):
        args = (float(r["t_c"]), float(r["melting"]), float(r["fusion"]))
        plain = float(solids.ideal_solubility(*args, 1.0))
        measured = float(r["mole_fraction"])
        if r["kind"] == "plain":
            point = Point(plain, measured, plain / 1.1, plain * 1.1)
            kinds.setdefault("naphthalene in benzene, ideal", []).append(point)
            continue
        paired = _PAIRING.get(r["solvent"], False)
        x = float(solids.dimer_solubility(*args)) if paired else plain
        name = (
            "stearic acid in hexane and ethanol, as pairs"
            if paired
            else "stearic acid in toluene and chlorinated solvents, single"
        )
        kinds.setdefault(name, []).append(Point(x, measured, x / 3.0, x * 3.0))
    for name, points in kinds.items():
        row = factor_row(f"solubility/{name}", f"solubility, {name}", points)
        row.quantity = "" if "ideal" in name else "solubility of acids"
        yield row


def _partition(base: Snapshot) -> Row:
    """Partition in oils of one kind, hydrocarbon or polar, from log P."""
    points = []
    for r in read("partition"):
        match = base.names.resolve(r["preservative"]).match
        if not match or base.known(match.material, "log_p") is None:
            continue
        plain = re.search("paraffin|mineral", r["oil"]) is not None
        oil = "paraffinum-liquidum" if plain else "olea-europaea-fruit-oil"
        phases = Phases((Share(oil, 30.0),), (Share("aqua", 70.0),), ())
        found = waterphase.partition_in(match.material, phases, Sampler(base, DRAWS), base)
        points.append(point(found, float(r["partition"])))
    row = factor_row(
        "preservation/partition",
        "oil/water partition of preservatives",
        points,
        "lines on log P, set on these and like values",
    )
    row.quantity = "partition"
    return row


# -- type of emulsion --------------------------------------------------------------------------


def _types(base: Snapshot) -> Iterator[Row]:
    wanted = {"aqueous gel": "water gel"}
    right = n = 0
    wrong, features = [], []
    for name, lines in published("published_formulas").items():
        want = wanted.get(lines[0]["emulsion_type"], lines[0]["emulsion_type"])
        if want in {"unstated", "amphiphilic"}:
            continue
        profile = run(name, lines, base)
        n += 1
        right += profile.inferred.system == want
        if profile.inferred.system != want:
            wrong.append(f"{name}: {profile.inferred.system}, published {want}")
        kind = profile.inferred
        if want in {"o/w", "w/o"} and kind.hlb is not None and kind.water_share is not None:
            features.append((kind.hlb, kind.water_share, want, _source_family(lines[0]["source"])))
    row = share_row("type/formulas", "kind of product, published formulas", right, n)
    row.lines = wrong
    yield row
    yield _thresholds_left_out(features)


def _source_family(source: str) -> str:
    """Return the publisher a source belongs to, so that its recipes are left out together."""
    marks = (
        ("DAB|DAC|German|OeAB|Austrian|Helveticum|NRF", "German-speaking pharmacopoeias"),
        ("British", "British Pharmacopoeia and codex"),
        ("USP|US Pharm|United States", "United States Pharmacopeia"),
        ("Japan", "Japanese Pharmacopoeia"),
        ("Penagos", "Penagos 2023"),
        ("forum|discussion", "formulators' discussions"),
        ("Buchheister", "Buchheister 1893"),
        ("oleogel|Blake|Stortz", "oil gel papers"),
    )
    return next((name for pattern, name in marks if re.search(pattern, source)), source)


def _thresholds_left_out(features: list[tuple[float, float, str, str]]) -> Row:
    grid = list(itertools.product((4.5, 5.0, 6.0, 7.0, 8.0), (0.35, 0.40, 0.45, 0.50, 0.55)))

    def call(hlb: float, share: float, cut: tuple[float, float]) -> str:
        return "o/w" if hlb >= cut[0] and share >= cut[1] else "w/o"

    usual = (emulsion_type.HLB_THRESHOLD, emulsion_type.WATER_THRESHOLD)
    right = 0
    for family in {f[3] for f in features}:
        rest = [f for f in features if f[3] != family]
        scores = {c: sum(call(h, s, c) == w for h, s, w, _ in rest) for c in grid}
        best = max(scores.values())
        # Among thresholds that do equally well, the one nearest the middle of the grid.
        cut = min(
            (c for c in grid if scores[c] == best),
            key=lambda c: abs(c[0] - usual[0]) / 6.0 + abs(c[1] - usual[1]),
        )
        right += sum(call(h, s, cut) == w for h, s, w, f in features if f == family)
    return share_row(
        "type/left-out",
        "emulsion type, thresholds set without the source",
        right,
        len(features),
        "leave one source out",
    )


# -- feel --------------------------------------------------------------------------------------


def _feel(base: Snapshot) -> Iterator[Row]:
    found: dict[str, dict[str, float]] = {}
    for r in read("spreading"):
        found.setdefault(r["property"], {})[r["material"]] = float(r["value"])
    viscosity = {}
    for name in {n for group in found.values() for n in group}:
        match = base.names.resolve(name.split(" (")[0]).match
        known = match and base.known(match.material, "viscosity")
        if known:
            viscosity[name] = known.value
    spread = found["spreading_value"]
    yield _order("feel/spreading", "order of spreading from viscosity", spread, viscosity, 1.2, -1)
    after = {
        name: found["emolliency_index_residual"][name] - value
        for name, value in found["emolliency_index_apparent"].items()
    }
    after = {name: max(value, 0.1) for name, value in after.items()}
    yield _order("feel/residue", "order of fatting feel from viscosity", after, viscosity, 1.5, 1)


def _order(
    key: str,
    what: str,
    measured: dict[str, float],
    driver: dict[str, float],
    apart: float,
    sign: int,
) -> Row:
    right = n = 0
    names = [name for name in measured if name in driver]
    for one, two in itertools.combinations(names, 2):
        if max(measured[one], measured[two]) < apart * min(measured[one], measured[two]):
            continue
        n += 1
        right += (measured[one] > measured[two]) == (sign * driver[one] > sign * driver[two])
    return share_row(key, what, right, n, f"pairs at least {apart:g} times apart")
