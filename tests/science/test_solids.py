import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.solids import (
    acid_solubility_in_ester,
    dimer_solubility,
    dissolve,
    ideal_solubility,
    melting_range_fraction,
    solid_masses,
)

from .sources import case

STEARIC, LAURIC = (69.3, 61.2), (43.82, 36.3)

# Components of the materials: (share by mass, molar mass g/mol, melting point degC, enthalpy
# kJ/mol, activity coefficient). Cocoa butter: composition published, melting recalled. Others are
# assumptions of the model, so what is computed from them tests the arithmetic.
COCOA_BUTTER = [
    (0.196, 833, 36.7, 140, 1.0),
    (0.403, 861, 35.5, 150, 1.0),
    (0.227, 889, 43.0, 151, 1.0),
    (0.009, 917, 45.0, 150, 1.0),
    (0.012, 891, 72.0, 194, 1.0),
    (0.007, 835, 62.6, 166, 1.0),
]
SHEA_BUTTER = [
    (0.42, 889, 43.0, 151, 1.0),
    (0.28, 887, 23.0, 110, 1.0),
    (0.06, 861, 35.5, 150, 1.0),
    (0.03, 917, 45.0, 150, 1.0),
]
COCONUT_OIL = [(0.62, 660, 29.2, 66, 1.0)]
BEESWAX = [(0.90, 650, 66.0, 140, 1.0)]
CANDELILLA = [(0.85, 440, 70.0, 110, 1.0)]
GLYCERYL_STEARATE = [(0.50, 358.6, 74.0, 68, 2.5), (0.35, 625, 60.0, 110, 2.5)]
CETYL_ALCOHOL = [(1.0, 242.44, 49.3, 54, 1.0)]
CASTOR_WAX = [(1.0, 939, 87.0, 150, 1.0)]


def solid_percent(components, dose, t_c, oil_molar_mass, rest_molar_mass):
    """Solids, percent of an oil phase of 100 g that holds the dose of the material in grams."""
    shares, molar, tm, dh, gamma = (np.array(column) for column in zip(*components, strict=True))
    rest = dose * (1.0 - shares.sum()) / rest_molar_mass
    liquid = (100.0 - dose) / oil_molar_mass + rest
    x_sat = ideal_solubility(t_c, tm, dh, gamma)
    return float(solid_masses(dose * shares, molar, x_sat, liquid).sum())


@pytest.mark.parametrize(
    ("t", "tm", "dh", "x", "within"),
    [
        case(20, *LAURIC, 0.3265, 5e-5, source="computed", where="lauric acid"),
        case(25, *STEARIC, 0.0410, 5e-5, source="computed", where="stearic acid 25"),
        case(20, *STEARIC, 0.0269, 5e-5, source="computed", where="stearic acid 20"),
        case(30, *STEARIC, 0.0616, 5e-5, source="computed", where="stearic acid 30"),
        case(40, *STEARIC, 0.1338, 5e-5, source="computed", where="stearic acid 40"),
        case(50, *STEARIC, 0.2770, 5e-5, source="computed", where="stearic acid 50"),
        case(60, *STEARIC, 0.5488, 5e-5, source="computed", where="stearic acid 60"),
        case(10, 49.3, 54.0, 0.06107, 6e-5, source="computed", where="cetyl alcohol 10"),
        case(25, 49.3, 54.0, 0.19365, 1e-4, source="computed", where="cetyl alcohol 25"),
        case(25, 80.2, 19.01, 0.3018, 1e-4, source="computed", where="naphthalene"),
        case(25, 168.85, 28.1, 0.0248, 2e-4, source="published", where="paracetamol example"),
    ],
)
def test_plain_solubility(t, tm, dh, x, within):
    assert ideal_solubility(t, tm, dh, 1.0) == pytest.approx(x, abs=within)


def test_naphthalene_in_benzene_within_three_percent_of_measured():
    # published: mole fraction 0.2946 at 298 K, IUPAC-NIST Solubility Database
    assert ideal_solubility(25.0, 80.2, 19.01, 1.0) == pytest.approx(0.2946, rel=0.03)


