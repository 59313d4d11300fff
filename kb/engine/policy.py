"""Whether a brand's policy lets a material in: yes, no, or unknown with what to ask."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from kb.errors import UsageError
from kb.store.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Judgement:
    """The answer of a policy on one material."""

    answer: str
    reason: str


@lru_cache(maxsize=64)
def _read(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def check_known(names: list[str], base: Snapshot) -> None:
    """Raise when a policy name is not known, with the nearest names."""
    from rapidfuzz import process

    for name in names:
        if name not in base.records.policies:
            near = [n for n, _, _ in process.extract(name, list(base.records.policies), limit=3)]
            raise UsageError(
                f"There is no policy {name!r}.",
                "--policy",
                "Did you mean " + ", ".join(near) + "?" if near else "The base holds no policies.",
            )


def judge(material: str, policies: list[str], base: Snapshot) -> Judgement:
    """Judge a material by several policies at once; the strictest answer counts."""
    unknown: Judgement | None = None
    for name in policies:
        found = _judge_one(material, name, base)
        if found.answer == "no":
            return found
        if found.answer == "unknown":
            unknown = found
    return unknown or Judgement("yes", "")


def _judge_one(material: str, name: str, base: Snapshot) -> Judgement:
    tree = _read(base.records.policies[name])
    about = base.materials[material]
    if {about.id, about.generic} & set(tree.get("allow", {}).get("materials", [])):
        return Judgement("yes", "an exception of the policy")
    forbid = tree.get("forbid", {})
    if {about.id, about.generic} & set(forbid.get("materials", [])):
        return Judgement("no", f"{name} names {about.inci}")
    for tag in forbid.get("tags", []):
        if tag in about.tags:
            return Judgement("no", f"{name} forbids what is {tag}")
    if about.origin in forbid.get("origins", []):
        return Judgement("no", f"{name} forbids {about.origin} origin")
    floor = tree.get("need", {}).get("natural_origin_index")
    index = base.known(material, "natural_origin_index")
    if floor is not None and index is not None and index.value < floor:
        return Judgement("no", f"{name} wants a natural origin index of {floor:g} or more")
    perhaps = ""
    for part in base.parts(material):
        if part.part not in base.materials or part.part == material:
            continue
        inner = _judge_one(part.part, name, base)
        if inner.answer != "no":
            continue
        held = f"{base.materials[part.part].inci}: {inner.reason}"
        if part.low > 0.0:
            return Judgement("no", f"it holds {held}")
        perhaps = f"whether it holds {held}"
    if perhaps:
        return Judgement("unknown", perhaps)
    doubt = tree.get("unknown", {})
    if about.origin in doubt.get("origins", []) or set(doubt.get("tags", [])) & about.tags:
        return Judgement("unknown", str(doubt.get("ask", "ask the supplier for the origin")))
    return Judgement("yes", "")
