"""Trees and text of money: what a batch costs, what runs out, when a change has paid."""

from __future__ import annotations

from kb.engine.stock import Money, Taken, Worth
from kb.report.paper import figure
from kb.report.tree import Tree, naming
from kb.report.words import plural
from kb.store.snapshot import Snapshot


def money_tree(money: Money, base: Snapshot) -> Tree:
    """Return what a batch costs and takes from the shelf."""
    return {
        "batch_g": money.batch_g,
        "currency": money.currency,
        "cost": money.cost,
        "unpriced": [naming(m, base) for m in money.unpriced],
        "batches_left": money.batches_left,
        "runs_out": [_taken(t, base) for t in money.runs_out],
    }


def _taken(taken: Taken, base: Snapshot) -> Tree:
    return {
        **naming(taken.material, base),
        "needed_g": taken.needed_g,
        "have_g": taken.have_g,
        "short_g": taken.short_g,
    }


def worth_tree(worth: Worth, base: Snapshot) -> Tree:
    """Return what a stand-in does to the money."""
    return {
        "price_per_kg": {"before": worth.price[0], "after": worth.price[1]},
        "function_per_kg": {"before": worth.function[0], "after": worth.function[1]},
        "saves_per_batch": worth.saves,
        "once": worth.once,
        "break_even_batches": worth.break_even,
        "batch": money_tree(worth.after, base),
    }


def money_lines(money: Tree) -> list[str]:
    """Return sentences on the cost of a batch and what runs out."""
    currency = money["currency"]
    out = []
    if money["cost"] is not None:
        missing = money["unpriced"]
        without = f", without {_names(missing)}, of which no price is known" if missing else ""
        out.append(f"{_sum(money['cost'], currency)} of materials{without}.")
    short = [t for t in money["runs_out"] if t["short_g"] > 0]
    if short:
        wanting = ", ".join(f"{t['inci']} ({figure(t['short_g'], 3)} g are missing)" for t in short)
        out.append(f"The shelf does not give it: {wanting}.")
    elif money["batches_left"] is not None:
        first = _names(money["runs_out"])
        left = plural(money["batches_left"], "batch").replace("batchs", "batches")
        out.append(f"The shelf gives {left}; {first} runs out first.")
    return out


def worth_lines(worth: Tree) -> list[str]:
    """Return sentences on what a stand-in does to the money."""
    currency = worth["batch"]["currency"]
    function, out = worth["function_per_kg"], []
    ends = function["before"], function["after"]
    if ends[1] is not None:
        before = _sum(ends[0], currency) if ends[0] is not None else "not known"
        out.append(f"this function per kg of formula: {before} -> {_sum(ends[1], currency)}")
    saves, once = worth["saves_per_batch"], worth["once"]
    if saves is None:
        out.append("what a batch saves is not known: a price is missing")
    else:
        verb = "saves" if saves >= 0 else "costs more by"
        out.append(f"a batch {verb} {_sum(abs(saves), currency)}")
        if once > 0 and worth["break_even_batches"] is None:
            out.append(f"{_sum(once, currency)} for tests and labels never come back")
        elif once > 0:
            count = worth["break_even_batches"]
            word = "batch" if count == 1 else "batches"
            out.append(f"{_sum(once, currency)} for tests and labels: back after {count:,} {word}")
    return out + [line.rstrip(".") for line in money_lines(worth["batch"])]


def _sum(value: float, currency: str) -> str:
    return f"{value:,.2f} {currency}".rstrip()


def _names(rows: list[Tree]) -> str:
    return ", ".join(row["inci"] for row in rows[:4]) + (" and others" if len(rows) > 4 else "")
