"""Every function alike: unknown in, unknown out; draws along the last axis, each as if alone."""

import inspect

import numpy as np
import pytest

from kb.science import (
    acidity,
    associated,
    attraction,
    blending,
    consistency,
    draws,
    droplets,
    emulsion_type,
    freezing,
    hlb,
    hld,
    miscibility,
    origin,
    oxidation,
    powders,
    preservation,
    salts,
    settling,
    solids,
    structure,
    viscosity,
    water_activity,
)

MODULES = (
    acidity, associated, attraction, consistency, draws, droplets, emulsion_type, freezing, hlb,
    hld, miscibility, origin, oxidation, powders, preservation, salts, settling, solids, structure,
    blending, viscosity, water_activity,
)  # fmt: skip

# arguments that are possible for every function; a list has its components along axis 0
CALLS = {
    hlb.blend_hlb: ([1.0, 2.0], [4.0, 15.0]),
    hlb.required_hlb: ([1.0, 2.0], [5.0, 12.0]),
    hlb.emulsifier_share: (10.0, 15.0, 4.3),
    hlb.from_saponification: (147.0, 198.0),
    hlb.from_composition: (40.0, 20.0),
    hlb.griffin: (400.0, 700.0),
    hlb.davies: ([1.9, -0.475], [1.0, 16.0]),
    hld.eacn_blend: ([0.4, 0.6], [7.0, 24.0]),
    hld.oil_term: (7.0, 24.0, 0.16),
    hld.temperature_term: (25.0, 40.0, 0.06),
    hld.salt_term: (0.5, 2.0, 0.13),
    hld.hld_difference: (-2.6, 0.9, 0.26, 0.1),
    blending.vbi: (26.0,),
    blending.nu_from_vbi: (28.0,),
    blending.blend_kinematic: ([0.6, 0.4], [26.0, 8.0]),
    blending.blend_log_mass: ([0.6, 0.4], [26.0, 8.0]),
    blending.mixing_error: ([0.6, 0.4], 0.5, 1.2),
    viscosity.at_temperature: (63.0, 25.0, 40.0, 3.0),
    viscosity.slope_from_two: (63.0, 25.0, 37.0, 40.0),
    viscosity.vogel: (25.0, -3.0, 600.0, 140.0),
    viscosity.vogel_decimal: (25.0, -1.5, -376.0, 77.0),
    viscosity.vogel_through: ([0.0, 20.0, 40.0], [116.6, 35.3, 15.4]),
    viscosity.dynamic: (26.0, 0.9),
    viscosity.kinematic: (26.0, 0.9),
    blending.blend_density: ([0.6, 0.4], [0.9, 0.8]),
    solids.ideal_solubility: (25.0, 66.0, 140.0, 1.2),
    solids.dimer_solubility: (25.0, 69.3, 61.2),
    solids.acid_solubility_in_ester: (25.0, 69.3, 61.2),
    solids.dissolve: ([0.1, 0.2], [0.05, 0.1], 0.5),
    solids.solid_masses: ([10.0, 20.0], [300.0, 600.0], [0.05, 0.1], 0.1),
    solids.melting_range_fraction: (50.0, 43.0, 71.0),
    structure.network_sum: ([0.05, 0.02], [0.025, 0.06]),
    structure.network_yield: (2.0, 2.5, 30.0),
    structure.polymer_yield: (0.08, 0.06, 6.0, 30.0),
    structure.after_process: (200.0, 0.2),
    structure.stirred_share: (4.0, 0.2),
    droplets.krieger_dougherty: (0.5, 0.8, 2.5),
    droplets.pal_low_bound: (0.5, 0.8, 0.03),
    attraction.hamaker: (2.0, 1.47),
    attraction.sauter_size: ([4.0, 17.0], [0.25, 14.0]),
    attraction.mixed_hamaker: ([4.0, 17.0], [0.25, 14.0], [5.8e-20, 1e-21]),
    attraction.contact_strength: (5.8e-20, 0.25, 1.2),
    powders.cpvc: (18.5, 5.6, 0.935),
    powders.mixed_packing: ([1.0, 2.0], [0.47, 0.6]),
    powders.yield_amplification: (0.2, 0.474),
    powders.attraction_yield: (0.2, 0.474, 0.07, 4e4),
    powders.powder_share: (5.0, 50.0),
    powders.reflected: (2.7, 1.48),
    consistency.total_yield: (200.0, 0.2, 1.1, 3.0, 4.0),
    consistency.apparent_viscosity: (29.0, 1.2, 15.0, 49.0, 10.0),
    consistency.climate_ratio: (6000.0, 2000.0),
    settling.stokes: (1.0, 5600.0, 920.0, 28.0),
    settling.richardson_zaki: (0.3, 4.65),
    settling.yield_to_hold: (1.0, 5600.0, 920.0, 0.0477),
    water_activity.raoult: (0.2, 5.0),
    water_activity.norrish: (20.0, 92.09, 80.0, 1.16),
    water_activity.bent_norrish: (60.0, 92.09, 40.0, 1.16, 0.7),
    water_activity.ross: ([0.95, 0.98],),
    salts.pitzer_sodium_chloride: (1.0,),
    salts.pitzer_magnesium_sulfate: (1.0,),
    freezing.activity_of_ice: (-10.0,),
    freezing.at_temperature: (0.85, -20.0, 25.0, -500.0),
    freezing.partial_heat_of_water: (0.1, [-2733.0, -2131.0]),
    associated.grunberg_nissan: (0.5, 44.0, 0.89, -0.89),
    water_activity.electrolyte: (1.0, 2.0, 0.94),
    water_activity.molality: (2.0, 58.44, 78.0),
    preservation.undissociated_fraction: (5.0, 4.2),
    preservation.binding_ratio: (0.5, 3.0),
    preservation.free_in_water: (0.9, 0.3, 0.6, 2.6, 0.8, 1.5),
    preservation.active_in_water: (0.9, 0.3, 0.6, 2.6, 0.8, 1.5),
    preservation.contaminated_drop_share: (1000.0, 10.0),
    acidity.acid_equivalents: (12.0, 20.0),
    acidity.alkali_equivalents: (0.5, 381.37, 2.0, 0.98),
    acidity.henderson: (4.76, 2.0, 1.0),
    acidity.balance_ph: ([0.1, 0.02], [4.2, 6.4], [0.05], [9.25], 0.04, 0.01),
    emulsion_type.probability_oil_in_water: (0.5, 0.9),
    origin.natural_origin_index: (16.0, 19.0, 0.5),
    origin.natural_origin_content: ([50.0, 25.0], [0.9, 0.8]),
    origin.natural_origin_content_without_water: ([50.0, 25.0], [0.9, 0.8], [5.0, 1.0]),
    origin.extract_organic_index: (34.4, 601.0, 4.5),
    miscibility.hansen_distance: ([14.0, 4.0, 4.0], [15.0, 9.0, 19.0]),
    miscibility.red: (6.0, 12.0),
    miscibility.total_parameter: ([14.0, 4.0, 4.0],),
    miscibility.parameter_difference: (8.9, 7.1),
    miscibility.blend_parameters: ([1.0, 2.0], [15.0, 14.0]),
    oxidation.oxidisability: ([0.3, 0.5], [1.0, 11.0]),
    oxidation.iodine_value: ([30.0, 50.0], [0.86, 1.732]),
    oxidation.antioxidant_cover: ([0.1, 0.05], [1.0, 0.5], 12.0),
    oxidation.induction_time: (10.0, 110.0, 100.0, 80.0),
    draws.normal_score: (0.3,),
    draws.normal_between: (1.0, 2.0, 4.0, 0.3),
    draws.lognormal_between: (1.0, 2.0, 4.0, 0.3),
    draws.triangular_between: (1.0, 2.0, 4.0, 0.3),
}
# what takes keywords, answers in words or with a named tuple, and has tests of its own
APART = {
    acidity.soap_formed,
    draws.points,
    draws.quantile_range,
    droplets.jammed_yield,
    emulsion_type.classify,
    hld.hld,
    settling.state,
    associated.alcohol_weights,
}
CHOICES = {(origin.natural_origin_index, 2), (emulsion_type.probability_oil_in_water, 1)}
"""A gate and a way of speaking are chosen, never unknown."""

