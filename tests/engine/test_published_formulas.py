"""Formulas as printed in pharmacopoeias and journals: is the type told, and every figure given?"""

import math

import pytest

from kb.engine.findings import judge

from .bench import formula, profile_of, read_table, rules

#: What the sources call a kind of product, where our word differs.
OUR_WORD = {"aqueous gel": "water gel"}
#: Types the sources leave open, or that are no type of ours: any answer is right.
OPEN = {"unstated", "amphiphilic"}

ROWS: dict[str, list[dict[str, str]]] = {}
for _row in read_table("published_formulas.csv"):
    ROWS.setdefault(_row["formula"], []).append(_row)


def published(name):
    """The formula as printed; its type is left out, so that it has to be told."""
    return formula(*((r["ingredient"], float(r["percent"]), r["phase"]) for r in ROWS[name]))


def type_of(name):
    stated = ROWS[name][0]["emulsion_type"]
    return OUR_WORD.get(stated, stated)


TYPED = [name for name in ROWS if type_of(name) not in OPEN]


@pytest.fixture(scope="module")
def profiles(base):
    return {name: profile_of(published(name), base) for name in ROWS}


@pytest.mark.parametrize("name", TYPED)
def test_the_type_is_told_as_published(name, profiles):
    kind = profiles[name].inferred
    assert kind.because, "a type is told with its reasons"
    assert kind.system == type_of(name), "; ".join(kind.because)


def test_the_share_of_types_told_right_is_what_we_promise(profiles):
    right = {name: profiles[name].inferred.system == type_of(name) for name in TYPED}

    def share(kind):
        told = [right[name] for name in TYPED if type_of(name) == kind]
        assert len(told) >= 10
        return sum(told) / len(told)

    print(f"\n{sum(right.values())} of {len(right)} published types told right")
    assert len(right) >= 60
    assert sum(right.values()) / len(right) >= 0.95
    assert share("w/o") >= 0.90
    assert share("o/w") >= 0.90


@pytest.mark.parametrize("name", ROWS)
def test_every_name_is_known_for_certain(name, base):
    for row in ROWS[name]:
        answer = base.names.resolve(row["ingredient"])
        assert answer.match is not None, row["ingredient"]
        assert answer.match.by in {"id", "inci", "synonym", "registry"}, row["ingredient"]


@pytest.mark.parametrize("name", ROWS)
def test_a_printed_formula_adds_up(name):
    assert sum(float(row["percent"]) for row in ROWS[name]) == pytest.approx(100.0, abs=0.06)


@pytest.mark.parametrize("name", ROWS)
def test_every_figure_is_finite_or_says_what_is_missing(name, profiles):
    for quantity in profiles[name].quantities.values():
        if quantity.name == "feel" and quantity.detail:
            values = [attribute["value"] for attribute in quantity.detail.values()]
        elif quantity.value is None:
            held = (quantity.detail or {}).get("state") == "held"
            assert held or quantity.limited_by, f"{quantity.name} is empty without a reason"
            values = []
        else:
            values = [quantity.value, quantity.low, quantity.high]
            assert quantity.method, quantity.name
        assert all(math.isfinite(value) for value in values), quantity.name


@pytest.mark.parametrize("name", ROWS)
def test_shares_and_solids_stay_within_their_bounds(name, profiles):
    values = {n: q.value for n, q in profiles[name].quantities.items() if q.value is not None}
    for quantity in ("solids_10c", "solids_25c", "solids_40c"):
        assert 0.0 <= values.get(quantity, 0.0) <= 100.0
    if "solids_10c" in values:
        assert values["solids_10c"] >= values["solids_25c"] >= values["solids_40c"]
    for quantity in ("dispersed_fraction", "natural_origin", "water_activity"):
        assert 0.0 <= values.get(quantity, 0.5) <= 1.0
    assert 0.5 < values["density"] < 3.0
    if "consistency_25c" in values:
        assert values["consistency_25c"] > 0.1
        assert values["climate_drift_10_over_40"] > 0.5


#: Formulas their own sources call failing or weak, and which warnings would have been right.
FAILING = {
    "O/W lotion base plus 10 % magnesium sulfate (FAILS)": {"electrolyte-break", "level-high"},
    "Water-in-oleogel carnauba wax 2.5 % in oil, 40 % water": {"emulsifier-missing"},
    "High-water W/O cream with polyglyceryl-3 diisostearate (LOSES VISCOSITY)": {
        "emulsifier-low",
        "water-capacity",
        "salt-low",
    },
}


def test_every_formula_noted_as_failing_is_looked_at():
    noted = {n for n, rows in ROWS.items() if any("FAILING" in r["note"] for r in rows)}
    assert noted == set(FAILING)


@pytest.mark.parametrize("name", FAILING)
def test_a_formula_that_failed_draws_the_right_warning(name, profiles, base):
    found = judge(profiles[name], base)
    assert rules(found, "problem", "caution") & FAILING[name], [f.rule for f in found]


def test_a_sound_cream_with_as_little_salt_as_the_pharmacopoeia_gives_is_left_alone(profiles, base):
    sound = judge(profiles["Hydrophobic base cream DAC/NRF"], base)
    assert "salt-low" not in rules(sound, "problem", "caution")


def test_the_salt_is_what_is_wrong_with_the_lotion_that_parted(profiles, base):
    sound, parted = (
        rules(judge(profiles[name], base), "problem", "caution")
        for name in (
            "O/W lotion base with nonionic wax (forum 2019)",
            "O/W lotion base plus 10 % magnesium sulfate (FAILS)",
        )
    )
    assert parted - sound & FAILING["O/W lotion base plus 10 % magnesium sulfate (FAILS)"]
