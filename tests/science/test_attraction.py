import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.attraction import (
    BARE_GAP,
    COVERED_GAP,
    POLAR_OIL_GAP,
    contact_strength,
    hamaker,
    mixed_hamaker,
    sauter_size,
)

from .sources import case


# Full calculations of the same quantity; the dispersion part alone must come within a fifth. Zero
# frequency adds up to 3e-21 J: across air the index of the medium is 1.
@pytest.mark.parametrize(
    ("index", "medium", "joule"),
    [
        case(1.448, 1.0, 6.3e-20, source="memory", where="Israelachvili, fused quartz in air"),
        case(1.411, 1.0, 5.0e-20, source="memory", where="Israelachvili, dodecane in air"),
        case(1.557, 1.0, 7.9e-20, source="memory", where="Israelachvili, polystyrene in air"),
        case(1.557, 1.333, 1.4e-20, source="memory", where="Israelachvili, polystyrene in water"),
    ],
)
def test_hamaker_comes_near_full_calculations(index, medium, joule):
    assert hamaker(index, medium) == pytest.approx(joule, rel=0.25)


def test_hamaker_is_nothing_between_equal_indices():
    assert hamaker(1.47, 1.47) == 0.0


def test_sauter_size_of_one_powder_and_of_two():
    assert sauter_size([3.0], [0.25]) == pytest.approx(0.25)
    # computed: 2/(1/1 + 1/3)
    assert sauter_size([1.0, 1.0], [1.0, 3.0]) == pytest.approx(1.5)
    # computed: 1/(0.9/10 + 0.1/0.1)
    assert sauter_size([0.9, 0.1], [10.0, 0.1]) == pytest.approx(0.9174, abs=1e-4)


def test_mixed_hamaker_goes_by_surface():
    assert mixed_hamaker([5.0], [2.0], [4e-20]) == pytest.approx(4e-20)
    # computed: equal surfaces, ((2 + 1)/2)^2
    assert mixed_hamaker([1.0, 1.0], [1.0, 1.0], [4e-20, 1e-20]) == pytest.approx(2.25e-20)
    # computed: the fine one has 10/11 of the surface
    found = mixed_hamaker([1.0, 1.0], [0.1, 1.0], [4e-20, 0.0])
    assert found == pytest.approx(4e-20 * (10.0 / 11.0) ** 2)


@pytest.mark.parametrize(
    ("joule", "size", "gap", "pascal"),
    [
        case(6e-20, 1.0, 1.0, 10000.0, source="computed", where="A/(6 d h^2)"),
        case(6e-20, 2.0, 1.0, 5000.0, source="computed", where="twice the size"),
        case(6e-20, 1.0, 2.0, 2500.0, source="computed", where="twice the gap"),
    ],
)
def test_contact_strength(joule, size, gap, pascal):
    assert contact_strength(joule, size, gap) == pytest.approx(pascal)


def test_gaps_are_ordered_by_what_covers_the_powder():
    nominal, low, high = BARE_GAP
    assert low < nominal < high
    assert nominal < POLAR_OIL_GAP < COVERED_GAP


@given(st.floats(0.05, 20.0), st.floats(0.5, 5.0), st.floats(1.5, 3.0))
def test_finer_closer_and_denser_attract_more(size, gap, index):
    a = hamaker(index, 1.46)
    assert contact_strength(a, size, gap) >= contact_strength(a, 2.0 * size, gap)
    assert contact_strength(a, size, gap) >= contact_strength(a, size, 1.5 * gap)
    assert hamaker(index + 0.1, 1.46) > a


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: hamaker(0.9, 1.4), "refractive index"),
        (lambda: hamaker(1.5, 0.5), "refractive index"),
        (lambda: sauter_size([-1.0], [1.0]), "volumes"),
        (lambda: sauter_size([0.0], [1.0]), "at least one"),
        (lambda: sauter_size([1.0], [0.0]), "size"),
        (lambda: mixed_hamaker([1.0], [1.0], [-1e-20]), "Hamaker"),
        (lambda: contact_strength(-1.0, 1.0, 1.0), "Hamaker"),
        (lambda: contact_strength(1e-20, 0.0, 1.0), "size and gap"),
        (lambda: contact_strength(1e-20, 1.0, 0.0), "size and gap"),
    ],
)
def test_what_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
