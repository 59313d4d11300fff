import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.blending import blend_kinematic
from kb.science.consistency import SHEAR_RATE, apparent_viscosity, climate_ratio, total_yield
from kb.science.droplets import krieger_dougherty
from kb.science.solids import ideal_solubility, solid_masses
from kb.science.structure import network_sum, network_yield
from kb.science.viscosity import at_temperature

from .sources import case

OIL_DENSITY = 0.9


def worked_cream(t_c):
    """Sorbitan oleate 3, triglyceride 32.5, beeswax 2.5; glycerin 3, salt 0.7, water 58.3."""
    wax, wax_liquid = 2.25, 0.25
    liquid_mols = 3.0 / 428.0 + 32.5 / 500.0 + wax_liquid / 600.0
    x_sat = [ideal_solubility(t_c, 66.0, 140.0, 1.0)]
    solid = float(solid_masses([wax], [650.0], x_sat, liquid_mols)[0])
    nus = [
        at_temperature(26.0, 25.0, t_c, 3.0),
        at_temperature(1000.0, 25.0, t_c, 3.6),
        at_temperature(40.0, 25.0, t_c, 3.0),
    ]
    nu = blend_kinematic([32.5, 3.0, wax + wax_liquid - solid], nus)
    total = network_sum([solid / 38.0], [0.025])
    tau = network_yield(total, 2.5, 30.0)
    water = 58.3 + 0.7 + 3.0 / 1.26
    phi = water / (water + 38.0 / OIL_DENSITY)
    f_drops = krieger_dougherty(phi, 0.80, 2.5)
    whole = total_yield(tau, 0.2, 1.0, 0.0, 0.0)
    return {
        "solids percent": 100.0 * solid / 38.0,
        "sum": total,
        "tau": tau,
        "eta oil": nu * OIL_DENSITY,
        "phi": phi,
        "f drops": f_drops,
        "eta": apparent_viscosity(nu * OIL_DENSITY, 1.0, f_drops, whole, SHEAR_RATE),
    }


@pytest.mark.parametrize(
    ("what", "value", "within"),
    [
        case("solids percent", 5.787, 0.001, source="computed", where="solids"),
        case("sum", 2.315, 0.001, source="computed", where="sum of the network"),
        case("tau", 244.5, 0.1, source="computed", where="yield of the network"),
        case("eta oil", 29.17, 0.01, source="computed", where="oil"),
        case("phi", 0.5925, 0.0001, source="computed", where="drops"),
        case("f drops", 14.86, 0.01, source="computed", where="factor of the drops"),
        case("eta", 5324.0, 2.0, source="computed", where="apparent viscosity"),
    ],
)
def test_worked_cream_at_25(what, value, within):
    assert worked_cream(25.0)[what] == pytest.approx(value, abs=within)


@pytest.mark.parametrize(
    ("t", "eta"),
    [
        case(10.0, 5959.0, source="computed", where="at 10"),
        case(40.0, 2065.0, source="computed", where="at 40"),
    ],
)
def test_worked_cream_in_cold_and_heat(t, eta):
    assert worked_cream(t)["eta"] == pytest.approx(eta, rel=0.001)


def test_worked_climate_ratio():
    ratio = climate_ratio(worked_cream(10.0)["eta"], worked_cream(40.0)["eta"])
    assert ratio == pytest.approx(2.9, abs=0.05)


BUTTERS = {
    "cocoa": [
        (0.196, 833, 36.7, 140),
        (0.403, 861, 35.5, 150),
        (0.227, 889, 43.0, 151),
        (0.009, 917, 45.0, 150),
        (0.012, 891, 72.0, 194),
        (0.007, 835, 62.6, 166),
    ],
    "shea": [
        (0.42, 889, 43.0, 151),
        (0.28, 887, 23.0, 110),
        (0.06, 861, 35.5, 150),
        (0.03, 917, 45.0, 150),
    ],
    "beeswax": [(0.90, 650, 66.0, 140)],
    "none": [(0.0, 500, 30.0, 100)],
}


