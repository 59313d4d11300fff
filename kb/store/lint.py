"""Find every fault of the seed text at once: form, words, numbers, references, cycles."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Callable

from kb.errors import FormulaError
from kb.formula.names import normalise
from kb.formula.reading import parse_formula
from kb.store.fats import fatty_acid_problems
from kb.store.policy import policy_problems
from kb.store.seed import Problem, Row, Seed
from kb.store.tables import BY_NAME, SYSTEMS, TABLES, TAGS, Column

_ID = re.compile(r"[a-z0-9]+([-_][a-z0-9]+)*(--[a-z0-9]+(-[a-z0-9]+)*)?")
_NUMBER = re.compile(r"-?\d+(\.\d+)?")
_CAS = re.compile(r"(\d{2,7})-(\d{2})-(\d)")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}|\d{1,2}[./]\d{1,2}[./]\d{2,4}|\d{1,2}-[A-Z][a-z]{2}(-\d+)?")
_SMART = re.compile("[“”‘’\u00a0]")
_SMILES = re.compile(
    r"(\[\d*[A-Z][a-z]?@{0,2}H?\d?[+-]?\d?\]|\[nH\]|Br|Cl|[BCFINOPScnops]|[-=#/\\().]|%\d\d|\d)+"
)
_TYPED = ("material", "role", "tag", "charge", "system")


def check_digit_holds(registry_number: str) -> bool:
    """Tell whether a chemical registry number has the check digit it should have.

    Examples
    --------
    >>> check_digit_holds("57-55-6"), check_digit_holds("57-55-7")
    (True, False)
    """
    match = _CAS.fullmatch(registry_number)
    if not match:
        return False
    digits = match[1] + match[2]
    return sum(k * int(c) for k, c in enumerate(reversed(digits), 1)) % 10 == int(match[3])


def smiles_holds(text: str) -> bool:
    """Tell whether a text can be a SMILES string: known signs, brackets and ring bonds closed.

    Examples
    --------
    >>> smiles_holds("OCC(O)CO"), smiles_holds("C1CCCCC"), smiles_holds("C(C")
    (True, False, False)
    """
    if not _SMILES.fullmatch(text):
        return False
    bare = re.sub(r"\[[^]]*\]", "*", text)
    depth = 0
    for sign in bare:
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if depth < 0:
            return False
    rings = re.findall(r"%\d\d|\d", bare)
    return depth == 0 and all(rings.count(ring) % 2 == 0 for ring in set(rings))


def lint(seed: Seed) -> list[Problem]:
    """Return every problem of the seed text, in file order."""
    problems = list(seed.problems)
    known = {table.name: {row[table.key[0]] for row in seed.tables[table.name]} for table in TABLES}
    for table in TABLES:
        seen: dict[tuple[str, ...], Row] = {}
        for row in seed.tables[table.name]:
            for column in table.columns:
                problems.extend(_cell_problems(row, column, known))
            key = tuple(row[name] for name in table.key)
            if table.name == "facts":
                key = (row["property"], *key)
            if key in seen:
                first = seen[key]
                problems.append(
                    Problem(
                        row.file,
                        row.line,
                        "",
                        " / ".join(key),
                        f"it once; it stands at {first.file}:{first.line} already",
                    )
                )
            seen.setdefault(key, row)
    problems.extend(_evidence_problems(seed))
    problems.extend(_fact_problems(seed))
    problems.extend(_range_problems(seed))
    problems.extend(_structure_problems(seed))
    problems.extend(fatty_acid_problems(seed))
    problems.extend(_material_problems(seed, known))
    problems.extend(_role_problems(seed, known))
    problems.extend(_name_problems(seed))
    problems.extend(_edge_problems(seed, known))
    for name, text in seed.policies.items():
        problems.extend(policy_problems(name, text, known["materials"]))
    for name, text in seed.formulas.items():
        file = f"formulas/{name}.toml"
        try:
            parse_formula(text, file)
        except FormulaError as error:
            line = error.where.removeprefix(f"{file}:")
            number = int(line) if line.isdecimal() else 0
            problems.append(Problem(file, number, "", error.message, error.fix))
    return sorted(problems, key=lambda p: (p.file, p.line, p.column))


def _cell_problems(row: Row, column: Column, known: dict[str, set[str]]) -> list[Problem]:
    text = row[column.name]

    def fault(wanted: str) -> list[Problem]:
        return [Problem(row.file, row.line, column.name, text, wanted)]

    if not text:
        return fault("something here") if column.required else []
    if text != text.strip() or "\n" in text or "  " in text:
        return fault("no stray spaces or line breaks")
    if _SMART.search(text):
        return fault("plain quotes and spaces")
    if column.kind == "number":
        return _number_problems(text, column, fault)
    if column.kind == "id" and not _ID.fullmatch(text):
        return fault("lower-case words joined by hyphens")
    if column.kind == "choice" and text not in column.choices:
        return fault("one of " + ", ".join(column.choices))
    if column.kind == "words":
        unknown = [word for word in text.split() if word not in column.choices]
        return fault("known tags, not " + ", ".join(unknown)) if unknown else []
    if column.kind == "cas":
        if _DATE.fullmatch(text):
            return fault("a registry number, not a date (a spreadsheet changed it)")
        if not check_digit_holds(text):
            return fault("a registry number whose check digit is right")
    if column.kind == "ref" and text not in known[column.refers_to]:
        return fault(f"an id that stands in {BY_NAME[column.refers_to].path}")
    return []


def _number_problems(
    text: str, column: Column, fault: Callable[[str], list[Problem]]
) -> list[Problem]:
    if _DATE.fullmatch(text):
        return fault("a number, not a date (a spreadsheet changed it)")
    if re.fullmatch(r"-?\d+,\d+", text):
        return fault("a decimal point")
    if not _NUMBER.fullmatch(text):
        return fault("a plain number such as 12.5")
    number = float(text)
    if column.low is not None and number < column.low:
        return fault(f"at least {column.low:g}")
    if column.high is not None and number > column.high:
        return fault(f"at most {column.high:g}")
    return []


def _evidence_problems(seed: Seed) -> list[Problem]:
    problems = []
    for table in TABLES:
        if "evidence" not in table.header:
            continue
        for row in seed.tables[table.name]:
            practice = row["evidence"] == "common practice"
            if not row["source"] and not practice:
                problems.append(Problem(row.file, row.line, "source", "", "the id of a source"))
            if row["source"] and practice:
                problems.append(
                    Problem(row.file, row.line, "source", row["source"], "no source here")
                )
    return problems


def _fact_problems(seed: Seed) -> list[Problem]:
    properties = {row["property"]: row for row in seed.tables["properties"]}
    problems = []
    for row in seed.tables["facts"]:
        about = properties.get(row["property"])
        if about is None:
            continue
        file = row.file.removeprefix("facts/").removesuffix(".csv")
        if file != row["property"]:
            problems.append(
                Problem(row.file, row.line, "property", row["property"], f"only {file} here")
            )
        if row["unit"] != about["unit"]:
            problems.append(Problem(row.file, row.line, "unit", row["unit"], about["unit"]))
        numbers = {}
        for column in ("value", "low", "high"):
            if _NUMBER.fullmatch(row[column]):
                numbers[column] = number = float(row[column])
                lowest, highest = _bound(about["low"], -math.inf), _bound(about["high"], math.inf)
                if not lowest <= number <= highest:
                    wanted = f"{about['low']} to {about['high']} {about['unit']}"
                    problems.append(Problem(row.file, row.line, column, row[column], wanted))
        if not numbers:
            problems.append(Problem(row.file, row.line, "value", "", "a value or a range"))
        ordered = [numbers[c] for c in ("low", "value", "high") if c in numbers]
        if ordered != sorted(ordered):
            read = " / ".join(row[c] for c in ("low", "value", "high"))
            problems.append(Problem(row.file, row.line, "value", read, "low <= value <= high"))
    return problems


def _bound(text: str, otherwise: float) -> float:
    return float(text) if _NUMBER.fullmatch(text) else otherwise


def _range_problems(seed: Seed) -> list[Problem]:
    """Find ranges that run backwards; facts have a rule of their own."""
    problems = []
    for table in TABLES:
        for low, high in (("low", "high"), ("ph_low", "ph_high")):
            if table.name == "facts" or not {low, high} <= set(table.header):
                continue
            for row in seed.tables[table.name]:
                if _bound(row[low], -math.inf) > _bound(row[high], math.inf):
                    read = f"{row[low]} / {row[high]}"
                    problems.append(Problem(row.file, row.line, low, read, f"{low} <= {high}"))
    return problems


def _structure_problems(seed: Seed) -> list[Problem]:
    """Find structures that are no SMILES: strange signs, brackets or ring bonds left open."""
    return [
        Problem(row.file, row.line, "smiles", row["smiles"], "a SMILES string, such as OCC(O)CO")
        for row in seed.tables["structures"]
        if row["smiles"] and not smiles_holds(row["smiles"])
    ]


def _material_problems(seed: Seed, known: dict[str, set[str]]) -> list[Problem]:
    playing = {row["material"] for row in seed.tables["plays"]}
    problems = []
    for row in seed.tables["materials"]:
        material = row["material"]
        generic = material.split("--")[0]
        if generic not in known["materials"]:
            problems.append(Problem(row.file, row.line, "material", material, f"{generic} as well"))
        if ("--" in material) != bool(row["grade"]):
            problems.append(
                Problem(row.file, row.line, "grade", row["grade"], "a grade with -- in the id only")
            )
        if generic not in playing and material not in playing:
            problems.append(Problem(row.file, row.line, "material", material, "a role in plays/"))
    return problems


def _role_problems(seed: Seed, known: dict[str, set[str]]) -> list[Problem]:
    parents: dict[str, set[str]] = defaultdict(set)
    lines: dict[str, Row] = {}
    labels: dict[str, str] = {}
    problems = []
    for row in seed.tables["roles"]:
        lines.setdefault(row["role"], row)
        if row["parent"]:
            parents[row["role"]].add(row["parent"])
        if labels.setdefault(row["role"], row["label"]) != row["label"]:
            problems.append(Problem(row.file, row.line, "label", row["label"], "one label a role"))
        if row["role"] in known["materials"]:
            problems.append(
                Problem(row.file, row.line, "role", row["role"], "a role, not an ingredient")
            )
    for role in sorted(parents):
        above, frontier = set(), set(parents[role])
        while frontier:
            above |= frontier
            frontier = {p for f in frontier for p in parents.get(f, set())} - above
        if role in above:
            row = lines[role]
            problems.append(Problem(row.file, row.line, "parent", role, "no cycle of roles"))
    return problems


def _name_problems(seed: Seed) -> list[Problem]:
    owners: dict[str, tuple[str, Row]] = {}
    inci: dict[str, str] = {}
    for row in seed.tables["materials"]:
        inci.setdefault(normalise(row["inci"]), row["material"].split("--")[0])
    problems = []
    for row in seed.tables["names"]:
        key = normalise(row["name"])
        if not key:
            wanted = "a name with Latin letters or digits"
            problems.append(Problem(row.file, row.line, "name", row["name"], wanted))
            continue
        generic = row["material"].split("--")[0]
        other = inci.get(key, generic)
        if other != generic:
            wanted = f"one material a name; it is the INCI name of {other}"
            problems.append(Problem(row.file, row.line, "name", row["name"], wanted))
        if key in owners and owners[key][0] != row["material"]:
            other, first = owners[key]
            problems.append(
                Problem(
                    row.file,
                    row.line,
                    "name",
                    row["name"],
                    f"one material a name; line {first.line} gives it to {other}",
                )
            )
        owners.setdefault(key, (row["material"], row))
    return problems


def _edge_problems(seed: Seed, known: dict[str, set[str]]) -> list[Problem]:
    allowed = {
        "material": known["materials"],
        "role": known["roles"],
        "tag": set(TAGS),
        "charge": {"nonionic", "anionic", "cationic", "amphoteric"},
        "system": set(SYSTEMS),
    }
    problems = []
    for row in seed.tables["edges"]:
        for column in ("subject", "object"):
            kind, _, word = row[column].partition(":")
            if kind not in _TYPED or word not in allowed[kind]:
                wanted = "material:, role:, tag:, charge: or system: and a known word"
                problems.append(Problem(row.file, row.line, column, row[column], wanted))
    return problems
