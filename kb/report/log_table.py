"""The log of measurements as a table for a statistics program: one measurement a row."""

from __future__ import annotations

from typing import Any

from kb.engine.opening import Opened
from kb.own.measured import QUANTITIES

HEAD = (
    *("date", "formula", "name", "quantity", "value", "unit", "instrument", "spindle", "speed"),
    *("age_h", "temperature_c", "note", "predicted_25c_10_per_s", "composition_percent"),
)
Cell = str | float | None


def log_rows(
    rows: list[dict[str, Any]], recipes: dict[str, tuple[Opened, float | None]]
) -> list[list[Cell]]:
    """Return heading and rows, oldest first.

    Parameters
    ----------
    rows : list of dict
        The log.
    recipes : dict
        Formula as opened and its consistency by the model alone, mPa.s, by key, where kept.
    """
    table: list[list[Cell]] = [list(HEAD)]
    for row in sorted(rows, key=lambda r: (r["date"], r["quantity"], r["id"])):
        opened, predicted = recipes.get(row["formula"], (None, None))
        held = opened.batch.by_material() if opened is not None else {}
        parts = "; ".join(f"{material} {percent:.6g}" for material, percent in held.items())
        table.append(
            [
                *(row["date"], row["formula"][:12], row["name"], row["quantity"], row["value"]),
                QUANTITIES.get(row["quantity"], ("",))[0],
                *(row["instrument"], row["spindle"], row["speed"], row["age_h"]),
                *(row["temperature_c"], row["note"]),
                predicted if row["quantity"] == "consistency" else None,
                parts,
            ]
        )
    return table