def structured_cream(material, dose, t_c, critical):
    """The worked cream with another structurant at a dose in the whole cream."""
    shares, molar, tm, dh = (np.array(column) for column in zip(*BUTTERS[material], strict=True))
    oil = 35.0 - dose
    rest = dose * (1.0 - shares.sum())
    x_sat = ideal_solubility(t_c, tm, dh, 1.0)
    liquid = 3.0 / 428.0 + oil / 500.0 + rest / 600.0
    solids = solid_masses(dose * shares, molar, x_sat, liquid)
    nus = [
        at_temperature(26.0, 25.0, t_c, 3.0),
        at_temperature(1000.0, 25.0, t_c, 3.6),
        at_temperature(40.0, 25.0, t_c, 3.0),
    ]
    nu = blend_kinematic([oil, 3.0, dose - solids.sum()], nus)
    tau = network_yield(network_sum(solids / 38.0, critical), 2.5, 30.0)
    f_drops = krieger_dougherty(0.5925, 0.80, 2.5)
    whole = total_yield(tau, 0.2, 1.0, 0.0, 0.0)
    return float(apparent_viscosity(nu * OIL_DENSITY, 1.0, f_drops, whole, SHEAR_RATE))


def drift(material, dose, critical):
    cold = structured_cream(material, dose, 10.0, critical)
    return cold / structured_cream(material, dose, 40.0, critical)


@pytest.mark.parametrize(
    ("material", "dose", "critical", "ratio"),
    [
        case("none", 0.0, 0.06, 3.0, source="computed", where="liquid oil only"),
        case("beeswax", 2.22, 0.025, 3.4, source="computed", where="beeswax 2.22 percent"),
        case("cocoa", 5.0, 0.06, 9.5, source="computed", where="cocoa butter 5 percent"),
        case("cocoa", 10.0, 0.06, 50.0, source="computed", where="cocoa butter 10 percent"),
        case("cocoa", 15.0, 0.06, 137.0, source="computed", where="cocoa butter 15 percent"),
        case("shea", 5.0, 0.06, 4.8, source="computed", where="shea butter 5 percent"),
        case("shea", 10.0, 0.06, 16.0, source="computed", where="shea butter 10 percent"),
        case("shea", 15.0, 0.06, 39.0, source="computed", where="shea butter 15 percent"),
    ],
)
def test_climate_table(material, dose, critical, ratio):
    assert drift(material, dose, critical) == pytest.approx(ratio, rel=0.05)


def test_order_of_the_climate_test_survives_the_draws():
    # stated: cocoa butter 10 percent drifts more than beeswax 2.5 percent in every draw
    for critical in (0.04, 0.06, 0.09):
        assert drift("cocoa", 10.0, critical) > drift("beeswax", 2.5, critical * 0.025 / 0.06)


def test_liquid_without_structure_keeps_its_viscosity():
    assert apparent_viscosity(28.0, 1.0, 1.0, 0.0, 10.0) == 28.0


def test_powder_at_its_packing_adds_nothing_where_there_is_no_network():
    assert total_yield(0.0, 0.2, np.inf, 3.0, 1.0) == 4.0
    assert total_yield(10.0, 0.2, np.inf, 3.0, 1.0) == np.inf


positive = st.floats(0.1, 1e4)


@given(positive, st.floats(1.0, 50.0), st.floats(1.0, 50.0), st.floats(0.0, 1e3), positive)
def test_each_part_only_adds(eta, fp, fd, tau, rate):
    whole = apparent_viscosity(eta, fp, fd, tau, rate)
    assert whole >= eta * (1.0 - 1e-12)
    assert apparent_viscosity(eta, fp, fd, tau, 2.0 * rate) <= whole * (1.0 + 1e-12)


@given(st.floats(0.0, 500.0), st.floats(0.0, 1.0), st.floats(1.0, 5.0), st.floats(0.0, 50.0))
def test_yields_add(net, share, g, drops):
    alone = total_yield(net, share, g, 0.0, 0.0)
    assert total_yield(net, share, g, drops, 2.0) == pytest.approx(alone + drops + 2.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: total_yield(-1.0, 0.2, 1.0, 0.0, 0.0),
        lambda: total_yield(1.0, 0.2, 1.0, -1.0, 0.0),
        lambda: total_yield(1.0, 0.2, 1.0, 0.0, -1.0),
        lambda: total_yield(1.0, 1.2, 1.0, 0.0, 0.0),
        lambda: total_yield(1.0, 0.2, -1.0, 0.0, 0.0),
        lambda: apparent_viscosity(-1.0, 1.0, 1.0, 0.0, 10.0),
        lambda: apparent_viscosity(1.0, 0.9, 1.0, 0.0, 10.0),
        lambda: apparent_viscosity(1.0, 1.0, 0.9, 0.0, 10.0),
        lambda: apparent_viscosity(1.0, 1.0, 1.0, -1.0, 10.0),
        lambda: apparent_viscosity(1.0, 1.0, 1.0, 0.0, 0.0),
        lambda: climate_ratio(0.0, 1.0),
        lambda: climate_ratio(1.0, 0.0),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
