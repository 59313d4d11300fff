"""Pages of what the base knows: first page, find, material, suits, how to read them."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from itertools import islice

from kb.engine.opening import resolve_material
from kb.engine.roles import Here
from kb.engine.scoreboard import scoreboard
from kb.engine.suits import ALIASES, PRESENT, suits_system
from kb.errors import UnknownNameError, UsageError
from kb.formula.model import SYSTEMS
from kb.report.finding import find_tree
from kb.report.knowledge import role_id, roles_tree, show_tree, verdict_tree
from kb.report.tree import Tree
from kb.store.records import Play
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot
from kb.web.answer import Answer, Asked
from kb.web.desk import Desk
from kb.web.pictures import neighbourhood
from kb.web.words import quoted

_STAND_INS = 8
_FOUND = 20
#: Names longer than this are cut.
LONGEST = 300


def home(desk: Desk, asked: Asked) -> Answer:
    """Return the first page: find, roles, bench, suits."""
    base = desk.base
    tree: Tree = {
        "roles": [r for r in roles_tree(base)["roles"] if r["parents"] == ["ingredient"]],
        "formulas": [{"formula": f, "name": name} for f, name in demos().items()],
        "counts": {
            "materials": len(base.materials),
            "roles": len(base.roles),
            "compatibilities": len(base.edges),
        },
    }
    return Answer(tree, "home.html", {"tree": tree, "systems": SYSTEMS})


def guide(desk: Desk, asked: Asked) -> Answer:
    """Return the page that says how to read the others."""
    tree: Tree = {"policies": [{"policy": p, "title": t} for p, t in policies(desk.base)]}
    return Answer(tree, "help.html", {"tree": tree})


@lru_cache(maxsize=1)
def demos() -> dict[str, str]:
    """Return the demonstration formulas, file stem to name."""
    found = {}
    for path in sorted(seed_folder().glob("formulas/*.toml")):
        found[path.stem] = str(tomllib.loads(path.read_text("utf-8")).get("name", path.stem))
    return found


def policies(base: Snapshot) -> list[tuple[str, str]]:
    """Return the policies with what they are called."""
    return [
        (name, str(tomllib.loads(text).get("title", name)))
        for name, text in sorted(base.records.policies.items())
    ]


def find(desk: Desk, asked: Asked) -> Answer:
    """Return what is called like the words asked for."""
    base, words = desk.base, asked.fields.get("q").strip()[:LONGEST]
    if not words:
        if asked.as_json:
            raise UsageError("The name is empty.", "q", "Name a material, such as beeswax.")
        return Answer(None, "find.html", {"tree": None, "words": ""})
    limit = min(max(asked.fields.number("limit") or _FOUND, 1), 200)
    inci = {m.id: m.inci for m in base.materials.values()}
    tree = find_tree(words, base.names.search(words, limit), inci)
    return Answer(tree, "find.html", {"tree": tree, "words": words})


def material(desk: Desk, asked: Asked) -> Answer:
    """Return all that is known of a raw material."""
    base, name = desk.base, asked.parts["name"]
    if name not in base.materials:
        found = resolve_material(name[:LONGEST], base, near=False)
        ending = ".json" if asked.as_json else ""
        return Answer(place=f"/material/{quoted(found)}{ending}")
    tree = show_tree(name, base, desk.connection())
    if asked.as_json:
        return Answer(tree)
    edges = sorted(tree["edges"], key=lambda e: ("fails", "careful", "works").index(e["verdict"]))
    context = {
        "tree": tree,
        "about": base.materials[name],
        "edges": {
            "fights": [e for e in edges if e["verdict"] != "works"],
            "goes": [e for e in edges if e["verdict"] == "works"],
        },
        "stand_ins": desk.kept(("stand-ins", name), lambda: _stand_ins(name, base)),
        "picture": neighbourhood(name, base),
        "systems": SYSTEMS,
    }
    return Answer(tree, "material.html", context)


def _stand_ins(name: str, base: Snapshot) -> list[Tree]:
    """Return what is likely to stand in for a material when no formula is known."""
    plays: list[Play] = sorted(base.plays(name), key=lambda p: (-p.strength, p.role))[:3]
    weight = sum(p.strength**2 for p in plays)
    if weight <= 0:
        return []
    here = tuple(Here(p.role, p.strength**2 / weight) for p in plays)
    found = []
    ranking = scoreboard(base).rank(name, here, base)
    for candidate in map(ranking.at, islice(ranking.in_order(), _STAND_INS)):
        alike = [c for c in candidate.comparisons if c.candidate is not None]
        alike.sort(key=lambda c: (-c.trait.weight, c.trait.property))
        seen: dict[str, Tree] = {}
        for c in alike:
            seen.setdefault(
                c.trait.property,
                {
                    "property": c.trait.property,
                    "mine": c.original,
                    "theirs": c.candidate,
                    "unit": base.records.units.get(c.trait.property, ""),
                },
            )
        played = [base.roles[r].label for r in dict.fromkeys(candidate.played.values())]
        found.append(
            {
                "ingredient": candidate.material,
                "inci": base.materials[candidate.material].inci,
                "score": candidate.score,
                "plays": played,
                "traits": [t for t in seen.values() if t["mine"] is not None][:3],
            }
        )
    return found


def suits(desk: Desk, asked: Asked) -> Answer:
    """Return whether a material works in a kind of product, and what to use instead."""
    base, fields = desk.base, asked.fields
    words = fields.get("name").strip()[:LONGEST]
    system = " ".join(fields.get("system").split()).lower()
    wanted = fields.get("as").strip().casefold()
    context = {
        "words": words,
        "system": system,
        "wanted": wanted,
        "systems": SYSTEMS,
        "roles": sorted(base.roles.values(), key=lambda r: r.label.casefold()),
        "present": PRESENT,
        "tree": None,
        "error": None,
    }
    if not words and not asked.as_json:
        return Answer(None, "suits.html", context)
    try:
        tree = _verdict(words, system, wanted, base)
    except (UsageError, UnknownNameError) as error:
        if asked.as_json:
            raise
        return Answer(None, "suits.html", {**context, "error": error}, 400)
    return Answer(tree, "suits.html", {**context, "tree": tree, "labels": base.roles})


def _verdict(words: str, system: str, wanted: str, base: Snapshot) -> Tree:
    if system not in SYSTEMS:
        raise UsageError(
            f"There is no system {system[:60]!r}." if system else "No kind of product is named.",
            "system",
            f"Choose one of {', '.join(SYSTEMS)}.",
        )
    if not words:
        raise UsageError("The name is empty.", "name", "Name a material, such as xanthan gum.")
    found = resolve_material(words, base)
    role = wanted if not wanted or wanted == PRESENT or wanted in ALIASES else ""
    if wanted and not role:
        role = role_id(wanted, base)
    return verdict_tree(found, suits_system(found, system, base, role), base, system)
