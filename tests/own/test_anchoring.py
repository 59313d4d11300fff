"""Predictions anchored to the user's measurements: nearer, narrower, and said."""

import csv
import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from kb.engine.accepting import key_of, next_version
from kb.engine.anchoring import (
    NAME,
    Experience,
    anchor_profile,
    anchor_swaps,
    experience,
    process_of,
    recipes_of,
)
from kb.engine.batch import Batch, Item
from kb.engine.opening import Opened, open_formula
from kb.engine.profile import consistency_at, consistency_at_25, make_profile
from kb.engine.readings import Converted, Reading, convert, reading_of_file
from kb.engine.swap import DRAWS, swap
from kb.formula.reading import parse_formula
from kb.formula.workbook_out import table_csv
from kb.formula.writing import to_toml
from kb.own.measured import log, logged
from kb.report.log_table import HEAD, log_rows
from kb.store.seed import seed_folder
from kb.store.snapshot import Snapshot

FORMULAS = seed_folder() / "formulas"


def opened(name: str, base: Snapshot) -> Opened:
    return open_formula(parse_formula((FORMULAS / f"{name}.toml").read_text("utf-8")), base)


def keep(own: Path, found: Opened, value: float, date: str = "2026-01-31", **how: Any) -> None:
    log(own, key_of(found), "x", {"consistency": value}, how, date, to_toml(found.formula))


def width(low: float | None, high: float | None) -> float:
    assert low and high
    return math.log(high / low)


def test_with_one_measurement_the_next_swap_is_stated_narrower(own: Path, base: Snapshot) -> None:
    cream = opened("winter-hand-cream", base)
    plain = swap(cream.batch, 6, base, top=3)
    keep(own, cream, 42_000.0, speed="10 1/s", age_h=24.0, temperature_c=25.0)
    anchored = swap(cream.batch, 6, base, top=3)
    anchor_swaps(anchored, experience(cream, base, logged(own)), base, DRAWS)
    assert anchored.before.value(NAME) == pytest.approx(42_000.0)
    for before, after in zip(plain.swaps, anchored.swaps, strict=True):
        had, has = before.after.quantities[NAME], after.after.quantities[NAME]
        assert width(has.low, has.high) < width(had.low, had.high)
        change = after.effects[NAME]
        # The change itself is the model's; only where it starts from is measured.
        assert change.value == before.effects[NAME].value
        assert change.low == before.effects[NAME].low
        assert change.after == pytest.approx(42_000.0 * (change.value or 0.0))


def test_of_the_formula_itself_the_measurement_is_the_prediction(own: Path, base: Snapshot) -> None:
    cream = opened("winter-hand-cream", base)
    keep(own, cream, 40_000.0, temperature_c=25.0)
    one = experience(cream, base, logged(own)).anchor
    keep(own, cream, 44_000.0, temperature_c=25.0)
    two = experience(cream, base, logged(own)).anchor
    assert one and two
    assert one.value == pytest.approx(40_000.0)
    assert two.value == pytest.approx(math.sqrt(40_000.0 * 44_000.0))
    assert two.spread < one.spread
    profile = make_profile(cream.batch, base, DRAWS)
    anchor_profile(profile, experience(cream, base, logged(own)), base)
    figure = profile.quantities[NAME]
    assert figure.value == pytest.approx(two.value)
    assert figure.detail and "2026-01-31" in str(figure.detail["used"])


def test_the_factor_of_other_formulas_is_shrunk_narrows_and_can_be_left_out(
    own: Path, base: Snapshot
) -> None:
    cream, lotion = opened("winter-hand-cream", base), opened("oyster-barrier", base)
    predicted = consistency_at_25(cream.batch, base)
    assert predicted
    keep(own, cream, 3.0 * predicted, speed="10 1/s")
    found = experience(lotion, base, logged(own))
    assert found.anchor is None and found.process is not None
    assert 1.0 < found.process.factor < 3.0
    assert found.process.formulas == 1
    plain = make_profile(lotion.batch, base, DRAWS)
    with_factor = make_profile(lotion.batch, base, DRAWS)
    anchor_profile(with_factor, found, base)
    old, new = plain.quantities[NAME], with_factor.quantities[NAME]
    assert new.value == pytest.approx((old.value or 0.0) * found.process.factor)
    assert width(new.low, new.high) < width(old.low, old.high)
    anchor_profile(plain, Experience(), base)
    assert plain.quantities[NAME] is old