def test_stearic_acid_in_toluene_within_three_percent_of_measured():
    # published: 13.61 g/100 g at 25 degC, mole fraction 0.0422
    assert ideal_solubility(25.0, *STEARIC, 1.0) == pytest.approx(0.0422, rel=0.03)


# published solubility of stearic acid in hexane, as mole fractions
@pytest.mark.parametrize(
    ("t", "measured"),
    [
        case(20, 0.0015, source="published", where="hexane 20 degC"),
        case(30, 0.0129, source="published", where="hexane 30 degC"),
        case(40, 0.0544, source="published", where="hexane 40 degC"),
        case(50, 0.1935, source="published", where="hexane 50 degC"),
        case(60, 0.4786, source="published", where="hexane 60 degC"),
    ],
)
def test_pairs_of_acid_describe_an_alkane_better(t, measured):
    plain = ideal_solubility(t, *STEARIC, 1.0) / measured
    paired = dimer_solubility(t, *STEARIC) / measured
    assert 1.14 < plain < 18.1
    assert 0.58 < paired < 0.98
    assert abs(np.log(paired)) < abs(np.log(plain)) or t == 60


# published solubility of stearic acid in ethanol, as mole fractions
@pytest.mark.parametrize(
    ("t", "measured"),
    [
        case(20, 0.0036, source="published", where="ethanol 20 degC"),
        case(30, 0.0087, source="published", where="ethanol 30 degC"),
        case(40, 0.0355, source="published", where="ethanol 40 degC"),
        case(50, 0.1453, source="published", where="ethanol 50 degC"),
        case(60, 0.3931, source="published", where="ethanol 60 degC"),
    ],
)
def test_ethanol_lies_between_plain_and_paired(t, measured):
    assert 0.39 < dimer_solubility(t, *STEARIC) / measured < 1.19
    assert 1.39 < ideal_solubility(t, *STEARIC, 1.0) / measured < 7.6


def test_paired_form_of_the_worked_example():
    assert dimer_solubility(40.0, *STEARIC) == pytest.approx(0.0352, abs=5e-5)


def test_ester_takes_the_mean_of_both():
    t = np.array([10.0, 20.0, 30.0])
    both = ideal_solubility(t, *LAURIC, 1.0) + dimer_solubility(t, *LAURIC)
    assert acid_solubility_in_ester(t, *LAURIC) == pytest.approx(both / 2.0)


@pytest.mark.parametrize(
    ("t", "grams"),
    [
        case(10, 2.004, source="computed", where="cetyl alcohol at 10"),
        case(25, 0.0, source="computed", where="cetyl alcohol at 25"),
    ],
)
def test_worked_cetyl_alcohol(t, grams):
    assert solid_percent(CETYL_ALCOHOL, 5.0, t, 500.0, 1.0) == pytest.approx(grams, abs=0.002)


@pytest.mark.parametrize(
    ("t", "grams"),
    [
        case(10, 4.493, source="computed", where="beeswax at 10"),
        case(25, 4.365, source="computed", where="beeswax at 25"),
        case(40, 2.457, source="computed", where="beeswax at 40"),
    ],
)
def test_worked_beeswax(t, grams):
    assert solid_percent(BEESWAX, 5.0, t, 500.0, 600.0) == pytest.approx(grams, abs=0.001)


