"""Run substitutions with a known outcome in their hosts and say how many come out so.

The published pairs, the further ones and those of plain practice are told apart. For each kind of
expectation the share that passes is printed with its Wilson interval (95 %), then recall at 1, 3
and 5 and the mean reciprocal rank of the pairs that work, the share of failing pairs for which the
right mechanism is named, and every miss with what became of it. Nothing is fitted: the tool's
weights are only read.

How a pair passes stands in tests/data/README.md. A caution that all the swaps shown get alike names
no mechanism.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from kb.engine.answers import SwapResult
from kb.engine.batch import make_batch
from kb.engine.context import Caution
from kb.engine.swap import swap
from kb.formula.model import Formula
from kb.formula.names import Resolution
from kb.formula.reading import parse_formula
from kb.store.opening import open_snapshot
from kb.store.snapshot import Snapshot

DATA = Path(__file__).resolve().parent.parent / "tests" / "data"
SETS = {
    "published": "published_swaps.csv",
    "further": "further_swaps.csv",
    "practice": "practice_swaps.csv",
}
EXPECTATIONS = ("within_5", "acceptable", "not_recommended")
LOOKED_AT = 20
FIRST_TEN = 10
#: Refusals that leave the door open to another level.
FOR_THE_LEVEL_ONLY = {"legal-limit", "level-high", "level-too-high"}
#: A caution on this share of all swaps shown is none on one of them.
_COMMON = 0.9
_Z = 1.96


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one pair."""

    original: str
    replacement: str
    host: str
    expect: str
    known: bool
    passed: bool
    rank: int | None = None
    refused_by: str = ""
    cautions: tuple[str, ...] = ()
    mechanism: str = ""
    named: bool | None = None
    told: str = ""


@dataclass(slots=True)
class Verdict:
    """How a set of pairs came out."""

    name: str
    outcomes: list[Outcome] = field(default_factory=list)

    @property
    def counted(self) -> list[Outcome]:
        """Pairs of which both names are known."""
        return [o for o in self.outcomes if o.known]

    def of(self, expect: str) -> list[Outcome]:
        """Return the counted pairs of one expectation."""
        return [o for o in self.counted if o.expect == expect]

    def share(self, expect: str) -> tuple[int, int]:
        """Return how many pairs of an expectation pass, and how many there are."""
        rows = self.of(expect)
        return sum(o.passed for o in rows), len(rows)

    def named(self) -> tuple[int, int]:
        """Return for how many failing pairs the right mechanism is named, of how many."""
        rows = [o for o in self.counted if o.named is not None]
        return sum(o.named is True for o in rows), len(rows)

    def ranks(self) -> list[int | None]:
        """Return the ranks of the pairs that work."""
        return [o.rank for o in self.counted if o.expect != "not_recommended"]


def wilson(passed: int, of: int) -> tuple[float, float]:
    """Return the 95 % interval of a share after Wilson."""
    if of == 0:
        return 0.0, 1.0
    share, square = passed / of, _Z * _Z
    middle = share + square / (2 * of)
    spread = _Z * math.sqrt(share * (1 - share) / of + square / (4 * of * of))
    return (middle - spread) / (1 + square / of), (middle + spread) / (1 + square / of)


def recall(ranks: Iterable[int | None], top: int) -> float:
    """Return the share of ranks that are among the first ``top``."""
    ranks = list(ranks)
    return sum(r is not None and r <= top for r in ranks) / max(len(ranks), 1)


def reciprocal_rank(ranks: Iterable[int | None]) -> float:
    """Return the mean of one over the rank; what is not shown counts nothing."""
    ranks = list(ranks)
    return sum(1.0 / r for r in ranks if r) / max(len(ranks), 1)


def rows_of(name: str) -> list[dict[str, str]]:
    """Return the rows of a set that can be run."""
    with (DATA / SETS[name]).open(encoding="utf-8", newline="") as stream:
        return [row for row in csv.DictReader(stream) if row["runnable"] == "yes"]


def host_of(name: str) -> tuple[Formula, int]:
    """Return a host formula and the place (from 0) of the line marked in it."""
    path = DATA / "hosts" / f"{name}.toml"
    text = path.read_text(encoding="utf-8")
    blocks = re.split(r"^\[\[line\]\]", text, flags=re.MULTILINE)[1:]
    marked = [n for n, block in enumerate(blocks) if "# host line" in block]
    if len(marked) != 1:
        raise SystemExit(f"{path}: one line must be marked `# host line`, found {len(marked)}.")
    return parse_formula(text, path.name), marked[0]


def resolved(inci: str, plain: str, base: Snapshot) -> Resolution:
    """Return what a name means; the plain name counts when the INCI name is not known."""
    answer = base.names.resolve(inci)
    return answer if answer.match is not None else base.names.resolve(plain)


def question(row: dict[str, str], base: Snapshot) -> tuple[Formula, list[Resolution], int]:
    """Return the host with the original on its line, the answers to all names, and the line."""
    whole, place = host_of(row["host"])
    percent = float(row["percent"])
    rest = sum(line.percent for n, line in enumerate(whole.lines) if n != place)
    lines = [
        replace(line, given=row["original_inci"], percent=percent, role="")
        if n == place
        else replace(line, percent=line.percent * (100.0 - percent) / rest)
        for n, line in enumerate(whole.lines)
    ]
    answers = [
        resolved(line.given, row["original"] if n == place else line.given, base)
        for n, line in enumerate(lines)
    ]
    return replace(whole, lines=tuple(lines)), answers, place


