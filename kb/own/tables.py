"""What the user's file holds: tables, columns, keys, and the seed tables they match."""

from __future__ import annotations

from dataclasses import dataclass

from kb.store.tables import BY_NAME


@dataclass(frozen=True, slots=True)
class OwnTable:
    """One table of the user's file; ``seed`` is the seed table of the same shape, if any."""

    name: str
    columns: tuple[str, ...]
    key: tuple[str, ...]
    seed: str = ""
    numbers: tuple[str, ...] = ()


def _like(name: str, seed: str, key: tuple[str, ...]) -> OwnTable:
    return OwnTable(name, tuple(BY_NAME[seed].header), key, seed)


TABLES: tuple[OwnTable, ...] = (
    _like("source", "sources", ("source",)),
    _like("material", "materials", ("material",)),
    _like("name", "names", ("name", "material")),
    _like("composition", "compositions", ("material", "part")),
    _like("play", "plays", ("material", "role")),
    _like("fact", "facts", ("material", "property", "temperature_c", "conditions")),
    _like("edge", "edges", ("subject", "object", "system", "mechanism")),
    _like(
        "limit_rule",
        "limits",
        ("jurisdiction", "material", "kind", "applies", "basis", "section", "low", "high"),
    ),
    OwnTable(
        "shelf",
        ("name", "lot", "stock_g", "price", "pack_g", "currency", "supplier", "expiry"),
        ("name", "lot"),
        numbers=("stock_g", "price", "pack_g"),
    ),
    OwnTable(
        "measurement",
        (
            *("id", "formula", "name", "date", "quantity", "value", "instrument"),
            *("spindle", "speed", "age_h", "temperature_c", "note", "recipe"),
        ),
        ("id",),
        numbers=("value", "age_h", "temperature_c"),
    ),
)
OWN_TABLES = {table.name: table for table in TABLES}
OF_SEED = {table.seed: table.name for table in TABLES if table.seed}
