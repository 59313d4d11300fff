"""From seed rows to the records a snapshot is made of, working values included."""

from __future__ import annotations

from collections import defaultdict

from kb.science.viscosity import FAMILY_SLOPE
from kb.store.best import Best, Fact, best_facts, viscosity_slope
from kb.store.records import Crystal, Edge, Limit, Material, Part, Play, Records
from kb.store.seed import Row, Seed

#: Roles whose family gives the viscosity slope when a material has no two temperatures.
_FAMILIES = (
    ("fixed-oil", "triglyceride"),
    ("nonpolar-oil", "hydrocarbon"),
    ("ester-emollient", "light ester"),
    ("branched-fatty-alcohol", "liquid fatty alcohol"),
    ("polyol-humectant", "glycol"),
)

#: Polydimethylsiloxanes thin least with warmth; assumption between 1.5 and 2.5.
_SILICONE_SLOPE = 2.0
_OTHER_SLOPE = 3.6


def records_of(seed: Seed) -> Records:
    """Return the entered rows as records; roles and working values come later."""
    t = seed.tables

    def grouped(table: str) -> dict[str, list[Row]]:
        groups: dict[str, list[Row]] = defaultdict(list)
        for row in sorted(t[table], key=lambda r: tuple(r.cells.values())):
            groups[row["material"]].append(row)
        return groups

    def number(text: str) -> float | None:
        return float(text) if text else None

    return Records(
        materials=[
            Material(
                r["material"],
                r["inci"],
                r["grade"],
                r["cas"],
                r["origin"],
                r["form"],
                r["charge"],
                r["phase"],
                frozenset(r["tags"].split()),
                r["note"],
            )
            for r in sorted(t["materials"], key=lambda r: r["material"])
        ],
        names=sorted((r["name"], r["material"], r["kind"]) for r in t["names"]),
        plays={
            m: tuple(
                Play(
                    r["role"],
                    number(r["low"]),
                    number(r["high"]),
                    float(r["strength"] or 1.0),
                    r["source"],
                    r["evidence"],
                )
                for r in rows
            )
            for m, rows in grouped("plays").items()
        },
        crystals={
            m: tuple(
                Crystal(
                    r["component"],
                    float(r["share"]),
                    float(r["molar_mass"]),
                    float(r["melting_point"]),
                    float(r["fusion_enthalpy"]),
                    r["association"],
                    float(r["activity"] or 1.0),
                )
                for r in rows
            )
            for m, rows in grouped("crystals").items()
        },
        parts={
            m: tuple(
                Part(r["part"], float(r["low"] or 0), float(r["high"] or 0), r["purpose"])
                for r in rows
            )
            for m, rows in grouped("compositions").items()
        },
        limits={
            m: tuple(
                Limit(
                    r["jurisdiction"],
                    r["kind"],
                    number(r["low"]),
                    number(r["high"]),
                    r["unit"],
                    r["applies"],
                    r["basis"],
                    r["section"],
                    r["date_read"],
                    r["source"],
                    r["evidence"],
                    r["note"],
                )
                for r in rows
            )
            for m, rows in grouped("limits").items()
        },
        edges=[
            Edge(
                r["subject"],
                r["object"],
                r["verdict"],
                r["rule"],
                r["system"],
                float(r["subject_min"] or 0.0),
                float(r["object_min"] or 0.0),
                float(r["ph_low"] or 0.0),
                float(r["ph_high"] or 14.0),
                r["mechanism"],
                r["source"],
                r["evidence"],
            )
            for r in sorted(t["edges"], key=lambda r: tuple(r.cells.values()))
        ],
        policies=dict(sorted(seed.policies.items())),
        sources={r["source"]: r["citation"] for r in t["sources"]},
        units={r["property"]: r["unit"] for r in t["properties"]},
    )


def best_of(seed: Seed, records: Records) -> dict[tuple[str, str], Best]:
    """Return the working value of each material and property, slopes of viscosity included."""

    def number(text: str) -> float | None:
        return float(text) if text else None

    ordered = sorted(seed.tables["facts"], key=lambda r: tuple(r.cells.values()))
    facts = [
        Fact(
            n,
            r["material"],
            r["property"],
            number(r["value"]),
            number(r["low"]),
            number(r["high"]),
            number(r["temperature_c"]),
            r["source"],
            r["evidence"],
            r["conditions"],
        )
        for n, r in enumerate(ordered, 1)
    ]
    properties = {
        r["property"]: (
            r["tolerance_kind"],
            float(r["tolerance"]),
            number(r["low"]),
            number(r["high"]),
        )
        for r in seed.tables["properties"]
    }
    liquid: dict[str, list[Fact]] = defaultdict(list)
    for fact in facts:
        if fact.name == "viscosity":
            liquid[fact.material].append(fact)
    slopes = {m: viscosity_slope(group, _family_slope(m, records)) for m, group in liquid.items()}
    best = best_facts(facts, properties, slopes)
    for material, slope in slopes.items():
        own = len({f.temperature_c for f in liquid[material]}) > 1
        spread = 0.05 if own else 0.12
        best[material, "viscosity_slope"] = Best(
            round(slope, 4),
            round(slope * (1 - spread), 4),
            round(slope * (1 + spread), 4),
            "derived",
            "",
            0,
        )
    return best


def _family_slope(material: str, records: Records) -> float:
    plays = records.plays.get(material) or records.plays.get(material.split("--")[0], ())
    if material.startswith("ricinus"):
        return FAMILY_SLOPE["hydroxy triglyceride"][0]
    if any("silicone-slip-fluid" in records.roles[p.role].ancestors for p in plays):
        return _SILICONE_SLOPE
    for role, family in _FAMILIES:
        if any(role in records.roles[p.role].ancestors for p in plays):
            return FAMILY_SLOPE[family][0]
    return _OTHER_SLOPE
