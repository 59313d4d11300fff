"""Write an invented base and formulas with the real base's statistics, for benchmarks only.

Nothing in what this writes is knowledge: every material is a copy of a real one under an invented
name with its numbers shaken, every further edge is drawn by lot. All of it says so itself: in the
names, in the sources, in each formula and in INVENTED.txt beside it. The same seed gives the same
files.

    scripts/synthesise.py TARGET --materials 30000   # TARGET/seed and TARGET/formulas
    scripts/synthesise.py TARGET --real --formulas 10000   # formulas of real materials alone
"""

from __future__ import annotations

import argparse
import csv
import random
import re
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

from kb.engine.opening import Opened, open_formula
from kb.engine.profile import make_profile
from kb.engine.roles import roles_here
from kb.formula.reading import read_formula
from kb.store.opening import open_snapshot
from kb.store.seed import Row, Seed, read_seed, seed_folder
from kb.store.snapshot import Snapshot
from kb.store.tables import BY_NAME, TABLES

SIZES = (600, 3_000, 30_000)
#: Edges and formulas for each material, as in 30,000 : 300,000 : 10,000.
EDGES_EACH, MATERIALS_A_FORMULA = 10, 3
INVENTED = "invented-for-benchmarks"
SAYING = "Invented for benchmarks by scripts/synthesise.py; nothing in it is knowledge."
HOSTS = Path(__file__).resolve().parent.parent / "tests" / "data" / "hosts"
#: Tables that say what things are, not what is known of a material.
_KEPT = ("properties", "methods", "roles", "role_traits")
#: Tables that no question about a formula reads.
_LEFT_OUT = {"structures", "fatty_acids"}
_SHAKEN = 0.08
#: Numbers that stand for kinds: shaken they would mean nothing.
_KINDS = {"crystal_habit", "hue", "aspect", "natural_origin_index"}


def invented_seed(
    target: Path, count: int, lots: random.Random, wanted: Iterable[str] = ()
) -> list[str]:
    """Write a seed folder with ``count`` invented materials and return their ids.

    Copies of the families in ``wanted`` are made before any other.
    """
    real = read_seed(seed_folder())
    tables: dict[str, list[dict[str, str]]] = {
        name: [row.cells for row in real.tables[name]] for name in _KEPT
    }
    tables["sources"] = [
        {"source": INVENTED, "citation": SAYING, "kind": "invented", "year": "", "address": ""}
    ]
    copies = _copies(real, count, lots, wanted)
    first = {old: new for new, old in reversed(copies)}
    by_material = {
        table.name: _grouped(real, table.name)
        for table in TABLES
        if "material" in table.header and table.name not in _LEFT_OUT
    }
    bounds = {row["property"]: row for row in real.tables["properties"]}
    for table in TABLES:
        tables.setdefault(table.name, [])
    for new, old in copies:
        number = new.split("--")[0].rsplit("-", 1)[1]
        for name, groups in by_material.items():
            seen: set[tuple[str, ...]] = set()
            for row in groups.get(old, ()):
                cells = {**row.cells, "material": new, "#file": row.file}
                made = _invent(name, cells, number, bounds, first, lots)
                key = tuple((made or {}).get(k, "") for k in ("property", *BY_NAME[name].key))
                if made is not None and key not in seen:
                    seen.add(key)
                    tables[name].append(made)
    tables["edges"] = _edges(real, copies, lots, EDGES_EACH * count)
    _write_tables(target, tables)
    _write_policies(real, target)
    return [new for new, _ in copies]


def _copies(
    real: Seed, count: int, lots: random.Random, wanted: Iterable[str]
) -> list[tuple[str, str]]:
    """Return (invented id, real id): whole families of grades, drawn until there are enough."""
    families: dict[str, list[str]] = defaultdict(list)
    for row in real.tables["materials"]:
        families[row["material"].split("--")[0]].append(row["material"])
    plain = sorted(families)
    copies: list[tuple[str, str]] = []
    order = sorted(set(wanted), reverse=True)
    while len(copies) < count:
        if not order:
            order = lots.sample(plain, len(plain))
        name = order.pop()
        number = len(copies)
        for old in sorted(families[name])[: count - len(copies)]:
            grade = old.removeprefix(name)
            copies.append((f"{name}-invented-{number}{grade}", old))
    return copies


