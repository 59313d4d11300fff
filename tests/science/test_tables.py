"""Named literature values, set down a second time with their sources."""

import pytest

from kb.science import hlb, structure, viscosity, water_activity

from .sources import case


@pytest.mark.parametrize(
    ("name", "k"),
    [
        case("glycerin", 1.16, source="published", where="polyol review citing Chirife"),
        case("sorbitol", 1.65, source="published", where="polyol review citing Chirife, sorbitol"),
        case("xylitol", 1.66, source="published", where="polyol review citing Chirife, xylitol"),
        case("erythritol", 1.34, source="published", where="polyol review citing Chirife, C4"),
        case("mannitol", 0.906, source="published", where="polyol review citing Chirife, C6"),
        case("sucrose", 6.47, source="memory", where="Chirife 1980, sucrose"),
        case("glucose", 2.25, source="memory", where="Chirife 1980, glucose"),
        case("fructose", 2.25, source="memory", where="Chirife 1980, fructose"),
        case("maltose", 4.54, source="memory", where="Chirife 1980, maltose"),
        case("lactose", 10.2, source="memory", where="Chirife 1980, lactose"),
        case("urea", -2.02, source="memory", where="Chirife 1980, urea"),
        case("glycine", -0.87, source="memory", where="Chirife 1980, glycine"),
        case("lactic acid", -1.59, source="memory", where="Chirife 1980, lactic acid"),
        case("citric acid", 6.17, source="memory", where="Chirife 1980, citric acid"),
        case("malic acid", 1.82, source="memory", where="Chirife 1980, malic acid"),
    ],
)
def test_norrish_constants(name, k):
    assert water_activity.NORRISH_K[name] == k


def test_constant_of_propylene_glycol():
    # computed: published freezing points carried to 25 degC, see tests/validation
    assert water_activity.NORRISH_K_PROPYLENE_GLYCOL == (0.75, 0.3, 1.8)


@pytest.mark.parametrize(
    ("group", "number"),
    [
        case(*row, source="published", where=f"Davies 1957, {row[0]}")
        for row in [
            ("-SO4Na", 38.7), ("-COOK", 21.1), ("-COONa", 19.1), ("tertiary amine", 9.4),
            ("ester, sorbitan ring", 6.8), ("ester, free", 2.4), ("-COOH", 2.1),
            ("hydroxyl, free", 1.9), ("ether -O-", 1.3), ("hydroxyl, sorbitan ring", 0.5),
            ("-CH-", -0.475), ("-CH2-", -0.475), ("CH3-", -0.475), ("=CH-", -0.475),
        ]
    ],
)  # fmt: skip
def test_davies_groups(group, number):
    assert hlb.DAVIES_GROUPS[group] == number


@pytest.mark.parametrize(
    ("name", "percent"),
    [
        case("rice bran wax", 1.0, source="published", where="Blake 2014, rice bran"),
        case("sunflower wax", 1.0, source="published", where="Blake 2014, sunflower"),
        case("carnauba wax", 4.0, source="published", where="Blake 2014 and Patel 2013, carnauba"),
        case("glyceryl stearate", 3.0, source="published", where="Gels 2024, glyceryl stearate"),
        case("berry wax", 6.0, source="memory", where="Patel 2013, berry wax"),
    ],
)
def test_critical_levels_of_pure_gels(name, percent):
    assert structure.CRITICAL_GELLING[name] == pytest.approx(percent / 100.0)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        case("beeswax", 1.5, 3.0, source="published", where="olive and peanut 3, rice bran oil <2"),
        case("candelilla wax", 1.0, 2.5, source="published", where="below 2 in rice bran oil"),
    ],
)
def test_critical_levels_between_published_ones(name, low, high):
    assert low <= 100.0 * structure.CRITICAL_GELLING[name] <= high


@pytest.mark.parametrize(
    ("family", "slopes"),
    [
        case("triglyceride", (3.0, 2.8, 3.1), source="computed", where="nine in ten, oils"),
        case("hydrocarbon", (4.2, 3.8, 4.6), source="computed", where="fit, hydrocarbons"),
        case("light ester", (4.1, 3.1, 5.3), source="computed", where="fit, esters"),
        case("liquid fatty alcohol", (4.4, 4.3, 4.5), source="computed", where="fit, alcohols"),
        case("hydroxy triglyceride", (3.3, 2.6, 3.9), source="computed", where="castor, 2 tables"),
        case("glycol", (4.2, 3.5, 4.8), source="computed", where="nine in ten, glycols"),
    ],
)
def test_family_slopes(family, slopes):
    assert viscosity.FAMILY_SLOPE[family] == slopes
