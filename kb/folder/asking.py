"""What is asked of every formula of a folder, and the answer of one: the call that is spread out.

``answers`` is all a worker runs, in this process, in another, or on another machine. It takes and
gives plain data, so that the same answer comes from everywhere.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from kb.errors import KbError
from kb.folder.files import File

if TYPE_CHECKING:
    from kb.engine.batch import Item
    from kb.engine.profile import Profile
    from kb.store.snapshot import Snapshot

#: Part of every key of a kept answer: raise it when answers change with the same base.
EDITION = 1

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of every formula.

    Parameters
    ----------
    good : float
        Worth from which a stand-in is good.
    most : int, optional
        Stop at this many good ones a line; none finds all.
    policies : tuple of str
        Policies every stand-in must pass.
    material : str
        Ask about this material alone; a generic id means its grades too. Empty: every line.
    most_percent : float, optional
        What may be of it at most from now on; it stays where no more is in.
    """

    good: float
    most: int | None
    policies: tuple[str, ...] = ()
    material: str = ""
    most_percent: float | None = None

    def key(self) -> str:
        """Text that is the same for the same question."""
        return json.dumps([EDITION, asdict(self)], sort_keys=True)


def answers(part: list[File], question: Question, build: str) -> list[Answer]:
    """Answer for a part of a folder, in the base this machine has.

    Raises
    ------
    DatabaseError
        The base here is another one than that of the asking program.
    """
    base = _world(build)
    return [answer_of(file, question, base) for file in part]


@lru_cache(maxsize=1)
def _world(build: str) -> Snapshot:
    """Open the base once in a process."""
    from kb.errors import DatabaseError
    from kb.own.world import open_world

    base = open_world()
    if base.build != build:
        raise DatabaseError(
            f"A worker holds build {base.build[:12]}, the asking program {build[:12]}.",
            "",
            "Install the same version of the program on every machine.",
        )
    return base


def answer_of(file: File, question: Question, base: Snapshot) -> Answer:
    """Answer for one file; a broken one is an answer too, so that the others go on."""
    from kb.engine.opening import open_formula
    from kb.engine.profile import make_profile
    from kb.formula.reading import decode, parse_formula

    about: Answer = {"file": file.name, "name": "", "system": None, "error": None, "lines": []}
    try:
        if file.fault is not None:
            raise file.fault
        formula = parse_formula(decode(file.raw, file.name), file.name)
        opened = open_formula(formula, base)
    except KbError as error:
        about["error"] = error.as_json()["error"]
        return about
    about |= {"name": formula.name, "unknown": _unknown(opened.answers, formula.lines)}
    places = [n for n, item in enumerate(opened.batch.items) if _asked(item, question)]
    about["holds"] = sorted({item.material for item in opened.batch.items})
    about["product"] = {
        k: v for k, v in opened.batch.product.items() if isinstance(v, (int, float, str))
    }
    if places:
        profile = make_profile(opened.batch, base)
        about["system"] = profile.system
        about["lines"] = [line for n in places if (line := _line(profile, n, question)) is not None]
    return about


def _unknown(found: list[Any], lines: Any) -> list[str]:
    return [line.given for line, one in zip(lines, found, strict=True) if one.match is None]


def _asked(item: Item, question: Question) -> bool:
    wanted = question.material
    return not wanted or wanted in {item.material, item.material.split("--")[0]}


def _line(profile: Profile, index: int, question: Question) -> Answer | None:
    from kb.folder.limiting import lowered
    from kb.folder.standing_in import context_of, line_of, needs_none

    if not question.material and needs_none(profile, index):
        return None
    context = context_of(profile, index, list(question.policies))
    stays = None
    if question.most_percent is not None:
        stays = lowered(context, question.most_percent)
        if stays is not None and stays.needless:
            return None
    found = line_of(profile, index, context, question.most, question.good)
    line = asdict(found)
    line["stand_ins"] = [list(asdict(s).values()) for s in found.stand_ins]
    line["lowered"] = None if stays is None else asdict(stays)
    return line
