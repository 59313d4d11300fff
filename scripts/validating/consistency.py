"""Order of consistency of published formulas, and what the climate does to butter and wax."""

from __future__ import annotations

import csv
import itertools
import math
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from unittest.mock import patch

from kb.engine import body
from kb.engine.batch import Batch, Item, make_batch
from kb.engine.profile import Profile, make_profile
from kb.formula.model import Formula, Line
from kb.science import attraction, structure
from kb.store.snapshot import Snapshot

from .row import DATA, Row, median, read, share_row

CLASSES = ("liniment", "lotion", "cream", "ointment", "paste", "stick")
#: Parameters that were set with an eye on this order, and what each may be when a source is left
#: out: share kept by emulsifying, share kept by a stirred melt, gap of bare particles in nm.
GRID = tuple(itertools.product((0.05, 0.1, 0.2), (0.3, 0.5, 0.8), (0.9, 1.2, 1.6)))
_SOURCES = (
    ("DAB", "DAC", "German", "Austrian", "OeAB", "Helveticum", "Wollwachs"),
    ("British",),
    ("USP", "US Pharm", "Dispensatory"),
    ("Japan",),
    ("Penagos",),
    ("Buchheister",),
)


@dataclass(frozen=True, slots=True)
class Sample:
    """A published formula with its class and predicted consistency."""

    name: str
    rank: int
    source: int
    value: float
    continuous: str


def published(name: str) -> dict[str, list[dict[str, str]]]:
    """Return the lines of each formula of a file, in the tests' data or the validation data."""
    path = DATA / f"{name}.csv"
    if not path.exists():
        path = DATA.parents[1] / "data" / f"{name}.csv"
    found: dict[str, list[dict[str, str]]] = {}
    with path.open(encoding="utf-8", newline="") as stream:
        for r in csv.DictReader(stream):
            found.setdefault(r["formula"], []).append(r)
    return found


def run(name: str, lines: Sequence[dict[str, str]], base: Snapshot, making: str = "") -> Profile:
    """Return the central profile of a published formula."""
    product: dict[str, object] = {"process": making} if making else {}
    formula = Formula(
        tuple(Line(r["ingredient"], float(r["percent"]), r["phase"]) for r in lines),
        name=name,
        product=product,
    )
    answers = [base.names.resolve(line.given) for line in formula.lines]
    return make_profile(make_batch(formula, answers), base)


def samples(base: Snapshot, making: bool = True, by_name: bool = False) -> list[Sample]:
    """Return every formula whose words tell a class, with the consistency predicted."""
    formulas = published("published_formulas") | published("consistency_more")
    found = []
    for r in read("consistency_words"):
        word = r["class"] or (r["by_name"] if by_name else "")
        if not word:
            continue
        profile = run(r["formula"], formulas[r["formula"]], base, r["making"] if making else "")
        value = profile.value("consistency_25c")
        assert value is not None, r["formula"]
        source = next(
            (i for i, marks in enumerate(_SOURCES) if any(m in r["source"] for m in marks)), 99
        )
        if source == 99:
            source = 100 + sum(map(ord, r["source"]))
        found.append(Sample(r["formula"], CLASSES.index(word), source, value, profile.system or ""))
    return found


def pairs(found: Sequence[Sample], source: int | None = None) -> tuple[int, int]:
    """Return how many pairs of different class stand in the right order, and how many there are."""
    right = n = 0
    for one, two in itertools.combinations(found, 2):
        if one.rank == two.rank or (source is not None and source not in {one.source, two.source}):
            continue
        n += 1
        right += (one.rank < two.rank) == (one.value < two.value)
    return right, n


def placed(found: Sequence[Sample]) -> dict[str, int]:
    """Return the class each formula falls in when the predictions are cut into the same classes."""
    ranks = sorted(s.rank for s in found)
    ordered = sorted(found, key=lambda s: s.value)
    return {s.name: ranks[i] for i, s in enumerate(ordered)}


def rows(base: Snapshot) -> Iterator[Row]:
    """Yield all rows about consistency and climate."""
    found = samples(base)
    right, n = pairs(found)
    row = share_row("consistency/order", "order of consistency, pairs of classes", right, n)
    row.note = f"{len(found)} formulas; making as the source states it"
    row.lines = _confused(found)
    yield row
    fat = [s for s in found if s.continuous != "o/w"]
    yield share_row("consistency/fat-outside", "the same, fat outside only", *pairs(fat))
    yield share_row(
        "consistency/making-unknown",
        "the same, making left out",
        *pairs(samples(base, making=False)),
    )
    yield share_row(
        "consistency/by-name",
        "the same with formulas classed by name alone",
        *pairs(samples(base, by_name=True)),
    )
    yield _left_out(base)
    yield _pastes(found)
    with patch.object(attraction, "contact_strength", lambda *_: 0.0):
        bare = _pastes(samples(base))
    bare.key, bare.what = "consistency/pastes-bare", "the same without attraction between particles"
    yield bare
    yield from climate(base)


