import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.water_activity import GLYCERIN_BEND, NORRISH_K, bent_norrish, norrish

from .sources import case

GLYCEROL_TABLE = [
    case(p, a, source="memory", where=f"Miner and Dalton 1953, {p} percent")
    for p, a in [(33, 0.9), (51, 0.8), (64, 0.7), (72, 0.6), (79, 0.5), (84, 0.4), (89, 0.3)]
]


@pytest.mark.parametrize(("percent", "a_w"), GLYCEROL_TABLE)
def test_glycerin_down_to_thirty_percent_humidity(percent, a_w):
    found = bent_norrish(percent, 92.09, 100 - percent, NORRISH_K["glycerin"], GLYCERIN_BEND)
    assert found == pytest.approx(a_w, abs=0.01)


@given(st.floats(0.0, 300.0), st.floats(-3.0, 8.0))
def test_without_bend_it_is_norrish(mass, k):
    assert bent_norrish(mass, 150.0, 100.0, k, 0.0) == pytest.approx(norrish(mass, 150.0, 100.0, k))


@given(st.floats(0.0, 45.0))
def test_above_0_85_it_changes_next_to_nothing(mass):
    plain = norrish(mass, 92.09, 100.0, 1.16)
    assert bent_norrish(mass, 92.09, 100.0, 1.16, GLYCERIN_BEND) == pytest.approx(plain, abs=0.003)


@pytest.mark.parametrize(
    ("mass", "molar", "water"), [(-1.0, 92.0, 100.0), (1.0, 0.0, 100.0), (1.0, 92.0, 0.0)]
)
def test_what_is_refused(mass, molar, water):
    with pytest.raises(ValueError, match=r"\w"):
        bent_norrish(mass, molar, water, 1.0, 0.5)