PLACES = [
    pytest.param(call, place, id=f"{call.__name__} argument {place + 1}")
    for call, arguments in CALLS.items()
    for place in range(len(arguments))
    if (call, place) not in CHOICES
]


def test_no_function_is_left_out():
    public = {
        value
        for module in MODULES
        for name, value in vars(module).items()
        if inspect.isfunction(value)
        and value.__module__ == module.__name__
        and not name.startswith("_")
    }
    assert public == set(CALLS) | APART


@pytest.mark.parametrize(("call", "place"), PLACES)
def test_unknown_in_unknown_out(call, place):
    arguments = list(CALLS[call])
    value = arguments[place]
    arguments[place] = [np.nan, *value[1:]] if isinstance(value, list) else np.nan
    result = np.concatenate([np.ravel(part) for part in np.atleast_1d(call(*arguments))])
    if call is solids.solid_masses and place == 1:
        assert np.isnan(result[0])
    elif call is viscosity.vogel_through:
        assert np.isnan(result).any()
    else:
        assert np.isnan(result).all()


@pytest.mark.parametrize(("call", "place"), PLACES)
def test_each_draw_is_as_if_alone(call, place):
    arguments = list(CALLS[call])
    alone = np.asarray(call(*arguments))
    value = np.asarray(arguments[place])
    shifted = value * (1.0 + 1e-4)
    arguments[place] = np.stack([value, shifted, value, value], axis=-1)
    together = np.asarray(call(*arguments))
    assert together.shape == (*alone.shape, 4)
    for draw in (0, 2, 3):
        assert together[..., draw] == pytest.approx(alone, rel=1e-9, abs=1e-12)
    arguments[place] = shifted
    assert together[..., 1] == pytest.approx(np.asarray(call(*arguments)), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("call", [pytest.param(call, id=call.__name__) for call in CALLS])
def test_inputs_are_left_as_they_were(call):
    arguments = [np.asarray(value, dtype=np.float64) for value in CALLS[call]]
    for value in arguments:
        value.setflags(write=False)
    call(*arguments)


TINY = 1e-3
# the smallest inputs that are still possible: none of them may be refused
SMALL = {
    hlb.from_saponification: (0.0, TINY),
    hlb.from_composition: (0.0, 100.0),
    hlb.griffin: (0.0, TINY),
    hlb.davies: ([1.9], [0.0]),
    hld.oil_term: (0.0, 0.0, 0.0),
    hld.salt_term: (0.0, 0.0, 0.13),
    blending.vbi: (0.201,),
    viscosity.at_temperature: (0.301, 25.0, 20.0, 3.0),
    viscosity.vogel: (-272.0, 1.0, 0.01, 1.149),
    viscosity.dynamic: (0.0, TINY),
    viscosity.kinematic: (0.0, TINY),
    blending.blend_log_mass: ([1.0], [TINY]),
    blending.mixing_error: ([0.0, 1.0], 0.0, TINY),
    associated.grunberg_nissan: (0.0, TINY, TINY, 0.0),
    freezing.activity_of_ice: (-70.0,),
    freezing.at_temperature: (TINY, -273.1, -273.1, 0.0),
    freezing.partial_heat_of_water: (0.0, [0.0]),
    salts.pitzer_magnesium_sulfate: (0.0,),
    blending.blend_density: ([TINY], [TINY]),
    viscosity.vogel_through: ([0.0, 10.0, 20.0], [0.004, 0.002, 0.0015]),
    solids.ideal_solubility: (-273.149, -273.149, TINY, TINY),
    solids.dissolve: ([0.0], [0.0], 0.0),
    solids.solid_masses: ([TINY], [TINY], [1.0], 0.0),
    solids.melting_range_fraction: (0.0, 0.0, TINY),
    structure.network_sum: ([0.0], [TINY]),
    structure.network_yield: (0.0, TINY, 0.0),
    structure.polymer_yield: (0.0, TINY, TINY, 0.0),
    structure.after_process: (0.0, 0.0),
    droplets.krieger_dougherty: (0.0, TINY, 0.0),
    droplets.pal_low_bound: (0.0, TINY, 0.0),
    powders.cpvc: (0.0, TINY, TINY),
    powders.mixed_packing: ([TINY], [TINY]),
    powders.yield_amplification: (0.0, TINY),
    powders.attraction_yield: (0.0, TINY, 0.0, 0.0),
    powders.powder_share: (0.0, TINY),
    consistency.total_yield: (0.0, 0.0, 0.0, 0.0, 0.0),
    consistency.apparent_viscosity: (0.0, 1.0, 1.0, 0.0, TINY),
    consistency.climate_ratio: (TINY, TINY),
    settling.stokes: (0.0, TINY, TINY, TINY),
    settling.richardson_zaki: (0.0, 0.0),
    settling.yield_to_hold: (0.0, TINY, TINY, 0.0),
    settling.state: (0.0, 0.0, 0.0, 0.0),
    water_activity.raoult: (0.0, TINY),
    water_activity.norrish: (0.0, TINY, TINY, 0.0),
    water_activity.ross: ([0.0],),
    water_activity.electrolyte: (0.0, TINY, TINY),
    water_activity.molality: (0.0, TINY, TINY),
    preservation.binding_ratio: (0.0, 0.0),
    preservation.free_in_water: (0.0, TINY, 0.0, 0.0, 0.0, 1.0),
    preservation.contaminated_drop_share: (0.0, 0.0),
    acidity.acid_equivalents: (0.0, 0.0),
    acidity.alkali_equivalents: (0.0, TINY, 0.0, 0.0),
    acidity.soap_formed: ([0.0], 0.0),
    acidity.henderson: (4.76, TINY, TINY),
    acidity.balance_ph: ([0.0], [4.0], [0.0], [9.0], 0.0, 0.0),
    emulsion_type.classify: (0.0, 0.0),
    origin.natural_origin_index: (0.0, TINY, 0.5),
    origin.natural_origin_content: ([TINY], [0.0]),
    origin.natural_origin_content_without_water: ([0.0, TINY], [0.0, 1.0], [0.0, 0.0]),
    origin.extract_organic_index: (TINY, 0.0, 1.0),
    miscibility.hansen_distance: ([0.0, 0.0, 0.0], [0.0, 0.0, 0.0]),
    miscibility.red: (0.0, TINY),
    miscibility.total_parameter: ([0.0, 0.0, 0.0],),
    miscibility.parameter_difference: (0.0, 0.0),
    oxidation.oxidisability: ([0.0], [0.0]),
    oxidation.iodine_value: ([0.0], [0.86]),
    oxidation.antioxidant_cover: ([0.0], [0.0], 0.0),
    oxidation.induction_time: (0.0, -273.1, -273.1, 0.0),
    draws.normal_score: (TINY,),
    draws.lognormal_between: (TINY, TINY, TINY, TINY),
    draws.triangular_between: (0.0, 0.0, 0.0, 0.0),
}


@pytest.mark.parametrize("call", [pytest.param(call, id=call.__name__) for call in SMALL])
def test_the_smallest_possible_input_is_not_refused(call):
    for part in np.atleast_1d(np.asarray(call(*SMALL[call]), dtype=object)).ravel():
        if not isinstance(part, str | np.ndarray):
            assert not np.isnan(part)