def _confused(found: Sequence[Sample]) -> list[str]:
    lines = []
    for low, high in itertools.combinations(range(len(CLASSES)), 2):
        right, n = pairs([s for s in found if s.rank in {low, high}])
        if n and right < n:
            text = f"{CLASSES[low]} below {CLASSES[high]}: {right} of {n}"
            if right < 0.85 * n:
                text += ": not told apart"
            lines.append(text)
    return lines


def _pastes(found: Sequence[Sample]) -> Row:
    where = placed(found)
    pastes = [s for s in found if CLASSES[s.rank] == "paste"]
    near = sum(abs(where[s.name] - s.rank) <= 1 for s in pastes)
    row = share_row("consistency/pastes", "pastes within one class", near, len(pastes))
    row.lines = [
        f"{s.name}: {s.value / 1000:.0f} Pa.s, among the {CLASSES[where[s.name]]}s" for s in pastes
    ]
    return row


def _left_out(base: Snapshot) -> Row:
    """Set the parameters on all sources but one, judge the pairs that one takes part in."""
    tried = {}
    for emulsified, melt, gap in GRID:
        with ExitStack() as stack:
            stack.enter_context(patch.object(body, "_STIRRED", (0.0, emulsified, 1.0)))
            stack.enter_context(patch.object(body, "STIRRED_MELT_SHARE", (melt, 0.0, 1.0)))
            stack.enter_context(patch.object(attraction, "BARE_GAP", (gap, 0.5, 3.0)))
            tried[emulsified, melt, gap] = samples(base)
    usual = (body._STIRRED[1], structure.STIRRED_MELT_SHARE[0], attraction.BARE_GAP[0])
    right = n = 0
    for source in {s.source for s in tried[GRID[0]]}:
        scores = {}
        for key, found in tried.items():
            scores[key] = pairs([s for s in found if s.source != source])[0]
        best = max(scores.values())
        key = min(
            (k for k, v in scores.items() if v == best),
            key=lambda k: sum(abs(math.log(a / b)) for a, b in zip(k, usual, strict=True)),
        )
        got, of = pairs(tried[key], source)
        right, n = right + got, n + of
    row = share_row("consistency/left-out", "the same, one source left out", right, n)
    row.note = "three parameters set again without the source; each pair counts for both sources"
    return row


# -- climate -----------------------------------------------------------------------------------

_CREAM = (("sorbitan-oleate", 3.0), ("glycerin", 3.0), ("magnesium-sulfate", 0.7))
_OIL = "caprylic-capric-triglyceride"
_PHASE = 38.0
_DRAWS = 120


def _cream(structurant: str, percent: float) -> Batch:
    oil = _PHASE - 3.0 - percent
    items = [*_CREAM, (_OIL, oil), (structurant, percent), ("aqua", 58.3)]
    return Batch(tuple(Item(m, p, "", i) for i, (m, p) in enumerate(items, 1)), "w/o")


def _match(structurant: str, target: float, base: Snapshot) -> float:
    """Return the level that gives a consistency at 25 degC."""
    low, high = 0.05, 30.0
    for _ in range(40):
        middle = math.sqrt(low * high)
        value = make_profile(_cream(structurant, middle), base).value("consistency_25c")
        assert value is not None
        low, high = (middle, high) if value < target else (low, middle)
    return low


def climate(base: Snapshot) -> Iterator[Row]:
    """Butter against wax at the same consistency at 25 degC: which drifts more, 10 to 40 degC."""
    waxes = ("cera-alba", "euphorbia-cerifera-cera", "hydrogenated-castor-oil")
    for butter, percent in (
        ("theobroma-cacao-seed-butter", 15.0),
        ("butyrospermum-parkii-butter", 15.0),
    ):
        with_butter = make_profile(_cream(butter, percent), base, _DRAWS)
        target = with_butter.value("consistency_25c")
        drift = with_butter.quantities["climate_drift_10_over_40"]
        assert target is not None and drift.draws is not None
        held = n = 0
        lines = [f"{butter} {percent:g} %: drifts {drift.value:.3g} times"]
        for wax in waxes:
            level = _match(wax, target, base)
            other = make_profile(_cream(wax, level), base, _DRAWS)
            again = other.quantities["climate_drift_10_over_40"]
            assert again.draws is not None
            held += int((drift.draws[1:] > again.draws[1:]).sum())
            n += len(again.draws) - 1
            lines.append(f"{wax} {level:.2g} %: {again.value:.3g} times")
        short = butter.split("-")[1]
        row = share_row(
            f"climate/{short}", f"{short} butter drifts more than wax of like body", held, n
        )
        row.note = f"share of draws over all ranges, {percent:g} % in a W/O cream"
        row.lines = lines
        yield row


def class_medians(found: Sequence[Sample]) -> dict[str, float]:
    """Return the median consistency predicted for each class, Pa.s."""
    return {
        name: median(s.value / 1000.0 for s in found if s.rank == i)
        for i, name in enumerate(CLASSES)
        if any(s.rank == i for s in found)
    }
