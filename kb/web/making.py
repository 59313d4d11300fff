"""Around the making: the sheet of a batch, what batches gave, two versions beside each other."""

from __future__ import annotations

import datetime
import math
from dataclasses import replace

from kb.engine.accepting import VERSION_KEYS, key_of
from kb.engine.anchoring import process_of
from kb.engine.comparing import compare
from kb.engine.findings import find_all
from kb.engine.opening import Opened, open_formula
from kb.engine.profile import make_profile
from kb.engine.sheet import make_sheet
from kb.engine.stock import held, money_of
from kb.engine.swap import DRAWS
from kb.errors import UsageError
from kb.formula.clean import one_line
from kb.formula.numbers import number_in
from kb.formula.writing import to_toml
from kb.own.measured import QUANTITIES, hours_in, log, logged
from kb.own.shelf import grams_in, usable
from kb.report.making import compare_tree, measured_tree
from kb.report.money import money_lines, money_tree
from kb.report.sheet import label_rule, label_text, sheet_tree
from kb.report.sheet_book import sheet_workbook
from kb.report.tree import Tree
from kb.web.answer import FILE_TYPES, Answer, Asked
from kb.web.bench import Work, check, form_context, place
from kb.web.desk import Desk
from kb.web.fields import Fields
from kb.web.sheet import Sheet
from kb.web.taking import file_stem, opened_work

BATCH = "1 kg"
_HOW = ("instrument", "spindle", "speed", "note")
_LONGEST = 200


def _moved(path: str, work: Work, asked: Asked, **more: object) -> Answer | None:
    """Return the way to the address of what a form brought, where it fits one."""
    if work.changed and not asked.as_json:
        target = place(path, work.sheet, **more)
        if target:
            return Answer(place=target)
    return None


def sheet(desk: Desk, asked: Asked) -> Answer:
    """Return the sheet a batch is made by: grams, steps, checks."""
    work = opened_work(asked.fields)
    batch = asked.fields.get("batch").strip() or BATCH
    balance = asked.fields.get("balance").strip()
    found = _moved("/bench/sheet", work, asked, batch=batch, balance=balance)
    if found is not None:
        return found
    grams = _mass(batch, "batch")
    step = _mass(balance, "balance") if balance else None
    if step is not None and step > grams / 10.0:
        raise UsageError(
            "The balance is too coarse for this batch.", "balance", "Name a finer one."
        )
    checked = check(desk, work.sheet)
    opened, profile = checked.opened, checked.profile
    findings = find_all(opened.formula, opened.answers, profile, desk.base)
    made = make_sheet(opened, profile, desk.base, grams, step)
    tree = sheet_tree(opened, made, profile.system, findings, desk.base)
    tree["money"] = _money(desk, opened, made.batch_g)
    if asked.fields.get("as") == "xlsx":
        name = f"{file_stem(opened.formula.name)}-batch.xlsx"
        return Answer(file=sheet_workbook(tree), file_name=name, kind=FILE_TYPES["xlsx"])
    places = next((n for n in range(4) if round(made.readable_g, n) == made.readable_g), 3)
    context = {
        **form_context(work.sheet, asked),
        "tree": tree,
        "batch": batch,
        "balance": balance,
        "grams": [f"{line['grams']:,.{places}f}" for line in tree["lines"]],
        "money": money_lines(tree["money"]) if tree["money"] else [],
        "label": label_text(tree),
        "label_rule": label_rule(tree),
    }
    return Answer(tree, "batch.html", context)


def _money(desk: Desk, opened: Opened, batch_g: float) -> Tree | None:
    """Return what the batch costs and takes from the user's shelf, if there is one."""
    stock = usable(desk.content["shelf"], datetime.date.today())
    names = dict.fromkeys([*stock.names, *stock.grams])
    found = {name: m.material for name in names if (m := desk.base.names.resolve(name).match)}
    if not found:
        return None
    taken = money_of(held(stock, found), opened.batch.by_material(), batch_g)
    return money_tree(taken, desk.base)


def _mass(text: str, where: str) -> float:
    grams = grams_in(text)
    if grams is None or not 0.001 <= grams <= 1e7:
        raise UsageError(f"{text[:40]!r} is no mass.", where, "Write for example 2.5 kg or 500 g.")
    return grams


def measured(desk: Desk, asked: Asked) -> Answer:
    """Return what batches of a formula gave, beside what is predicted, and a form for more."""
    work = opened_work(asked.fields)
    found = _moved("/bench/measured", work, asked)
    if found is not None:
        return found
    opened = open_formula(work.sheet.formula, desk.base)
    # What was measured stands beside the model alone, not beside what it has anchored itself.
    alone = make_profile(opened.batch, desk.base, DRAWS)
    process = process_of(logged(desk.own), desk.base)
    tree = measured_tree(logged(desk.own, key_of(opened)), alone, process)
    context = {
        **form_context(work.sheet, asked),
        "tree": tree,
        "form_token": asked.token,
        "name": opened.formula.name,
        "quantities": QUANTITIES,
        "path": str(desk.own),
    }
    return Answer(tree, "measured.html", context)


def keep(desk: Desk, asked: Asked) -> Answer:
    """Keep what a batch gave in the user's file."""
    fields = asked.fields
    work = opened_work(fields)
    opened = open_formula(work.sheet.formula, desk.base)
    values = {q: v for q in QUANTITIES if (v := _number(fields, q, QUANTITIES[q][0])) is not None}
    age = fields.get("age").strip()
    how = {
        **{name: one_line(fields.get(name))[:_LONGEST] for name in _HOW},
        "age_h": hours_in(age) if age else None,
        "temperature_c": _number(fields, "temperature", "°C"),
    }
    formula = opened.formula
    recipe = to_toml(replace(formula, measured={}, versions=(), note=""))
    date = fields.get("date").strip()
    log(desk.own, key_of(opened), formula.name, values, how, date, recipe)
    return Answer(place=place("/bench/measured", work.sheet) or "/own#measured")


def _number(fields: Fields, name: str, unit: str) -> float | None:
    text = fields.get(name).strip()
    if not text:
        return None
    value = number_in(text)
    if math.isnan(value):
        raise UsageError(
            f"{text[:40]!r} is no number.", name, f"Write the figure alone, in {unit}."
        )
    return value


def compare_versions(desk: Desk, asked: Asked) -> Answer:
    """Return two versions of a formula, line by line and figure by figure."""
    present = opened_work(asked.fields).sheet
    if not present.past:
        raise UsageError(
            "There is only one version of this formula.", "", "Change a line first, then compare."
        )
    wanted = asked.fields.number("version") or len(present.past)
    if not 1 <= wanted <= len(present.past):
        raise UsageError(f"There is no version {wanted}.", "version", "Choose one from the list.")
    step = present.past[wanted - 1]
    before, after = check(desk, Sheet(step.text, step.origin)), check(desk, present)
    both = (before.opened, after.opened, before.profile, after.profile)
    tree = compare_tree(compare(*both, desk.base), (f"version {wanted}", "now"))
    tree["versions"] = [
        {key: str(version[key]) for key in VERSION_KEYS if key in version}
        for version in after.opened.formula.versions
    ]
    costs = [_money(desk, one.opened, 1000.0) for one in (before, after)]
    tree["cost_per_kg"] = None if None in costs else {"before": costs[0], "after": costs[1]}
    context = {
        **form_context(present, asked),
        "tree": tree,
        "steps": [s.what for s in present.past[wanted - 1 :]],
        "past": list(enumerate(present.past, 1)),
        "wanted": wanted,
    }
    return Answer(tree, "compare.html", context)