def ask(row: dict[str, str], base: Snapshot) -> SwapResult | None:
    """Return what the tool answers to a row; nothing when the original is not known."""
    whole, answers, place = question(row, base)
    if answers[place].match is None:
        return None
    batch = make_batch(whole, answers)
    index = next(n for n, item in enumerate(batch.items) if item.line == place + 1)
    return swap(batch, index, base, top=LOOKED_AT)


def common(result: SwapResult) -> set[Caution]:
    """Return the cautions that nearly every swap shown gets alike."""
    if len(result.swaps) < 3:
        return set()
    counts = Counter(caution for s in result.swaps for caution in set(s.cautions))
    return {caution for caution, n in counts.items() if n >= _COMMON * len(result.swaps)}


def outcome(row: dict[str, str], result: SwapResult | None, base: Snapshot) -> Outcome:
    """Compare what the tool answers with what is known of a pair."""
    about = {k: row[k] for k in ("original", "replacement", "host", "expect", "mechanism")}
    first = resolved(row["replacement_inci"].split(" + ")[0], row["replacement"], base)
    if result is None or first.match is None:
        unknown = row["replacement"] if result is not None else row["original"]
        return Outcome(**about, known=False, passed=False, told=f"{unknown} is not known")
    wanted = first.match.material.split("--")[0]
    shown = [s.candidate.material.split("--")[0] for s in result.swaps]
    rank = shown.index(wanted) + 1 if wanted in shown else None
    refused = next((r for r in result.rejected if r.material.split("--")[0] == wanted), None)
    found = set(result.swaps[rank - 1].cautions) if rank else set()
    cautions = {c.rule for c in found}
    spoken = {c.rule for c in found - common(result)} | ({refused.rule} if refused else set())
    named = None
    if row["expect"] == "within_5":
        passed = rank is not None and rank <= 5
    elif row["expect"] == "acceptable":
        missed = result.nearest_miss
        passed = (
            rank is not None
            or (missed is not None and missed.material.split("--")[0] == wanted)
            or (refused is not None and refused.rule in FOR_THE_LEVEL_ONLY)
        )
    else:
        named = bool(set(row["mechanism"].split("|")) & spoken)
        passed = rank is None or rank > FIRST_TEN or named
    told = f"rank {rank}" if rank else "not shown"
    if refused:
        told += f", out by {refused.rule}: {refused.reason}"
    if cautions:
        told += " with " + ", ".join(sorted(cautions))
    return Outcome(
        **about,
        known=True,
        passed=passed,
        rank=rank,
        refused_by=refused.rule if refused else "",
        cautions=tuple(sorted(cautions)),
        named=named,
        told=told,
    )


def judge(name: str, base: Snapshot) -> Verdict:
    """Run a set of pairs; those that ask the same question share the answer."""
    verdict = Verdict(name)
    answered: dict[tuple[str, str, str], SwapResult | None] = {}
    for row in rows_of(name):
        key = (row["host"], row["original_inci"], row["percent"])
        if key not in answered:
            answered[key] = ask(row, base)
        verdict.outcomes.append(outcome(row, answered[key], base))
    return verdict


def as_tree(verdict: Verdict) -> dict[str, Any]:
    """Return a verdict as plain data."""
    shares = {e: verdict.share(e) for e in EXPECTATIONS} | {"mechanism": verdict.named()}
    ranks = verdict.ranks()
    return {
        "set": verdict.name,
        "pairs": len(verdict.outcomes),
        "shares": {
            name: {"passed": n, "of": of, "share": n / max(of, 1), "wilson": wilson(n, of)}
            for name, (n, of) in shares.items()
        },
        "recall": {str(top): recall(ranks, top) for top in (1, 3, 5)},
        "mean_reciprocal_rank": reciprocal_rank(ranks),
        "unknown": [o.told for o in verdict.outcomes if not o.known],
        "outcomes": [asdict(o) for o in verdict.outcomes],
    }


def in_words(verdict: Verdict) -> Iterator[str]:
    """Return a verdict as lines of text."""
    tree = as_tree(verdict)
    yield f"{verdict.name}: {tree['pairs']} pairs"
    for name, found in tree["shares"].items():
        low, high = found["wilson"]
        yield (
            f"  {name:<16} {found['passed']:>3} of {found['of']:>3}  {found['share']:6.1%}"
            f"  ({low:.0%} to {high:.0%})"
        )
    recalls = ", ".join(f"{share:.0%} at {top}" for top, share in tree["recall"].items())
    yield f"  recall           {recalls}; mean reciprocal rank {tree['mean_reciprocal_rank']:.2f}"
    for found in verdict.outcomes:
        pair = f"{found.original} -> {found.replacement} in {found.host}"
        if not found.known:
            yield f"  UNKNOWN {pair}: {found.told}"
        elif not found.passed:
            wants = f"; {found.mechanism}" if found.mechanism else ""
            yield f"  MISS [{found.expect}{wants}] {pair}: {found.told}"
        elif found.named is False:
            yield f"  UNNAMED [{found.mechanism}] {pair}: {found.told}"


def main(argv: list[str]) -> int:
    """Judge the sets asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument(
        "sets", nargs="*", choices=[[], *SETS], help="published, further, practice; all if none"
    )
    parser.add_argument("--json", action="store_true", help="print the verdicts as JSON")
    asked = parser.parse_args(argv)
    base = open_snapshot()
    verdicts = [judge(name, base) for name in asked.sets or SETS]
    if asked.json:
        print(json.dumps([as_tree(v) for v in verdicts], indent=1))
    else:
        print("\n".join(line for v in verdicts for line in in_words(v)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
