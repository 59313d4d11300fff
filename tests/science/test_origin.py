import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.origin import (
    GATE,
    extract_organic_index,
    natural_origin_content,
    natural_origin_content_without_water,
    natural_origin_index,
)

from .sources import case


@pytest.mark.parametrize(
    ("natural", "whole", "index"),
    [
        case(16, 19, 0.842, source="computed", where="isopropyl palmitate by carbon"),
        case(255.42, 298.51, 0.856, source="computed", where="isopropyl palmitate by mass"),
        case(14, 17, 0.824, source="computed", where="isopropyl myristate by carbon"),
        case(227.37, 270.46, 0.841, source="computed", where="isopropyl myristate by mass"),
        case(16, 24, 0.667, source="computed", where="ethylhexyl palmitate by carbon"),
        case(255.42, 368.65, 0.693, source="computed", where="ethylhexyl palmitate by mass"),
        case(18, 26, 0.692, source="computed", where="ethylhexyl stearate by carbon"),
        case(225.44, 368.65, 0.612, source="computed", where="cetyl ethylhexanoate by mass"),
        case(12, 17, 0.706, source="computed", where="isoamyl laurate by carbon"),
        case(6, 12, 0.0, source="computed", where="triethyl citrate by carbon, at the gate"),
        case(189.10, 276.29, 0.684, source="computed", where="triethyl citrate by mass"),
        case(185.33, 376.48, 0.0, source="computed", where="sulfate below the gate by mass"),
        case(12, 16, 0.750, source="computed", where="sulfate by carbon"),
        case(183.31, 342.52, 0.535, source="computed", where="betaine by mass"),
    ],
)
def test_index(natural, whole, index):
    assert natural_origin_index(natural, whole, GATE) == pytest.approx(index, abs=6e-4)


@pytest.mark.parametrize(
    ("masses", "indices", "content"),
    [
        case(
            [50, 25, 23, 2],
            [1.0, 0.8, 1.0, 0.0],
            93.0,
            source="published",
            where="jojoba oil 50, glucoside 25, water 23, preservative 2",
        ),
        case([99, 1], [1.0, 0.0], 99.0, source="published", where="1 percent preservative"),
    ],
)
def test_content(masses, indices, content):
    assert natural_origin_content(masses, indices) == pytest.approx(content)


def test_content_without_water():
    found = natural_origin_content_without_water([50, 25, 23, 2], [1, 0.8, 1, 0], [0, 0, 23, 0])
    assert found == pytest.approx(100.0 * 70.0 / 77.0)


def test_extract_of_annex_b():
    # published: ISO 16128-2:2017 Annex B, 34.4 kg dried flowers, 601 kg water, factor 4.5: 0.24
    assert extract_organic_index(34.4, 601.0, 4.5) == pytest.approx(0.2435, abs=2e-4)
    assert round(float(extract_organic_index(34.4, 601.0, 4.5)), 2) == 0.24


def test_little_water_is_all_the_plants_own():
    assert extract_organic_index(10.0, 20.0, 4.5) == 1.0


@given(st.lists(st.floats(0.1, 50.0), min_size=2, max_size=5), st.data())
def test_leaving_water_out_never_raises_the_content(masses, data):
    indices = data.draw(st.lists(st.floats(0.0, 1.0), min_size=len(masses), max_size=len(masses)))
    indices[0] = 1.0
    waters = [masses[0]] + [0.0] * (len(masses) - 1)
    with_water = natural_origin_content(masses, indices)
    without = natural_origin_content_without_water(masses, indices, waters)
    assert -1e-9 <= without <= with_water + 1e-9 <= 100.0 + 2e-9


@given(st.floats(0.0, 1.0))
def test_gate(share):
    index = natural_origin_index(share, 1.0, GATE)
    assert index == (share if share > 0.5 else 0.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: natural_origin_index(-1.0, 2.0, GATE),
        lambda: natural_origin_index(1.0, 0.0, GATE),
        lambda: natural_origin_index(3.0, 2.0, GATE),
        lambda: natural_origin_content([-1.0, 2.0], [1.0, 1.0]),
        lambda: natural_origin_content([1.0], [1.01]),
        lambda: natural_origin_content([0.0], [1.0]),
        lambda: natural_origin_content_without_water([1.0], [1.0], [2.0]),
        lambda: natural_origin_content_without_water([1.0, 1.0], [0.2, 1.0], [0.5, 0.0]),
        lambda: natural_origin_content_without_water([1.0], [1.0], [1.0]),
        lambda: natural_origin_content_without_water([1.0], [1.0], [-1.0]),
        lambda: extract_organic_index(0.0, 1.0, 4.5),
        lambda: extract_organic_index(1.0, -1.0, 4.5),
        lambda: extract_organic_index(1.0, 1.0, 0.5),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
