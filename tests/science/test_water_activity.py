import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.salts import pitzer_sodium_chloride
from kb.science.water_activity import (
    MOLAR_MASS_WATER,
    NORRISH_K,
    NORRISH_K_PROPYLENE_GLYCOL,
    electrolyte,
    molality,
    norrish,
    raoult,
    ross,
)

from .sources import case

MOLAR = {
    "glycerin": 92.09,
    "sorbitol": 182.17,
    "xylitol": 152.15,
    "erythritol": 122.12,
    "sucrose": 342.30,
    "glucose": 180.16,
    "urea": 60.06,
    "propylene glycol": 76.09,
    "butylene glycol": 90.12,
}
SODIUM_CHLORIDE = 58.44


def solution(solute, percent):
    return norrish(percent, MOLAR[solute], 100.0 - percent, NORRISH_K[solute])


def brine(percent):
    m = molality(percent, SODIUM_CHLORIDE, 100.0 - percent)
    return electrolyte(m, 2.0, pitzer_sodium_chloride(m))


# concentration, percent by mass, at which a solution has the water activity; ICMSF 1980, memory
SUGARS = [
    ("glucose", 8.9, 0.99), ("glucose", 15.74, 0.98), ("glucose", 28.51, 0.96),
    ("glucose", 37.83, 0.94), ("glucose", 43.72, 0.92), ("glucose", 48.54, 0.90),
    ("glucose", 53.05, 0.88), ("sucrose", 26.07, 0.98), ("sucrose", 39.66, 0.96),
    ("sucrose", 48.22, 0.94), ("sucrose", 54.36, 0.92), ("sucrose", 58.45, 0.90),
    ("sucrose", 62.77, 0.88), ("sucrose", 65.63, 0.86),
]  # fmt: skip
BRINES = [
    (0.88, 0.995), (1.74, 0.99), (3.43, 0.98), (6.57, 0.96), (9.38, 0.94), (11.90, 0.92),
    (14.18, 0.90), (16.28, 0.88), (18.18, 0.86),
]  # fmt: skip
# molality, osmotic coefficient, water activity; Robinson and Stokes 1965, memory
OSMOTIC = [
    (0.5, 0.9209, 0.9835), (1.0, 0.9355, 0.9669), (2.0, 0.9833, 0.9316), (3.0, 1.0453, 0.8932),
    (5.0, 1.1916, 0.8068), (6.0, 1.2706, 0.7598),
]  # fmt: skip


@pytest.mark.parametrize(
    ("solute", "percent", "measured"),
    [case(*row, source="memory", where=f"ICMSF, {row[0]} {row[2]}") for row in SUGARS],
)
def test_sugars_within_five_thousandths(solute, percent, measured):
    assert solution(solute, percent) == pytest.approx(measured, abs=0.005)


def test_mean_error_of_sugars_is_the_one_stated():
    errors = [abs(float(solution(name, w)) - a) for name, w, a in SUGARS]
    assert np.mean(errors) == pytest.approx(0.0013, abs=0.0003)
    assert max(errors) < 0.0045


@pytest.mark.parametrize(
    ("percent", "measured"),
    [case(*row, source="memory", where=f"ICMSF, salt {row[1]}") for row in BRINES],
)
def test_salt_within_one_thousandth(percent, measured):
    assert brine(percent) == pytest.approx(measured, abs=0.001)


@pytest.mark.parametrize(
    ("m", "osmotic", "measured"),
    [case(*row, source="memory", where=f"Robinson and Stokes, {row[0]} mol/kg") for row in OSMOTIC],
)
def test_osmotic_coefficient(m, osmotic, measured):
    # the correlation leaves its table by 0.0026 at the end of its range
    assert pitzer_sodium_chloride(m) == pytest.approx(osmotic, abs=0.0015 if m < 6.0 else 0.003)
    found = electrolyte(m, 2.0, pitzer_sodium_chloride(m))
    assert found == pytest.approx(measured, abs=0.0006)