@pytest.mark.parametrize(
    ("material", "dose", "rest", "at_10", "at_25", "at_40"),
    [
        case(COCOA_BUTTER, 10, 870, 6.5, 0.1, 0.0, source="computed", where="cocoa 10 percent"),
        case(COCOA_BUTTER, 20, 870, 15.2, 0.3, 0.1, source="computed", where="cocoa 20 percent"),
        case(SHEA_BUTTER, 10, 600, 4.1, 0.0, 0.0, source="computed", where="shea 10 percent"),
        case(SHEA_BUTTER, 20, 600, 9.1, 3.4, 0.0, source="computed", where="shea 20 percent"),
        case(COCONUT_OIL, 10, 660, 0.0, 0.0, 0.0, source="computed", where="coconut 10 percent"),
        case(COCONUT_OIL, 20, 660, 0.0, 0.0, 0.0, source="computed", where="coconut 20 percent"),
        case(BEESWAX, 5, 600, 4.5, 4.4, 2.5, source="computed", where="beeswax 5 percent"),
        case(CANDELILLA, 5, 440, 4.2, 4.0, 2.1, source="computed", where="candelilla 5 percent"),
        case(
            GLYCERYL_STEARATE,
            5,
            500,
            4.1,
            3.2,
            0.3,
            source="computed",
            where="glyceryl stearate 5 percent",
        ),
        case(CETYL_ALCOHOL, 5, 1, 2.0, 0.0, 0.0, source="computed", where="cetyl 5 percent"),
        case(CASTOR_WAX, 1, 1, 1.0, 1.0, 0.9, source="computed", where="castor wax 1 percent"),
    ],
)
def test_table_of_solids(material, dose, rest, at_10, at_25, at_40):
    found = [solid_percent(material, dose, t, 500.0, rest) for t in (10.0, 25.0, 40.0)]
    assert found == pytest.approx([at_10, at_25, at_40], abs=0.06)


@pytest.mark.parametrize(
    ("material", "dose", "t", "rest", "light", "heavy"),
    [
        case(SHEA_BUTTER, 20, 25, 600, 0.3, 5.4, source="computed", where="shea 20 percent, 25"),
        case(BEESWAX, 5, 40, 600, 1.1, 3.3, source="computed", where="beeswax 5 percent, 40"),
        case(CETYL_ALCOHOL, 5, 10, 1, 0.0, 3.3, source="computed", where="cetyl 5 percent, 10"),
    ],
)
def test_a_lighter_oil_dissolves_more(material, dose, t, rest, light, heavy):
    assert solid_percent(material, dose, t, 300.0, rest) == pytest.approx(light, abs=0.06)
    assert solid_percent(material, dose, t, 880.0, rest) == pytest.approx(heavy, abs=0.06)


def test_undiluted_cocoa_butter_within_nine_points_of_the_mean_of_three_origins():
    # memory: tempered cocoa butter by NMR, Lipp and Anklam 1998: Ghana, Malaysia, Brazil
    measured = {
        20: (76.0, 82.6, 62.6),
        25: (69.6, 77.1, 53.3),
        30: (45.0, 57.7, 23.3),
        35: (1.1, 2.6, 1.0),
    }
    found = {t: solid_percent(COCOA_BUTTER, 100.0, t, 500.0, 870.0) for t in measured}
    assert [round(found[t]) for t in (20, 25, 30)] == [84, 79, 43]
    assert found[35] == pytest.approx(1.4, abs=0.06)
    to_mean = [abs(found[t] - np.mean(values)) for t, values in measured.items()]
    to_each = [abs(found[t] - value) for t, values in measured.items() for value in values]
    assert np.mean(to_mean) < 6.6
    assert np.mean(to_each) < 9.5


def test_activity_above_one_dissolves_less_but_melts_all_the_same():
    assert ideal_solubility(30.0, 74.0, 68.0, 2.5) < ideal_solubility(30.0, 74.0, 68.0, 1.0)
    assert ideal_solubility(74.0, 74.0, 68.0, 2.5) == 1.0
    assert ideal_solubility(80.0, 74.0, 68.0, 2.5) == 1.0


def test_without_liquid_and_below_saturation_all_is_solid():
    assert dissolve([1.0, 2.0], [0.1, 0.2], 0.0).tolist() == [1.0, 2.0]


def test_without_liquid_a_melt_forms_when_saturations_exceed_one():
    solid = dissolve([1.0, 1.0], [1.0, 0.1], 0.0)
    assert solid[0] == 0.0
    assert solid[1] == pytest.approx(1.0 - 0.1 / 0.9)