def test_a_formula_does_not_teach_its_own_factor(own: Path, base: Snapshot) -> None:
    cream = opened("winter-hand-cream", base)
    keep(own, cream, 42_000.0)
    assert experience(cream, base, logged(own)).process is None
    assert process_of(logged(own), base) is not None


def test_a_new_version_is_anchored_to_the_one_before(own: Path, base: Snapshot) -> None:
    cream = opened("winter-hand-cream", base)
    keep(own, cream, 42_000.0, speed="10 1/s")
    lines = [replace(x, percent=4.0) if x.given == "Beeswax" else x for x in cream.formula.lines]
    formula = parse_formula(to_toml(next_version(cream, lines, "more wax", "firmer")))
    after = open_formula(formula, base)
    assert after.formula.versions[-1]["key"] == key_of(cream)[:12]
    profile = make_profile(after.batch, base, DRAWS)
    model = profile.quantities[NAME]
    anchor_profile(profile, experience(after, base, logged(own)), base)
    figure = profile.quantities[NAME]
    ratio = (model.value or 0.0) / (consistency_at_25(cream.batch, base) or 1.0)
    assert ratio > 1.05
    assert figure.value == pytest.approx(42_000.0 * ratio)
    assert width(figure.low, figure.high) < width(model.low, model.high)
    assert figure.detail and figure.detail["of_version"] is True


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (Reading(1e4, age_h=0.5), "had not set"),
        (Reading(1e4, age_h=24.0 * 90), "aged"),
        (Reading(1e4, temperature_c=4.0), "outside 10 to 40"),
        (Reading(1e4, temperature_c=60.0), "outside 10 to 40"),
        (Reading(1e4, rate=1000.0), "outside 1 to 100"),
    ],
)
def test_what_the_model_cannot_convert_is_not_used_and_said(
    base: Snapshot, reading: Reading, said: str
) -> None:
    found = convert(reading, opened("winter-hand-cream", base).batch, base)
    assert isinstance(found, str) and said in found


def test_another_temperature_and_rate_are_converted_by_the_model(base: Snapshot) -> None:
    batch = opened("winter-hand-cream", base).batch
    at_35 = consistency_at(batch, base, 35.0, 2.0)
    at_25 = consistency_at_25(batch, base)
    assert at_35 and at_25
    found = convert(Reading(at_35, 35.0, 2.0), batch, base)
    assert isinstance(found, Converted)
    assert found.value == pytest.approx(at_25)
    assert found.spread > 0.0
    assert "35 degC and 2 1/s" in found.said
    further = convert(Reading(at_35, 40.0, 1.0), batch, base)
    assert isinstance(further, Converted) and further.spread > found.spread


def test_turns_of_a_spindle_stay_on_its_own_scale(own: Path, base: Snapshot) -> None:
    cream = opened("winter-hand-cream", base)
    keep(own, cream, 90_000.0, spindle="4", speed="10 rpm", age_h=24.0)
    found = experience(cream, base, logged(own))
    assert found.anchor and "shear rate is not known" in found.anchor.used[0]
    assert process_of(logged(own), base) is None
    keep(own, cream, 42_000.0, speed="10 1/s", age_h=24.0)
    found = experience(cream, base, logged(own))
    assert found.anchor and found.anchor.value == pytest.approx(42_000.0)
    assert "is not used" in " ".join(found.unused)


def test_the_file_may_say_what_was_measured_and_how() -> None:
    assert reading_of_file({"consistency_25c": 42000}) == Reading(
        42000.0, 25.0, None, "", None, "", "formula file"
    )
    found = reading_of_file(
        {"consistency": 42000.5, "temperature_c": 22, "speed": "10 1/s", "age": "2d"}
    )
    assert found and (found.temperature_c, found.rate, found.age_h) == (22.0, 10.0, 48.0)
    for nothing in ({}, {"consistency_25c": "thick"}, {"consistency_25c": True}, {"ph": 5}):
        assert reading_of_file(nothing) is None
    assert reading_of_file({"consistency_25c": -1.0}) is None


