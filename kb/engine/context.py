"""What every gate and caution looks at: the question, the formula before, and its company."""

from __future__ import annotations

from dataclasses import dataclass, field

from kb.engine.batch import Batch
from kb.engine.candidates import Candidate
from kb.engine.edges import Meeting, couplings, meetings, meetings_of
from kb.engine.profile import Profile
from kb.engine.roles import Here
from kb.engine.waterphase import salt_percent
from kb.store.snapshot import Snapshot

#: Share of a line's work from which a role is worth defending.
_MATTERS = 0.3
#: Water from which there is a water phase, %.
_A_PHASE = 1.0


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a candidate is out: rule id, reason, and where the reason comes from."""

    rule: str
    reason: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """What to watch with a candidate that is let through."""

    rule: str
    text: str
    source: str = "common practice"
    #: A stated compatibility that asks for care: the jar tells, nothing is lost yet.
    asks_for_care: bool = False


#: Verdict, rule, text and source of a stated compatibility.
NewMeeting = tuple[str, str, str, str]


@dataclass(slots=True)
class Context:
    """What every gate looks at."""

    base: Snapshot
    before: Profile
    index: int
    here: tuple[Here, ...]
    policies: list[str] = field(default_factory=list)
    preferred: set[str] | None = None
    _met_before: set[tuple[str, str]] | None = None
    _new: dict[str, list[NewMeeting]] = field(default_factory=dict)

    @property
    def original(self) -> str:
        """Material that is to be replaced."""
        return self.before.batch.items[self.index].material

    @property
    def leading(self) -> str:
        """Role with the largest share."""
        return self.here[0].role if self.here else ""

    @property
    def salt(self) -> float | None:
        """Electrolyte in the water phase, %; nothing where there is no water phase."""
        phases = self.before.phases
        return salt_percent(phases, self.base) if phases.water_mass >= _A_PHASE else None

    def above(self) -> frozenset[str]:
        """The leading role with all above it."""
        return self.base.roles[self.leading].ancestors if self.leading else frozenset()

    def matters(self, role: str) -> bool:
        """Tell whether a role (or one below) carries enough of the line's work."""
        share = sum(h.share for h in self.here if role in self.base.roles[h.role].ancestors)
        return share >= _MATTERS

    def label(self, material: str) -> str:
        """Name of a material for a sentence."""
        return self.base.materials[material].inci


def new_meetings(candidate: Candidate, c: Context) -> list[NewMeeting]:
    """Return verdict, rule, text and source of edges the candidate brings with it."""
    if candidate.material not in c._new:
        c._new[candidate.material] = _find_new(candidate, c)
    return c._new[candidate.material]


def _old_meetings(c: Context) -> set[tuple[str, str]]:
    """Return rule and company of the edges that the old material had."""
    if c._met_before is None:
        c._met_before = {
            (m.edge.rule, m.object if m.subject == c.original else m.subject)
            for m in meetings_of(c.original, c.before.batch, c.before.system, c.before.ph, c.base)
            if m.edge.verdict != "works"
        }
    return c._met_before


def _find_new(candidate: Candidate, c: Context) -> list[NewMeeting]:
    old = _old_meetings(c)
    items = list(c.before.batch.items)
    items[c.index] = items[c.index].of(candidate.material, items[c.index].percent)
    batch = c.before.batch.with_items(items)
    found = []
    for met in meetings_of(candidate.material, batch, c.before.system, c.before.ph, c.base):
        other = met.object if met.subject == candidate.material else met.subject
        if met.edge.verdict == "works":
            continue
        # What only asks for care and did so before is no news; what fails is, always.
        if met.edge.verdict == "careful" and (met.edge.rule, other) in old:
            continue
        if met.edge.rule == "legal-limit":
            continue
        # What depends on pH or free level is worked out for this formula, not looked up.
        worked_out = met.edge.rule in {"ph-window", "preservative-inactive"}
        if worked_out and c.base.does(candidate.material, "antimicrobial"):
            continue
        source = c.base.citation(met.edge.source) if met.edge.source else met.edge.evidence
        text = f"with {c.label(other)}: {met.edge.mechanism}"
        found.append((met.edge.verdict, met.edge.rule, text, source))
    return found + _no_longer_coupled(candidate, batch, c)


def _no_longer_coupled(candidate: Candidate, batch: Batch, c: Context) -> list[NewMeeting]:
    """Return the pairs that part once the coupling oil between them is gone."""
    base, mine = c.base, c.base.handles(c.original)
    coupled = any(e.subject in mine for m in batch.by_material() for e in couplings(m, base))
    if not coupled:
        return []

    def parted(whole: Batch) -> dict[tuple[str, str], Meeting]:
        met = meetings(whole, c.before.system, c.before.ph, base)
        return {(m.subject, m.object): m for m in met if m.edge.rule == "immiscible"}

    before = parted(c.before.batch)
    return [
        (
            met.edge.verdict,
            met.edge.rule,
            f"without {c.label(c.original)}, {c.label(met.subject)} and {c.label(met.object)} "
            f"part: {met.edge.mechanism}",
            base.citation(met.edge.source) if met.edge.source else met.edge.evidence,
        )
        for pair, met in parted(batch).items()
        if pair not in before and candidate.material not in pair
    ]