def test_three_components_with_three_draws_stay_apart():
    amounts, x = [0.1, 0.2, 0.3], np.array([[0.02], [0.05], [0.2]])
    liquids = np.array([0.5, 1.0, 2.0])
    solid = dissolve(amounts, x, liquids)
    assert solid.shape == (3, 3)
    for column, liquid in enumerate(liquids):
        assert solid[:, column] == pytest.approx(dissolve(amounts, x[:, 0], liquid))


def test_unknown_stays_unknown_in_its_own_draw():
    solid = dissolve([0.1], np.array([[0.1, np.nan]]), 1.0)
    assert np.isfinite(solid[0, 0])
    assert np.isnan(solid[0, 1])


mols = st.lists(st.floats(0.0, 2.0), min_size=1, max_size=5)


@given(mols, st.data(), st.floats(0.01, 3.0))
def test_balance_holds(n, data, liquid):
    x = data.draw(st.lists(st.floats(0.0, 1.0), min_size=len(n), max_size=len(n)))
    solid = dissolve(n, x, liquid)
    dissolved = np.array(n) - solid
    total = liquid + dissolved.sum()
    assert (solid >= 0.0).all()
    assert (solid <= np.array(n)).all()
    assert (dissolved <= np.array(x) * total + 1e-9).all()
    kept = solid > 1e-9
    assert dissolved[kept] == pytest.approx(np.array(x)[kept] * total, rel=1e-6, abs=1e-9)


@given(mols, st.data(), st.floats(0.01, 3.0), st.floats(0.1, 50.0))
def test_solids_scale_with_the_batch(n, data, liquid, scale):
    x = data.draw(st.lists(st.floats(0.0, 0.9), min_size=len(n), max_size=len(n)))
    bigger = dissolve([scale * value for value in n], x, scale * liquid)
    assert bigger == pytest.approx(scale * dissolve(n, x, liquid), rel=1e-6, abs=1e-8)


@given(st.floats(-10.0, 60.0), st.floats(0.0, 20.0), st.floats(1.0, 40.0))
def test_warmth_never_adds_solids(t, rise, dose):
    cold = solid_percent(SHEA_BUTTER, dose, t, 500.0, 870.0)
    assert solid_percent(SHEA_BUTTER, dose, t + rise, 500.0, 870.0) <= cold + 1e-9


@given(st.floats(0.0, 80.0), st.floats(20.0, 90.0), st.floats(20.0, 200.0))
def test_mole_fractions_stay_fractions(t, tm, dh):
    for x in (
        ideal_solubility(t, tm, dh, 1.0),
        dimer_solubility(t, tm, dh),
        acid_solubility_in_ester(t, tm, dh),
    ):
        assert 0.0 < x <= 1.0


def test_melting_range():
    assert melting_range_fraction(50.0, 43.0, 71.0) == pytest.approx(0.813, abs=0.001)
    assert melting_range_fraction(43.0, 43.0, 71.0) == pytest.approx(0.95)
    assert melting_range_fraction(57.0, 43.0, 71.0) == pytest.approx(0.5)
    assert melting_range_fraction(71.0, 43.0, 71.0) == pytest.approx(0.05)


@given(st.floats(-50.0, 150.0), st.floats(0.1, 20.0))
def test_melting_range_falls_with_warmth(t, rise):
    before = melting_range_fraction(t, 30.0, 40.0)
    assert 0.0 <= melting_range_fraction(t + rise, 30.0, 40.0) <= before <= 1.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: ideal_solubility(-300.0, 50.0, 50.0, 1.0),
        lambda: ideal_solubility(25.0, 50.0, 0.0, 1.0),
        lambda: ideal_solubility(25.0, 50.0, 50.0, 0.0),
        lambda: dissolve([-0.1], [0.1], 1.0),
        lambda: dissolve([0.1], [0.1], -1.0),
        lambda: dissolve([0.1], [1.01], 1.0),
        lambda: solid_masses([1.0], [0.0], [0.1], 1.0),
        lambda: melting_range_fraction(25.0, 40.0, 40.0),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