def test_printed_salt_example():
    # published: 6 mol/kg, osmotic coefficient 1.271, water activity 0.760 (instrument manual)
    assert electrolyte(6.0, 2.0, 1.271) == pytest.approx(0.760, abs=0.0005)


def test_saturated_salt():
    # published: 0.755 at 25 degC after Labuza (0.753 recomputed); saturation recalled, 6.15 mol/kg
    found = electrolyte(6.15, 2.0, pitzer_sodium_chloride(6.15))
    assert found == pytest.approx(0.754, abs=0.003)


# percent glycerin against water activity, Miner and Dalton 1953, memory, percent rounded to 1
@pytest.mark.parametrize(
    ("percent", "measured", "within"),
    [
        case(33, 0.90, 0.005, source="memory", where="glycerin 0.90"),
        case(51, 0.80, 0.005, source="memory", where="glycerin 0.80"),
        case(64, 0.70, 0.02, source="memory", where="glycerin 0.70"),
        case(72, 0.60, 0.02, source="memory", where="glycerin 0.60"),
        case(79, 0.50, 0.051, source="memory", where="glycerin 0.50"),
        case(84, 0.40, 0.051, source="memory", where="glycerin 0.40"),
        case(89, 0.30, 0.051, source="memory", where="glycerin 0.30"),
    ],
)
def test_glycerin(percent, measured, within):
    assert solution("glycerin", percent) == pytest.approx(measured, abs=within)


def test_raoult_is_ten_times_worse_for_sugars():
    errors = []
    for name, w, measured in SUGARS:
        ideal = raoult(w / MOLAR[name], (100.0 - w) / MOLAR_MASS_WATER)
        errors.append(abs(float(ideal) - measured))
    assert np.mean(errors) == pytest.approx(0.015, abs=0.0006)
    assert max(errors) == pytest.approx(0.049, abs=0.002)


@pytest.mark.parametrize(
    ("solute", "percent", "activity"),
    [
        case(*row, source="computed", where=f"{row[0]} {row[1]} percent")
        for row in [
            ("glycerin", 5, 0.9897), ("glycerin", 10, 0.9782), ("glycerin", 20, 0.9510),
            ("glycerin", 30, 0.9163), ("glycerin", 50, 0.8108), ("glycerin", 10.714, 0.9765),
            ("sorbitol", 10, 0.9889), ("sorbitol", 30, 0.9567), ("sorbitol", 50, 0.8979),
            ("sorbitol", 70, 0.7667), ("sucrose", 20, 0.9859), ("sucrose", 40, 0.9589),
            ("sucrose", 60, 0.8953), ("glucose", 20, 0.9743), ("glucose", 40, 0.9293),
            ("glucose", 60, 0.8369), ("xylitol", 10, 0.9867), ("xylitol", 30, 0.9480),
            ("xylitol", 50, 0.8777), ("erythritol", 10, 0.9835), ("erythritol", 30, 0.9361),
            ("urea", 5, 0.9849), ("urea", 10, 0.9698), ("urea", 20, 0.9394),
        ]
    ],
)  # fmt: skip
def test_worked_nonelectrolytes(solute, percent, activity):
    assert solution(solute, percent) == pytest.approx(activity, abs=1e-4)


@pytest.mark.parametrize(
    ("solute", "percent", "activity"),
    [
        case(*row, source="computed", where=f"ideal {row[0]} {row[1]} percent")
        for row in [
            ("propylene glycol", 10, 0.9744), ("propylene glycol", 50, 0.8086),
            ("butylene glycol", 10, 0.9783), ("butylene glycol", 50, 0.8334),
        ]
    ],
)  # fmt: skip
def test_worked_ideal_solutions(solute, percent, activity):
    found = raoult(percent / MOLAR[solute], (100.0 - percent) / MOLAR_MASS_WATER)
    assert found == pytest.approx(activity, abs=1e-4)


