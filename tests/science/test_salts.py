import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.freezing import activity_of_ice
from kb.science.salts import pitzer_magnesium_sulfate
from kb.science.water_activity import electrolyte, molality

from .sources import case

MAGNESIUM_SULFATE = 120.37


@pytest.mark.parametrize(
    ("percent", "freezing_c"),
    [
        case(2.0, -0.36, source="published", where="CRC, magnesium sulfate 2 %"),
        case(4.0, -0.69, source="published", where="CRC, magnesium sulfate 4 %"),
        case(6.0, -1.05, source="published", where="CRC, magnesium sulfate 6 %"),
        case(8.0, -1.43, source="published", where="CRC, magnesium sulfate 8 %"),
        case(10.0, -1.85, source="published", where="CRC, magnesium sulfate 10 %"),
        case(14.0, -2.86, source="published", where="CRC, magnesium sulfate 14 %"),
    ],
)
def test_magnesium_sulfate_against_freezing_points(percent, freezing_c):
    m = molality(percent, MAGNESIUM_SULFATE, 100.0 - percent)
    found = electrolyte(m, 2.0, pitzer_magnesium_sulfate(m))
    assert found == pytest.approx(activity_of_ice(freezing_c), abs=0.001)


@pytest.mark.parametrize(
    ("m", "osmotic"),
    [
        case(0.1, 0.606, source="memory", where="Robinson and Stokes, magnesium sulfate 0.1"),
        case(0.5, 0.536, source="memory", where="Robinson and Stokes, magnesium sulfate 0.5"),
        case(1.0, 0.526, source="memory", where="Robinson and Stokes, magnesium sulfate 1.0"),
    ],
)
def test_osmotic_coefficient_of_magnesium_sulfate(m, osmotic):
    assert pitzer_magnesium_sulfate(m) == pytest.approx(osmotic, abs=0.015)


@given(st.floats(0.0, 3.0))
def test_paired_ions_lower_water_activity_less_than_free_ones(m):
    assert pitzer_magnesium_sulfate(m) < 1.0 or m < 0.001


@pytest.mark.parametrize("m", [-0.1, 3.2])
def test_outside_its_range_it_refuses(m):
    with pytest.raises(ValueError, match="molality"):
        pitzer_magnesium_sulfate(m)