def _grouped(real: Seed, name: str) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = defaultdict(list)
    for row in real.tables[name]:
        groups[row["material"]].append(row)
    return groups


def _invent(
    table: str,
    cells: dict[str, str],
    number: str,
    bounds: dict[str, Row],
    first: dict[str, str],
    lots: random.Random,
) -> dict[str, str] | None:
    """Turn a row about a real material into one about an invented one."""
    if table == "materials":
        return {**cells, "inci": f"{cells['inci']} Invented {number}", "cas": "", "note": SAYING}
    if table == "names":
        return {**cells, "name": f"{cells['name']} invented {number} {cells['material'][-6:]}"}
    if table == "compositions":
        part = first.get(cells["part"])
        if part is None:
            return None
        cells = {**cells, "part": part}
    if table == "facts":
        about = bounds[cells["property"]]
        cells = _shaken(cells, about, lots) if cells["property"] not in _KINDS else cells
    if table == "plays" and cells["strength"]:
        strength = float(cells["strength"]) * lots.gauss(1.0, _SHAKEN)
        cells = {**cells, "strength": f"{min(max(strength, 0.05), 1.0):.3g}"}
    source = "" if cells["evidence"] == "common practice" else INVENTED
    word = "common practice" if not source else "memory"
    told = {"source": source, "evidence": word}
    return {**cells, **told, **({"note": SAYING} if "note" in cells else {})}


def _shaken(cells: dict[str, str], about: Row, lots: random.Random) -> dict[str, str]:
    """Shift a value and its range together, and keep them where the property allows."""
    low, high = (float(about[k]) if about[k] else None for k in ("low", "high"))
    factor, shift = 1.0, 0.0
    if about["tolerance_kind"] == "ratio":
        factor = max(0.3, lots.gauss(1.0, _SHAKEN))
    else:
        shift = float(about["tolerance"]) * lots.gauss(0.0, 0.5)
    out = dict(cells)
    for name in ("value", "low", "high"):
        if cells[name]:
            number = float(cells[name]) * factor + shift
            number = max(number, low) if low is not None else number
            number = min(number, high) if high is not None else number
            out[name] = f"{number:.6f}".rstrip("0").rstrip(".")
    return out


def _edges(
    real: Seed, copies: list[tuple[str, str]], lots: random.Random, count: int
) -> list[dict[str, str]]:
    """Return the real edges between kinds, and edges between invented materials drawn by lot."""
    found: dict[tuple[str, ...], dict[str, str]] = {}
    by_old: dict[str, list[str]] = defaultdict(list)
    for new, old in copies:
        by_old[old].append(new)

    def add(cells: dict[str, str]) -> None:
        edge = {**cells, "source": INVENTED, "evidence": "memory"}
        found.setdefault(tuple(edge[k] for k in BY_NAME["edges"].key), edge)

    # Edges between two materials are rare in the real base: one in some thousands of pairs.
    about_two = []
    for row in real.tables["edges"]:
        ends = [row["subject"].partition(":"), row["object"].partition(":")]
        if not any(kind == "material" for kind, _, _ in ends):
            add(row.cells)
            continue
        about_two.append(row)
        new = [
            f"material:{lots.choice(by_old[word])}" if kind == "material" and word in by_old else ""
            for kind, _, word in ends
        ]
        cells = dict(row.cells)
        for side, (kind, _, _), name in zip(("subject", "object"), ends, new, strict=True):
            if kind == "material":
                cells[side] = name
        if cells["subject"] and cells["object"]:
            add(cells)
    ids = [new for new, _ in copies]
    while len(found) < count:
        row = lots.choice(about_two)
        one, two = lots.sample(ids, 2)
        add({**row.cells, "subject": f"material:{one}", "object": f"material:{two}"})
    return list(found.values())


def _write_tables(target: Path, tables: dict[str, list[dict[str, str]]]) -> None:
    for table in TABLES:
        rows = tables[table.name]
        places: dict[Path, list[dict[str, str]]] = defaultdict(list)
        for row in rows:
            file = row.get("#file", table.path)
            places[target / file].append(row)
        if not rows:
            places[target / table.path] = []
        for path, held in places.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("w", encoding="utf-8", newline="") as stream:
                writer = csv.DictWriter(
                    stream, table.header, extrasaction="ignore", lineterminator="\n"
                )
                writer.writeheader()
                writer.writerows(held)


