"""The bench: how a test puts a formula together, opens it, and asks the engine about it."""

import csv
import re
from dataclasses import replace
from pathlib import Path

from kb.engine.batch import Batch, make_batch
from kb.engine.findings import Finding, find_all
from kb.engine.opening import Opened, item_to_replace, open_formula
from kb.engine.profile import Profile, make_profile
from kb.engine.roles import roles_here
from kb.formula.model import Formula, Line
from kb.formula.reading import parse_formula
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot

DATA = Path(__file__).parent.parent / "data"
HOSTS = DATA / "hosts"
DEMO = seed_folder() / "formulas"


def read_table(name: str) -> list[dict[str, str]]:
    """Return the rows of a CSV file of the data folder."""
    with (DATA / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def formula(*lines: tuple, system: str = "", ph: float | None = None, **product) -> Formula:
    """Return a formula from lines of name, percent and, if it matters, stage."""
    return Formula(tuple(Line(*line) for line in lines), "bench", system, ph, "", product)


def without(whole: Formula, *names: str) -> Formula:
    """Return a formula without some lines; the water, or else the largest line, fills up."""
    kept = [line for line in whole.lines if line.given not in names]
    assert len(kept) == len(whole.lines) - len(names), names
    return replace(whole, lines=filled(kept))


def plus(whole: Formula, *lines: tuple) -> Formula:
    """Return a formula with further lines, at the cost of its water or its largest line."""
    return replace(whole, lines=filled([*whole.lines, *(Line(*line) for line in lines)]))


def at_level(whole: Formula, name: str, percent: float) -> Formula:
    """Return a formula with one line at another level; the water or the largest line gives."""
    assert name in [line.given for line in whole.lines], name
    lines = [replace(x, percent=percent) if x.given == name else x for x in whole.lines]
    return replace(whole, lines=filled(lines, but=name))


def at_stage(whole: Formula, name: str, stage: str) -> Formula:
    """Return a formula with one line put in at another stage."""
    assert name in [line.given for line in whole.lines], name
    return replace(
        whole,
        lines=tuple(replace(x, stage=stage) if x.given == name else x for x in whole.lines),
    )


def filled(lines: list[Line], but: str = "") -> tuple[Line, ...]:
    """Bring lines to 100 % through the water, or the largest line where there is none."""
    able = [n for n, x in enumerate(lines) if x.given != but]
    waters = [n for n in able if lines[n].given == "Water"]
    balance = waters[0] if waters else max(able, key=lambda n: lines[n].percent)
    short = 100.0 - sum(line.percent for line in lines)
    lines = list(lines)
    lines[balance] = replace(lines[balance], percent=lines[balance].percent + short)
    assert lines[balance].percent > 0
    return tuple(lines)


def read(path: Path) -> Formula:
    """Return the formula of a file."""
    return parse_formula(path.read_text(encoding="utf-8"), path.name)


def demo(name: str) -> Formula:
    """Return one of the demonstration formulas."""
    return read(DEMO / f"{name}.toml")


def host(name: str) -> Formula:
    """Return one of the host formulas of the data folder."""
    return read(HOSTS / f"{name}.toml")


def host_line(name: str) -> int:
    """Return the place (from 0) of the line of a host that is to be exchanged."""
    blocks = re.split(
        r"^\[\[line\]\]", (HOSTS / f"{name}.toml").read_text("utf-8"), flags=re.MULTILINE
    )
    marked = [n for n, block in enumerate(blocks[1:]) if "# host line" in block]
    assert len(marked) == 1, name
    return marked[0]


def batch_of(whole: Formula, base: Snapshot) -> Batch:
    """Return the batch of a formula, names resolved."""
    return make_batch(whole, [base.names.resolve(line.given) for line in whole.lines])


def profile_of(whole: Formula, base: Snapshot, draws: int = 0) -> Profile:
    """Return the profile of a formula."""
    return make_profile(batch_of(whole, base), base, draws)


def figures(whole: Formula, base: Snapshot) -> dict[str, float | None]:
    """Return the central values of a formula's profile."""
    return {name: q.value for name, q in profile_of(whole, base).quantities.items()}


def findings_of(whole: Formula, base: Snapshot) -> list[Finding]:
    """Return every finding on a formula."""
    opened = open_formula(whole, base)
    return find_all(opened.formula, opened.answers, make_profile(opened.batch, base), base)


def rules(found: list[Finding], *levels: str) -> set[str]:
    """Return the rules of findings, of some levels only if named."""
    return {f.rule for f in found if not levels or f.level in levels}


def shares(whole: Formula, name: str, base: Snapshot) -> dict[str, float]:
    """Return the roles of a line with their shares, largest first."""
    profile = profile_of(whole, base)
    opened = open_formula(whole, base)
    item = opened.batch.items[item_to_replace(opened, name, None, base)]
    return {here.role: here.share for here in roles_here(item, profile, base)}


def in_family(roles: dict[str, float], family: str, base: Snapshot) -> float:
    """Return the share of a line's work that lies in a role or below it."""
    return sum(s for role, s in roles.items() if family in base.roles[role].ancestors)


def generic(material: str) -> str:
    """Return the id of the generic grade of a material."""
    return material.split("--")[0]


def place_of(opened: Opened, name: str, base: Snapshot) -> int:
    """Return the place in the batch of a line by its name."""
    return item_to_replace(opened, name, None, base)
