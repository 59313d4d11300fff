"""Pages of what the base knows: first page, find, material, roles, suits, how to read them."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from itertools import islice

from kb.engine.opening import resolve_material
from kb.engine.policy import judge
from kb.engine.roles import Here
from kb.engine.scoreboard import scoreboard
from kb.engine.suits import ALIASES, PRESENT, suits_system
from kb.errors import UnknownNameError, UsageError
from kb.formula.model import SYSTEMS
from kb.report.finding import find_tree
from kb.report.knowledge import role_id, role_tree, roles_tree, show_tree, verdict_tree
from kb.report.tree import Tree
from kb.store.records import Play
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot
from kb.web.answer import Answer, Asked
from kb.web.desk import Desk
from kb.web.pictures import neighbourhood, strips
from kb.web.words import query, quoted

_STAND_INS = 8
_FOUND = 20
#: Players on one page of a role.
PAGE = 60
_TRAITS_SHOWN = 5
_LONGEST = 300


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
    base, words = desk.base, asked.fields.get("q").strip()[:_LONGEST]
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
        found = resolve_material(name[:_LONGEST], base, near=False)
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


def roles(desk: Desk, asked: Asked) -> Answer:
    """Return the tree of roles with how many play each."""
    tree = roles_tree(desk.base)
    counts = {r["role"]: r["players"] for r in tree["roles"]}
    top = [r for r in desk.base.roles.values() if r.parents == ("ingredient",)]
    context = {"top": top, "roles": desk.base.roles, "counts": counts}
    return Answer(tree, "roles.html", context)


def role(desk: Desk, asked: Asked) -> Answer:
    """Return a role with its players, compared on what decides."""
    base, fields = desk.base, asked.fields
    name = role_id(asked.parts["name"][:_LONGEST], base)
    if name != asked.parts["name"]:
        ending = ".json" if asked.as_json else ""
        return Answer(place=f"/roles/{quoted(name)}{ending}")
    tree = role_tree(name, base)
    wanted = {key: fields.get(key).strip() for key in ("policy", "origin", "form")}
    _check_filters(wanted, base)
    players = [p for p in tree["players"] if _passes(p["ingredient"], wanted, base)]
    tree = {**tree, "players": players}
    if asked.as_json:
        return Answer(tree)
    start = min(fields.number("from") or 0, max(len(players) - 1, 0)) // PAGE * PAGE
    shown = players[start : start + PAGE]
    traits = sorted(tree["traits"], key=lambda t: (not t["decisive"], -t["weight"]))
    names = list(dict.fromkeys(t["property"] for t in traits))[:_TRAITS_SHOWN]
    table = [
        {
            **p,
            "about": base.materials[p["ingredient"]],
            "role_label": base.roles[p["role"]].label,
            "values": [base.known(p["ingredient"], t) for t in names],
        }
        for p in shown
    ]
    context = {
        "tree": tree,
        "traits": [t for t in traits if t["property"] in names],
        "columns": [(t, base.records.units.get(t, "")) for t in names],
        "table": table,
        "roles": base.roles,
        "policies": policies(base),
        "origins": sorted({m.origin for m in base.materials.values()}),
        "forms": sorted({m.form for m in base.materials.values()}),
        "wanted": wanted,
        "start": start,
        "page": PAGE,
        "back": query({**wanted, "from": max(start - PAGE, 0)}),
        "on": query({**wanted, "from": start + PAGE}),
        "strips": strips(shown, names, base) if len(shown) > 1 else [],
    }
    return Answer(tree, "role.html", context)


def _check_filters(wanted: dict[str, str], base: Snapshot) -> None:
    known = {
        "policy": set(base.records.policies),
        "origin": {m.origin for m in base.materials.values()},
        "form": {m.form for m in base.materials.values()},
    }
    for key, value in wanted.items():
        if value and value not in known[key]:
            raise UsageError(
                f"There is no {key} {value[:60]!r}.", key, "Choose one from the list of the page."
            )


def _passes(name: str, wanted: dict[str, str], base: Snapshot) -> bool:
    about = base.materials[name]
    if wanted["origin"] and about.origin != wanted["origin"]:
        return False
    if wanted["form"] and about.form != wanted["form"]:
        return False
    return not wanted["policy"] or judge(name, [wanted["policy"]], base).answer != "no"


def suits(desk: Desk, asked: Asked) -> Answer:
    """Return whether a material works in a kind of product, and what to use instead."""
    base, fields = desk.base, asked.fields
    words = fields.get("name").strip()[:_LONGEST]
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
