"""Check values of the short equations: arithmetic done apart, tables, and printed examples.

Expected values were worked out from the equation in another way than the function does, or stand in
the source named.
"""

import numpy as np
import pytest

from kb.science import (
    acidity,
    attraction,
    blending,
    consistency,
    draws,
    emulsion_type,
    hlb,
    hld,
    miscibility,
    origin,
    oxidation,
    powders,
    preservation,
    settling,
    solids,
    structure,
    viscosity,
    water_activity,
)

from .sources import case

# function, arguments, expected, source, where
VALUES = [
    # 56.1056 g potassium hydroxide a mole; acid values of the pure acids as handbooks print them
    (acidity.acid_equivalents, (284.48, 197.2), 1.000, "memory", "stearic acid, acid value 197.2"),
    (acidity.acid_equivalents, (200.32, 280.1), 1.000, "memory", "lauric acid, acid value 280.1"),
    (acidity.acid_equivalents, (282.46, 198.6), 1.000, "memory", "oleic acid, acid value 198.6"),
    (acidity.acid_equivalents, (10.0, 20.0), 0.003565, "computed", "10 g beeswax"),
    (acidity.alkali_equivalents, (40.0, 40.0, 1.0, 1.0), 1.0, "computed", "sodium hydroxide"),
    (acidity.alkali_equivalents, (381.37, 381.37, 2.0, 1.0), 2.0, "computed", "borax"),
    (acidity.alkali_equivalents, (10.0, 40.0, 1.0, 0.5), 0.125, "computed", "lye of 50 %"),
    (acidity.henderson, (7.21, 8.1, 1.9), 7.840, "memory", "phosphate buffer 81 to 19, pH 7.8"),
    (acidity.henderson, (4.76, 1.0, 1.0), 4.76, "computed", "half neutralised acetic acid"),
    (acidity.henderson, (3.86, 10.0, 1.0), 4.86, "computed", "lactate, ten to one"),
    (acidity.henderson, (3.13, 1.0, 10.0), 2.13, "computed", "citric acid, one to ten"),
    # surface shares of 1 ml each at 1 and 3 um: 3 to 1
    (attraction.sauter_size, ([1.0, 1.0], [1.0, 3.0]), 1.5, "computed", "harmonic mean"),
    (attraction.sauter_size, ([1.0], [0.25]), 0.25, "computed", "one powder"),
    (attraction.sauter_size, ([4.46, 16.9], [0.25, 14.0]), 1.1216, "computed", "zinc paste"),
    (attraction.mixed_hamaker, ([1.0, 1.0], [1.0, 3.0], [4.0, 16.0]), 6.25, "computed", "3 to 1"),
    (attraction.mixed_hamaker, ([2.0], [1.0], [9.0]), 9.0, "computed", "one powder"),
    (attraction.mixed_hamaker, ([1.0, 1.0], [1.0, 1.0], [1.0, 9.0]), 4.0, "computed", "alike"),
    (attraction.contact_strength, (6e-20, 1.0, 1.0), 10000.0, "computed", "1 um, 1 nm"),
    (attraction.contact_strength, (6e-20, 0.5, 1.0), 20000.0, "computed", "half the size"),
    (attraction.contact_strength, (6e-20, 1.0, 2.0), 2500.0, "computed", "twice the gap"),
    (blending.nu_from_vbi, (33.196,), 100.0, "computed", "index of 100 mm2/s"),
    (blending.nu_from_vbi, (3.252,), 1.0, "computed", "index of 1 mm2/s"),
    (blending.nu_from_vbi, (16.051,), 3.329, "computed", "squalane and octane"),
    (consistency.climate_ratio, (5959.0, 2065.0), 2.886, "computed", "cream with beeswax"),
    (consistency.climate_ratio, (11.0, 10.0), 1.1, "computed", "hardly any drift"),
    (consistency.climate_ratio, (10.0, 20.0), 0.5, "computed", "thicker when warm"),
    (draws.normal_score, (0.95,), 1.644854, "memory", "table of the normal distribution 0.95"),
    (draws.normal_score, (0.975,), 1.959964, "memory", "table of the normal distribution 0.975"),
    (draws.normal_score, (0.8413447,), 1.0, "memory", "table of the normal distribution 0.8413"),
    (draws.normal_between, (1.0, 2.0, 4.0, 0.95), 4.0, "computed", "high end"),
    (draws.normal_between, (1.0, 2.0, 4.0, 0.05), 1.0, "computed", "low end"),
    (draws.normal_between, (1.0, 2.0, 4.0, 0.5), 2.0, "computed", "middle"),
    (draws.lognormal_between, (1.0, 2.0, 8.0, 0.95), 8.0, "computed", "high end"),
    (draws.lognormal_between, (1.0, 2.0, 8.0, 0.05), 1.0, "computed", "low end"),
    (draws.lognormal_between, (1.0, 2.0, 4.0, 0.8413447), 3.0483, "computed", "one deviation"),
    (draws.triangular_between, (2.0, 3.0, 5.0, 0.05), 2.0, "computed", "low end"),
    (draws.triangular_between, (2.0, 3.0, 5.0, 0.95), 5.0, "computed", "high end"),
    (draws.triangular_between, (2.0, 3.0, 4.0, 0.5), 3.0, "computed", "middle"),
    (emulsion_type.probability_oil_in_water, (0.0, 0.9), 0.5, "computed", "on the border"),
    (emulsion_type.probability_oil_in_water, (1.0, 0.9), 0.9, "computed", "one band"),
    (emulsion_type.probability_oil_in_water, (2.0, 0.9), 81 / 82, "computed", "odds of 9 twice"),
    (hlb.emulsifier_share, (10.5, 15.0, 4.3), 0.5794, "published", "10.5 from 15 and 4.3"),
    (hlb.emulsifier_share, (12.0, 15.0, 4.3), 0.7196, "computed", "12 from 15 and 4.3"),
    (hlb.emulsifier_share, (4.3, 15.0, 4.3), 0.0, "computed", "the lower one alone"),
    (hld.eacn_blend, ([0.5, 0.5], [7.25, 24.5]), 15.875, "computed", "half and half"),
    (hld.eacn_blend, ([1.0, 3.0], [8.0, 16.0]), 14.0, "computed", "one to three"),
    (hld.eacn_blend, ([2.0], [12.0]), 12.0, "computed", "dodecane alone"),
    (hld.oil_term, (7.25, 24.5, 0.15), -2.5875, "computed", "myristate to squalane"),
    (hld.oil_term, (7.25, 24.5, 0.17), -2.9325, "computed", "the same, k 0.17"),
    (hld.oil_term, (16.0, 8.0, 0.16), 1.28, "computed", "hexadecane to octane"),
    (hld.temperature_term, (25.0, 40.0, 0.06), 0.9, "computed", "warming, ethoxylate"),
    (hld.temperature_term, (25.0, 5.0, 0.06), -1.2, "computed", "cooling, ethoxylate"),
    (hld.temperature_term, (25.0, 45.0, -0.01), -0.2, "computed", "warming, ionic"),
    (hld.salt_term, (0.0, 2.0, 0.13), 0.26, "computed", "2 g in 100 ml"),
    (hld.salt_term, (2.0, 0.5, 0.13), -0.195, "computed", "less salt"),
    (hld.salt_term, (1.0, 1.0, 0.13), 0.0, "computed", "the same salt"),
    (hld.hld_difference, (-2.6, 0.9, 0.26, 0.0), -1.44, "computed", "oil, warmth, salt"),
    (hld.hld_difference, (0.0, 0.0, 0.0, 1.5), 1.5, "computed", "emulsifier alone"),
    (hld.hld_difference, (1.28, -1.2, -0.2, 0.1), -0.02, "computed", "four shifts"),
    # Hansen's handbook, MPa^0.5
    (miscibility.total_parameter, ([15.5, 16.0, 42.3],), 47.8, "memory", "Hansen 2007, water"),
    (miscibility.total_parameter, ([15.8, 8.8, 19.4],), 26.5, "memory", "Hansen 2007, ethanol"),
    (miscibility.total_parameter, ([16.8, 0.0, 0.2],), 16.8, "memory", "Hansen 2007, cyclohexane"),
    (miscibility.red, (6.0, 12.0), 0.5, "computed", "well inside"),
    (miscibility.red, (8.0, 8.0), 1.0, "computed", "on the sphere"),
    (miscibility.red, (12.0, 8.0), 1.5, "computed", "outside"),
    (miscibility.parameter_difference, (8.90, 7.09), 1.81, "computed", "castor and mineral oil"),
    (miscibility.parameter_difference, (7.09, 8.90), 1.81, "computed", "the other way"),
    (miscibility.parameter_difference, (8.0, 8.0), 0.0, "computed", "like oils"),
    (miscibility.blend_parameters, ([1.0, 1.0], [15.8, 15.5]), 15.65, "computed", "half and half"),
    (miscibility.blend_parameters, ([1.0, 3.0], [16.0, 20.0]), 19.0, "computed", "one to three"),
    (miscibility.blend_parameters, ([5.0], [17.4]), 17.4, "computed", "one liquid"),
    (origin.extract_organic_index, (34.4, 601.0, 4.5), 0.2436, "memory", "ISO 16128-2, example 1"),
    (origin.extract_organic_index, (100.0, 0.0, 4.5), 1.0, "computed", "no water"),
    (origin.extract_organic_index, (10.0, 25.0, 2.5), 25 / 35, "computed", "15 of 25 reconstitute"),
    (origin.natural_origin_content, ([50, 25, 23, 2], [1, 0.8, 1, 0]), 93.0, "computed", "four"),
    (origin.natural_origin_content, ([70, 30], [1, 0]), 70.0, "computed", "a third synthetic"),
    (origin.natural_origin_content, ([1, 1], [0.6, 0.8]), 70.0, "computed", "two derived"),
    (
        origin.natural_origin_content_without_water,
        ([50, 25, 23, 2], [1, 0.8, 1, 0], [0, 0, 23, 0]),
        7000 / 77,
        "computed",
        "23 % water left out",
    ),
    (
        origin.natural_origin_content_without_water,
        ([60, 40], [1, 0.5], [60, 0]),
        50.0,
        "computed",
        "only the derived part left",
    ),
    (
        origin.natural_origin_content_without_water,
        ([60, 40], [1, 1], [30, 0]),
        100.0,
        "computed",
        "all natural",
    ),
    # relative rates oleate 1, linoleate 11, linolenate 22.5
    (oxidation.oxidisability, ([1.0], [1.0]), 1.0, "computed", "pure oleic"),
    (oxidation.oxidisability, ([0.30, 0.60], [1.0, 11.0]), 6.9, "computed", "sunflower"),
    (oxidation.oxidisability, ([0.2, 0.15, 0.55], [1, 11, 22.5]), 14.225, "computed", "linseed"),
    (oxidation.antioxidant_cover, ([0.1], [1.0], 12.0), 8.3333, "computed", "0.1 g on 12 g"),
    (oxidation.antioxidant_cover, ([0.1, 0.1], [1.0, 0.5], 15.0), 10.0, "computed", "two"),
    (oxidation.antioxidant_cover, ([0.0], [1.0], 15.0), 0.0, "computed", "none"),
    (oxidation.induction_time, (10.0, 110.0, 110.0, 80.0), 10.0, "computed", "where measured"),
    (oxidation.induction_time, (10.0, 110.0, 100.0, 80.0), 19.60, "computed", "ten kelvin cooler"),
    (oxidation.induction_time, (10.0, 100.0, 110.0, 80.0), 5.102, "computed", "ten kelvin warmer"),
    (powders.attraction_yield, (0.25, 0.5, 0.0, 1000.0), 125.0, "computed", "half packed"),
    (powders.attraction_yield, (0.25, 0.5, 0.05, 1000.0), 80.0, "computed", "percolates at 5 %"),
    (powders.attraction_yield, (0.05, 0.5, 0.05, 1000.0), 0.0, "computed", "not connected"),
    (powders.mixed_packing, ([1.0, 1.0], [0.4, 0.6]), 0.48, "computed", "harmonic mean"),
    (powders.mixed_packing, ([2.0], [0.5]), 0.5, "computed", "one powder"),
    (powders.mixed_packing, ([1.0, 3.0], [0.4, 0.6]), 4 / 7.5, "computed", "one to three"),
    (powders.powder_share, (21.16, 58.0), 0.2673, "computed", "zinc paste"),
    (powders.powder_share, (1.0, 9.0), 0.1, "computed", "a tenth"),
    (powders.powder_share, (0.0, 5.0), 0.0, "computed", "no powder"),
    (preservation.binding_ratio, (0.5, 3.0), 2.5, "computed", "half a unit a percent"),
    (preservation.binding_ratio, (0.5, 0.0), 1.0, "computed", "no surfactant"),
    (preservation.binding_ratio, (3.3, 2.0), 7.6, "computed", "a fatter preservative"),
    # 0.4 % in 30 water and 70 oil, K 10, all of it undissociated: 0.4/(0.3 + 7)
    (preservation.active_in_water, (0.4, 0.3, 0.7, 10, 1, 1), 0.4 / 7.3, "computed", "in oil"),
    (preservation.active_in_water, (0.4, 1.0, 0.0, 10, 1, 1), 0.4, "computed", "water alone"),
    (preservation.active_in_water, (0.4, 1.0, 0.0, 1, 0.5, 1), 0.2, "computed", "half ionised"),
    (
        preservation.active_in_water,
        (0.4, 1.0, 0.0, 1, 1, 4),
        0.1,
        "computed",
        "three quarters bound",
    ),
    (settling.richardson_zaki, (0.3, 4.65), 0.1904, "computed", "30 % by volume"),
    (settling.richardson_zaki, (0.0, 4.65), 1.0, "computed", "a single particle"),
    (settling.richardson_zaki, (0.5, 4.65), 0.03983, "computed", "half"),
    (solids.acid_solubility_in_ester, (20, 43.82, 36.3), 0.2597, "computed", "lauric at 20 degC"),
    (solids.acid_solubility_in_ester, (25, 69.3, 61.2), 0.02218, "computed", "stearic at 25 degC"),
    (solids.acid_solubility_in_ester, (60, 43.82, 36.3), 1.0, "computed", "above melting"),
    (solids.dissolve, ([0.02062], [0.06107], 0.19), [0.00826], "computed", "cetyl alcohol 10 degC"),
    (solids.dissolve, ([0.5], [0.5], 0.5), [0.0], "computed", "just dissolved"),
    (solids.dissolve, ([1.0], [0.5], 0.5), [0.5], "computed", "half stays"),
    (solids.melting_range_fraction, (43.0, 43.0, 71.0), 0.95, "computed", "low end"),
    (solids.melting_range_fraction, (57.0, 43.0, 71.0), 0.5, "computed", "middle"),
    (solids.melting_range_fraction, (71.0, 43.0, 71.0), 0.05, "computed", "high end"),
    (structure.after_process, (244.5, 0.2), 48.9, "computed", "stirred cream"),
    (structure.after_process, (100.0, 1.0), 100.0, "computed", "poured"),
    (structure.after_process, (100.0, 0.05), 5.0, "computed", "beaten"),
    (structure.polymer_yield, (0.12, 0.06, 6.0, 30.0), 1920.0, "computed", "ethylcellulose twice"),
    (structure.polymer_yield, (0.06, 0.06, 6.0, 30.0), 30.0, "computed", "at the critical level"),
    (structure.polymer_yield, (0.03, 0.01, 2.0, 30.0), 270.0, "computed", "hydroxystearic thrice"),
    (viscosity.slope_from_two, (63.0, 25.0, 128.8, 10.0), 3.05, "published", "canola, Lang 1992"),
    (viscosity.slope_from_two, (55.0, 25.0, 32.0, 40.0), 2.90, "published", "soybean, Magne 1945"),
    (viscosity.slope_from_two, (60.0, 25.0, 35.0, 40.0), 2.82, "published", "cottonseed, Magne"),
    (viscosity.vogel, (20.0, -3.5271, 507.88, 149.39), 1.0058, "memory", "water, Viswanath 1989"),
    (viscosity.vogel, (25.0, -3.5869, 865.70, 76.83), 1.3834, "memory", "dodecane, Viswanath"),
    (viscosity.vogel, (25.0, -5.0853, 1425.85, 107.41), 10.915, "memory", "decanol, Viswanath"),
    (water_activity.ross, ([0.9497, 0.9856],), 0.9360, "computed", "glycerin and salt"),
    (water_activity.ross, ([0.95],), 0.95, "computed", "one solute"),
    (water_activity.ross, ([0.9, 0.8, 0.5],), 0.36, "computed", "three"),
]