def test_the_log_is_a_table_for_science(own: Path, base: Snapshot) -> None:
    cream = opened("winter-hand-cream", base)
    keep(own, cream, 42_000.0, date="2026-02-01", note="=2+2", age_h=24.0)
    keep(own, cream, 43_000.0, date="2026-01-01")
    rows = logged(own)
    text = table_csv(log_rows(rows, recipes_of(rows, base)))
    table = list(csv.DictReader(io.StringIO(text)))
    assert list(table[0]) == list(HEAD)
    assert [row["value"] for row in table] == ["43000", "42000"]
    assert table[1]["note"] == "'=2+2"
    assert "cera-alba 2.5" in table[0]["composition_percent"]
    assert float(table[0]["predicted_25c_10_per_s"]) == pytest.approx(
        consistency_at_25(cream.batch, base), rel=1e-4
    )


def published_changes(base: Snapshot) -> list[tuple[float, float]]:
    """Return the log error of the model alone and of the anchored figure, for each change.

    Measured viscosities of glycols in water (published tables): the level goes up or down by 5 to
    20 points at one temperature; before and after are measured.
    """
    path = Path(__file__).parents[1] / "validation" / "data" / "mixtures.csv"
    solutes = {"Glycerin + water": "glycerin", "Propylene Glycol + water": "propylene-glycol"}
    series: dict[tuple[str, float], list[tuple[float, float]]] = {}
    with path.open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            if row["system"] not in solutes or row["evidence"] != "published":
                continue
            t_c, share = float(row["t_c"]), float(row["share_first"])
            if 10.0 <= t_c <= 40.0 and 0.0 < share < 1.0:
                key = solutes[row["system"]], t_c
                series.setdefault(key, []).append((100.0 * share, float(row["eta"])))
    errors = []
    for (solute, t_c), points in sorted(series.items()):
        for level, eta in points:
            for other, after in points:
                if not 5.0 <= abs(other - level) <= 20.0:
                    continue
                had, has = (
                    consistency_at(
                        Batch((Item(solute, x), Item("aqua", 100.0 - x)), system="water gel"),
                        base,
                        t_c,
                        10.0,
                    )
                    for x in (level, other)
                )
                assert had and has
                errors.append((abs(math.log(has / after)), abs(math.log(eta * has / had / after))))
    return errors


def test_on_published_changes_the_anchored_figure_is_nearer(base: Snapshot) -> None:
    errors = published_changes(base)
    alone, anchored = (sum(e[n] for e in errors) / len(errors) for n in (0, 1))
    nearer = sum(a < m for m, a in errors) / len(errors)
    print(f"{len(errors)} changes, alone x/÷ {math.exp(alone):.2f}", end=", ")
    print(f"anchored {math.exp(anchored):.2f}, nearer in {100 * nearer:.0f} %")
    assert len(errors) > 100
    assert anchored < alone
    assert nearer > 0.5


@pytest.mark.parametrize(
    ("measured", "said"),
    [
        ({"consistancy_25c": 42000}, "did you mean consistency_25c?"),
        ({"consistency_25c": "thick"}, "not a number of mPa.s"),
        ({"consistency_25c": 42000, "age": "old"}, "write for example 24h"),
        ({"consistency": 42000, "temperature_c": 60}, "outside 10 to 40 degC"),
        ({"consistency": 42000, "age": "30min"}, "had not set"),
    ],
)
def test_what_the_file_says_wrongly_is_told_and_the_model_stands(
    base: Snapshot, measured: dict[str, object], said: str
) -> None:
    cream = opened("winter-hand-cream", base)
    cream = replace(cream, formula=replace(cream.formula, measured=measured))
    profile = make_profile(cream.batch, base, DRAWS)
    model = profile.quantities[NAME]
    found = experience(cream, base, [])
    anchor_profile(profile, found, base)
    figure = profile.quantities[NAME]
    assert figure.detail and said in str(figure.detail["unused"])
    if found.anchor is None:
        assert figure.value == model.value
        assert figure.low == model.low
