"""What a folder hangs on: materials without a good stand-in, and what to have at hand."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field

from kb.folder.asking import Answer
from kb.folder.cover import Cover, fewest

#: Good stand-ins looked for on each line.
MOST = 3


@dataclass(slots=True)
class Hold:
    """How much of a folder hangs on one material.

    ``stops`` counts the formulas in which it stands on a line without a good stand-in, ``whys``
    what closed the door there, ``stand_ins`` how many of its lines each stand-in would serve.
    """

    material: str
    formulas: int = 0
    lines: int = 0
    stopped: list[str] = field(default_factory=list)
    whys: Counter[tuple[str, str]] = field(default_factory=Counter)
    nearest: Counter[str] = field(default_factory=Counter)
    stand_ins: Counter[str] = field(default_factory=Counter)

    @property
    def stops(self) -> int:
        """Number of formulas that could not be made without it."""
        return len(self.stopped)


@dataclass(frozen=True, slots=True)
class Outlook:
    """The answer about a folder.

    ``reserve`` is what to keep more of, ``at_hand`` the fewest materials so that any one raw
    material may fail where a stand-in is known; ``eased`` is how many lines they serve.
    """

    answers: list[Answer]
    holds: list[Hold]
    reserve: list[Hold]
    at_hand: Cover
    serves: dict[str, int]
    eased: int
    in_folder: int

    @property
    def broken(self) -> list[Answer]:
        """Files that are no readable formula."""
        return [a for a in self.answers if a["error"] is not None]


def outlook(answers: list[Answer]) -> Outlook:
    """Put the answers of all formulas together.

    Parameters
    ----------
    answers : list of dict
        What ``asking.answers`` gave, one for each file.
    """
    holds: dict[str, Hold] = {}
    used = {_generic(m) for a in answers if a["error"] is None for m in a["holds"]}
    needs: list[dict[str, float]] = []
    covered = 0
    for answer in answers:
        lines = defaultdict(list)
        for line in answer["lines"]:
            lines[line["material"]].append(line)
        for material, group in lines.items():
            hold = holds.setdefault(material, Hold(material))
            hold.formulas += 1
            hold.lines += len(group)
            if any(not line["stand_ins"] for line in group):
                hold.stopped.append(answer["file"])
            for line in group:
                _count(hold, line)
                if line["stand_ins"]:
                    serve = {_generic(s[0]): s[1] for s in line["stand_ins"]}
                    if used & serve.keys():
                        covered += 1
                    else:
                        needs.append(serve)
    ranked = sorted(holds.values(), key=lambda h: (-h.stops, -h.formulas, h.material))
    cover = fewest(needs)
    return Outlook(
        answers,
        ranked,
        [h for h in ranked if h.stops],
        cover,
        {name: sum(name in need for need in needs) for name in cover.chosen},
        len(needs),
        covered,
    )


def _count(hold: Hold, line: Answer) -> None:
    if line["stand_ins"]:
        for stand_in in line["stand_ins"]:
            hold.stand_ins[stand_in[0]] += 1
    else:
        hold.whys[line["rule"], line["reason"]] += 1
        if line["nearest"]:
            hold.nearest[line["nearest"]] += 1


def _generic(material: str) -> str:
    return material.split("--")[0]