@pytest.mark.parametrize(
    ("call", "arguments", "expected"),
    [
        case(call, arguments, value, source=source, where=f"{call.__name__}: {where}")
        for call, arguments, value, source, where in VALUES
    ],
)
def test_value(call, arguments, expected):
    found = np.asarray(call(*arguments))
    assert found == pytest.approx(np.asarray(expected), rel=2e-3, abs=1e-9)


@pytest.mark.parametrize(
    ("acids", "alkali", "share", "leftover"),
    [
        case([3.0, 1.0], 2.0, 0.5, 2.0, source="computed", where="soap_formed: half"),
        case([1.0], 1.0, 1.0, 0.0, source="computed", where="soap_formed: all"),
        case([2.0], 0.0, 0.0, 2.0, source="computed", where="soap_formed: no alkali"),
    ],
)
def test_soap(acids, alkali, share, leftover):
    made = acidity.soap_formed(acids, alkali)
    assert np.asarray(made.share) == pytest.approx(np.full(len(acids), share))
    assert made.leftover_acid == pytest.approx(leftover)


@pytest.mark.parametrize(
    ("salt", "eacn", "t_c", "curvature", "found"),
    [
        case(2.0, 7.25, 25.0, 6.6, 5.6275, source="computed", where="hld: with salt"),
        case(0.0, 10.0, 25.0, 0.0, -1.7, source="computed", where="hld: oil alone"),
        case(0.0, 0.0, 35.0, 0.0, 0.6, source="computed", where="hld: ten kelvin warmer"),
    ],
)
def test_hld(salt, eacn, t_c, curvature, found):
    value = hld.hld(
        salt, eacn, t_c, curvature, salt_coefficient=0.13, k=0.17, temperature_coefficient=0.06
    )
    assert value == pytest.approx(found)