def _write_policies(real: Seed, target: Path) -> None:
    """Write the policies without the materials they name, which are not here."""
    (target / "policies").mkdir(exist_ok=True)
    for name, text in real.policies.items():
        bare = re.sub(r"^materials\s*=\s*\[[^\]]*\]", "materials = []", text, flags=re.M)
        (target / "policies" / f"{name}.toml").write_text(bare, encoding="utf-8")


# -- formulas ----------------------------------------------------------------------------------


def templates(base: Snapshot) -> list[Opened]:
    """Return the demo formulas and the hosts of the published swaps."""
    paths = [*sorted((seed_folder() / "formulas").glob("*.toml")), *sorted(HOSTS.glob("*.toml"))]
    return [open_formula(read_formula(str(path)), base) for path in paths]


def write_formulas(
    target: Path, count: int, base: Snapshot, lots: random.Random, copies: Iterable[str] = ()
) -> None:
    """Write formulas after the templates.

    A line keeps its material two times in three, else gets one that plays the same leading role;
    levels are shaken. With ``copies`` each material is an invented copy of that one.
    """
    target.mkdir(parents=True, exist_ok=True)
    copied: dict[str, list[str]] = defaultdict(list)
    for new in copies:
        copied[re.sub(r"-invented-\d+", "", new)].append(new)
    wells = [(opened, _stand_ins(opened, base)) for opened in templates(base)]
    for number in range(count):
        opened, well = wells[number % len(wells)]
        lines = []
        for item, others in zip(opened.batch.items, well, strict=True):
            material = lots.choice(others) if others and lots.random() < 1 / 3 else item.material
            if copied:
                family = next(
                    copied[m]
                    for m in (material, item.material, item.material.split("--")[0])
                    if m in copied
                )
                material = lots.choice(family)
            lines.append((material, item.percent * max(0.3, lots.gauss(1.0, 0.15)), item))
        whole = sum(percent for _, percent, _ in lines)
        text = [
            f'name = "invented {number}"',
            f'note = "{SAYING}"',
            *([f'system = "{opened.formula.system}"'] if opened.formula.system else []),
            *([f"ph = {opened.formula.ph:g}"] if opened.formula.ph is not None else []),
        ]
        for material, percent, item in lines:
            text += ["", "[[line]]", f'ingredient = "{material}"']
            text.append(f"percent = {100.0 * percent / whole:.4f}")
            text += [f'stage = "{item.stage}"'] if item.stage else []
        path = target / f"invented-{number:05d}.toml"
        path.write_text("\n".join(text) + "\n", encoding="utf-8")


def _stand_ins(opened: Opened, base: Snapshot) -> list[list[str]]:
    """Return for each line the materials that play its leading role; water stays water."""
    profile = make_profile(opened.batch, base)
    found = []
    for item in opened.batch.items:
        here = roles_here(item, profile, base)
        role = here[0].role if here else ""
        water = base.does(item.material, "water-phase-base") >= 0.5
        found.append([] if water or not role else sorted(base.players(role)))
    return found


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("target", type=Path)
    reader.add_argument("--materials", type=int, default=600, help=f"such as {SIZES}")
    reader.add_argument("--formulas", type=int, help="a third of the materials by default")
    reader.add_argument("--real", action="store_true", help="formulas of real materials alone")
    reader.add_argument("--seed", type=int, default=1)
    given = reader.parse_args()
    lots = random.Random(given.seed)
    base = open_snapshot()
    count = given.materials // MATERIALS_A_FORMULA if given.formulas is None else given.formulas
    given.target.mkdir(parents=True, exist_ok=True)
    (given.target / "INVENTED.txt").write_text(SAYING + "\n", encoding="utf-8")
    copies: list[str] = []
    if not given.real:
        used = {i.material.split("--")[0] for t in templates(base) for i in t.batch.items}
        copies = invented_seed(given.target / "seed", given.materials, lots, used)
    write_formulas(given.target / "formulas", count, base, lots, copies)
    print(SAYING)
    print(f"{given.target}: {len(copies)} materials, {count} formulas")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