def test_worked_mixtures():
    glycerin = norrish(20.0, MOLAR["glycerin"], 78.0, NORRISH_K["glycerin"])
    m = molality(2.0, SODIUM_CHLORIDE, 78.0)
    salt = electrolyte(m, 2.0, pitzer_sodium_chloride(m))
    assert glycerin == pytest.approx(0.9497, abs=1e-4)
    assert salt == pytest.approx(0.9856, abs=1e-4)
    assert ross([glycerin, salt]) == pytest.approx(0.9360, abs=1e-4)
    sorbitol = norrish(10.0, MOLAR["sorbitol"], 80.0, NORRISH_K["sorbitol"])
    glycerin = norrish(10.0, MOLAR["glycerin"], 80.0, NORRISH_K["glycerin"])
    assert ross([glycerin, sorbitol]) == pytest.approx(0.9633, abs=1e-4)


# percent propylene glycol against water activity at 25 degC: Melinder's freezing points carried to
# 25 degC with measured heats of mixing (tests/validation)
@pytest.mark.parametrize(
    ("percent", "measured"),
    [
        case(15.0, 0.956, source="published", where="Melinder 2010, 15 %"),
        case(25.0, 0.918, source="published", where="Melinder 2010, 25 %"),
        case(40.0, 0.851, source="published", where="Melinder 2010, 40 %"),
        case(50.0, 0.789, source="published", where="Melinder 2010, 50 %"),
        case(57.0, 0.741, source="published", where="Melinder 2010, 57 %"),
    ],
)
def test_propylene_glycol_within_its_range(percent, measured):
    usual, low, high = (
        norrish(percent, MOLAR["propylene glycol"], 100.0 - percent, k)
        for k in NORRISH_K_PROPYLENE_GLYCOL
    )
    assert high < usual < low < 1.0
    assert usual == pytest.approx(measured, abs=0.006 if measured > 0.85 else 0.013)


def test_decimal_constants_are_smaller_by_the_logarithm_of_ten():
    # published in decimal form: glycerin 0.38, sucrose 2.60, glucose 0.70 (Norrish 1966, memory)
    assert 0.38 * np.log(10.0) < NORRISH_K["glycerin"]
    assert 2.60 * np.log(10.0) == pytest.approx(NORRISH_K["sucrose"], rel=0.08)


@given(st.floats(0.0, 60.0), st.floats(0.1, 20.0), st.floats(0.0, 7.0))
def test_more_solute_dries(percent, extra, k):
    one = norrish(percent, 92.09, 100.0, k)
    assert norrish(percent + extra, 92.09, 100.0, k) < one <= 1.0


@given(st.lists(st.floats(0.5, 1.0), min_size=1, max_size=5))
def test_mixture_is_drier_than_each(parts):
    assert ross(parts) <= min(parts) + 1e-12


@given(st.floats(0.01, 6.0), st.floats(0.01, 0.2))
def test_salt_dries(m, extra):
    a, b = (electrolyte(x, 2.0, pitzer_sodium_chloride(x)) for x in (m, m + extra))
    assert b < a < 1.0


def test_pure_water():
    assert norrish(0.0, 92.09, 100.0, 1.16) == 1.0
    assert electrolyte(0.0, 2.0, pitzer_sodium_chloride(0.0)) == 1.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: raoult(-1.0, 1.0),
        lambda: raoult(1.0, 0.0),
        lambda: norrish(1.0, 0.0, 1.0, 1.0),
        lambda: norrish(-1.0, 92.0, 1.0, 1.0),
        lambda: ross([1.01]),
        lambda: pitzer_sodium_chloride(-1.0),
        lambda: pitzer_sodium_chloride(7.0),
        lambda: electrolyte(-1.0, 2.0, 1.0),
        lambda: electrolyte(1.0, 0.0, 1.0),
        lambda: electrolyte(1.0, 2.0, 0.0),
        lambda: molality(-1.0, 58.0, 1.0),
        lambda: molality(1.0, 0.0, 1.0),
        lambda: molality(1.0, 58.0, 0.0),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