@pytest.mark.parametrize(
    ("yield_pa", "word"),
    [
        case(18.0, "held", source="computed", where="state: cream with beeswax"),
        case(0.0, "settles", source="computed", where="state: no structure"),
        case(0.3, "uncertain", source="computed", where="state: below what can be trusted"),
    ],
)
def test_state(yield_pa, word):
    assert settling.state(yield_pa, 0.0219, 0.092, 1.0) == word


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [
        case(101, 5.0, 95.0, source="computed", where="quantile_range: 0 to 100"),
        case(21, 1.0, 19.0, source="computed", where="quantile_range: 0 to 20"),
        case(1, 0.0, 0.0, source="computed", where="quantile_range: one draw"),
    ],
)
def test_quantiles(count, low, high):
    found = draws.quantile_range(np.arange(float(count)))
    assert found == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("temperatures", "viscosities", "t_c", "found"),
    [
        case((0, 20, 40), (116.6, 35.3, 15.4), 60, 8.37, source="computed", where="squalane"),
        case((0, 20, 40), (116.6, 35.3, 15.4), 20, 35.3, source="published", where="squalane"),
        case((15, 25, 50), (82.54, 44.026, 12.641), 40, 19.854, source="published", where="glycol"),
        case((15, 25, 50), (66.712, 41.112, 14.969), 40, 21.762, source="published", where="diol"),
    ],
)
def test_vogel_through_three(temperatures, viscosities, t_c, found):
    a, b, c = viscosity.vogel_through(list(temperatures), list(viscosities))
    assert viscosity.vogel(t_c, a, b, c) == pytest.approx(found, rel=0.004)
