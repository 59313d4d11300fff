import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.science.hlb import (
    DAVIES_GROUPS,
    SOAP_HLB,
    blend_hlb,
    davies,
    emulsifier_share,
    from_composition,
    from_saponification,
    griffin,
    required_hlb,
)

from .sources import case

POLYSORBATE_20, POLYSORBATE_80, PEG_35_CASTOR = 16.7, 15.0, 13.0
SORBITAN_LAURATE, SORBITAN_OLEATE, SORBITAN_STEARATE = 8.6, 4.3, 4.7

PRINTED_BLENDS = [
    (4.9, 95.1, POLYSORBATE_20, SORBITAN_LAURATE, 9.0, 0.005),
    (17.3, 82.7, POLYSORBATE_20, SORBITAN_LAURATE, 10.0, 0.005),
    (42.0, 58.0, POLYSORBATE_20, SORBITAN_LAURATE, 12.0, 0.005),
    (66.7, 33.3, POLYSORBATE_20, SORBITAN_LAURATE, 14.0, 0.005),
    (29.8, 70.2, POLYSORBATE_20, SORBITAN_OLEATE, 8.0, 0.005),
    (46.0, 54.0, POLYSORBATE_20, SORBITAN_OLEATE, 10.0, 0.005),
    (62.1, 37.9, POLYSORBATE_20, SORBITAN_OLEATE, 12.0, 0.005),
    (78.2, 21.8, POLYSORBATE_20, SORBITAN_OLEATE, 14.0, 0.005),
    (21.9, 78.1, POLYSORBATE_80, SORBITAN_LAURATE, 10.0, 0.005),
    (53.1, 46.9, POLYSORBATE_80, SORBITAN_LAURATE, 12.0, 0.005),
    (84.4, 15.6, POLYSORBATE_80, SORBITAN_LAURATE, 14.0, 0.005),
    (42.5, 57.5, PEG_35_CASTOR, SORBITAN_OLEATE, 8.0, 0.005),
    (65.5, 34.5, PEG_35_CASTOR, SORBITAN_OLEATE, 10.0, 0.005),
    (88.5, 11.5, PEG_35_CASTOR, SORBITAN_OLEATE, 12.0, 0.005),
]


@pytest.mark.parametrize(
    ("a", "b", "hlb_a", "hlb_b", "printed", "within"),
    [
        case(*row, source="published", where=f"{row[0]}/{row[1]} for HLB {row[4]}, PMC3969497")
        for row in PRINTED_BLENDS
    ]
    + [
        case(9, 1, 15.0, 4.3, 13.93, 0.005, source="published", where="9:1, PMC4137601"),
        case(8, 2, 15.0, 4.3, 12.86, 0.005, source="published", where="8:2, PMC4137601"),
        case(7, 3, 15.0, 4.3, 11.79, 0.005, source="published", where="7:3, PMC4137601"),
        case(1.64, 1.36, 15.0, 4.7, 10.33, 0.005, source="published", where="F1, OCL journal"),
        case(1.46, 1.54, 15.0, 4.7, 9.71, 0.005, source="published", where="F3, OCL journal"),
        case(1.35, 1.65, 15.0, 4.7, 9.33, 0.006, source="published", where="F4, OCL journal"),
        case(70, 30, 15.0, 4.3, 11.8, 0.05, source="memory", where="the HLB system guide"),
    ],
)
def test_blend_meets_printed_value(a, b, hlb_a, hlb_b, printed, within):
    assert blend_hlb([a, b], [hlb_a, hlb_b]) == pytest.approx(printed, abs=within)


@pytest.mark.parametrize(
    ("masses", "required", "printed", "within"),
    [
        case(
            [35, 1, 1],
            [12, 10, 15],
            12.03,
            0.005,
            source="computed",
            where="paraffin, wool fat, cetyl alcohol; an exercise prints 12.1 after rounding",
        ),
        case([30, 50, 20], [14, 6, 14], 10.0, 1e-9, source="memory", where="the HLB system guide"),
        case(
            [1.5, 7.5, 7.5, 12.5, 5],
            [12, 11.5, 3.8, 15, 6.2],
            10.33,
            0.005,
            source="published",
            where="five-part oil phase F1, OCL journal",
        ),
        case(
            [1.5, 7.5, 7.5, 10.5, 5],
            [12, 11.5, 3.8, 15, 6.2],
            10.04,
            0.005,
            source="published",
            where="oil phase F2, OCL journal",
        ),
        case(
            [1.5, 7.5, 7.5, 6.5, 5],
            [12, 11.5, 3.8, 15, 6.2],
            9.33,
            0.006,
            source="published",
            where="oil phase F4, OCL journal",
        ),
        case([1, 3], [11.5, 15.5], 14.5, 1e-9, source="published", where="ester and cetyl alcohol"),
        case([10, 7.5, 7.5], [7, 6, 8], 7.0, 1e-9, source="published", where="soybean and butters"),
    ],
)
def test_required_hlb_meets_printed_value(masses, required, printed, within):
    assert required_hlb(masses, required) == pytest.approx(printed, abs=within)


@pytest.mark.parametrize(
    ("required", "a", "b", "share", "within"),
    [
        case(10.5, 15.0, 4.3, 0.5794, 5e-5, source="computed", where="share equation"),
        case(12.1, 15.0, 4.3, 0.729, 5e-4, source="memory", where="university exercise"),
        case(14.5, 18.8, 3.8, 0.7133, 5e-5, source="published", where="PEG-100 stearate pair"),
    ],
)
def test_share_of_the_first_emulsifier(required, a, b, share, within):
    assert emulsifier_share(required, a, b) == pytest.approx(share, abs=within)


def test_share_outside_the_pair_is_told_by_its_size():
    assert emulsifier_share(17.0, 15.0, 4.3) > 1.0
    assert emulsifier_share(2.0, 15.0, 4.3) < 0.0


@pytest.mark.parametrize(
    ("s", "a", "printed", "within"),
    [
        case(161, 198, 3.8, 0.1, source="memory", where="glyceryl stearate, Griffin 1954"),
        case(45.5, 276, 16.7, 0.01, source="memory", where="polysorbate 20, HLB system guide"),
        case(145, 219, 6.76, 0.01, source="computed", where="sorbitan palmitate"),
        case(182, 203, 2.07, 0.01, source="computed", where="sorbitan tristearate"),
        case(147, 198, 5.15, 0.01, source="computed", where="sorbitan oleate, published 4.3"),
        case(164, 280, 8.29, 0.01, source="computed", where="sorbitan laurate, published 8.6"),
    ],
)
def test_saponification(s, a, printed, within):
    assert from_saponification(s, a) == pytest.approx(printed, abs=within)


@pytest.mark.parametrize(
    ("units", "alcohol", "printed"),
    [
        case(2, 270.5, 4.9, source="memory", where="steareth-2, Griffin 1954"),
        case(20, 270.5, 15.3, source="memory", where="steareth-20, HLB system guide"),
        case(2, 242.4, 5.3, source="memory", where="ceteth-2, Griffin 1954"),
        case(20, 242.4, 15.7, source="memory", where="ceteth-20, Griffin 1954"),
        case(4, 186.3, 9.7, source="memory", where="laureth-4, Griffin 1954"),
        case(23, 186.3, 16.9, source="memory", where="laureth-23, Griffin 1954"),
        case(10, 268.5, 12.4, source="memory", where="oleth-10, Griffin 1954"),
    ],
)
def test_ethoxylates_both_ways(units, alcohol, printed):
    hydrophile = units * 44.05
    share = 100.0 * hydrophile / (hydrophile + alcohol)
    assert griffin(hydrophile, hydrophile + alcohol) == pytest.approx(printed, abs=0.06)
    assert from_composition(share, 0.0) == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize(
    ("groups", "carbons", "printed"),
    [
        case(["hydroxyl, free"], 16, 1.3, source="memory", where="cetyl alcohol, Davies 1957"),
        case(["-SO4Na"], 12, 40.0, source="memory", where="lauryl sulfate, Davies 1957"),
        case(["-COOK"], 17, 20.0, source="memory", where="potassium oleate, Davies 1957"),
        case(["-COONa"], 17, 18.0, source="memory", where="sodium oleate, Davies 1957"),
        case(
            ["ester, free", "hydroxyl, free", "hydroxyl, free"],
            20,
            3.7,
            source="memory",
            where="glyceryl stearate, Davies 1957",
        ),
        case(
            ["ester, free", "hydroxyl, free"],
            20,
            1.8,
            source="memory",
            where="propylene glycol stearate, Davies 1957",
        ),
        case(
            ["ester, sorbitan ring", "ether -O-"] + 3 * ["hydroxyl, sorbitan ring"],
            17,
            8.5,
            source="memory",
            where="sorbitan laurate, Davies 1957",
        ),
        case(
            ["ester, sorbitan ring", "ether -O-"] + 3 * ["hydroxyl, sorbitan ring"],
            23,
            5.7,
            source="memory",
            where="sorbitan stearate, Davies 1957",
        ),
        case(["hydroxyl, free"], 4, 7.0, source="memory", where="butanol, Davies 1957"),
    ],
)
def test_davies_groups(groups, carbons, printed):
    numbers = [DAVIES_GROUPS[name] for name in groups] + [DAVIES_GROUPS["-CH2-"]]
    counts = [1] * len(groups) + [carbons]
    assert davies(numbers, counts) == pytest.approx(printed, abs=0.051)


def test_polyol_content_overestimates_sorbitan_esters():
    # published limits of polyol, 25-31 percent for sorbitan oleate, whose published HLB is 4.3
    assert from_composition(0.0, 25.0) == pytest.approx(5.0)
    assert from_composition(0.0, 31.0) == pytest.approx(6.2)


def test_soaps_lie_where_the_rule_for_types_needs_them():
    assert SOAP_HLB["calcium soap"] < 6.0 < SOAP_HLB["borax and beeswax"]


@given(st.floats(1.0, 20.0), st.floats(1.0, 20.0), st.floats(0.01, 0.99))
def test_share_undoes_the_blend(a, b, share):
    if abs(a - b) < 0.1:
        return
    blend = blend_hlb([share, 1.0 - share], [a, b])
    assert emulsifier_share(blend, a, b) == pytest.approx(share, abs=1e-6)


@given(st.permutations(range(4)))
def test_order_of_the_emulsifiers_does_not_matter(order):
    masses, hlbs = np.array([1.0, 2.0, 3.0, 4.0]), np.array([4.3, 8.6, 15.0, 16.7])
    index = list(order)
    assert blend_hlb(masses[index], hlbs[index]) == pytest.approx(blend_hlb(masses, hlbs))


@pytest.mark.parametrize(
    "call",
    [
        lambda: blend_hlb([-1.0, 2.0], [4.0, 5.0]),
        lambda: required_hlb([0.0], [4.0]),
        lambda: emulsifier_share(10.0, 8.0, 8.0),
        lambda: from_saponification(-1.0, 200.0),
        lambda: from_saponification(100.0, 0.0),
        lambda: from_saponification(201.0, 200.0),
        lambda: from_composition(-1.0, 0.0),
        lambda: from_composition(60.0, 40.1),
        lambda: griffin(-1.0, 100.0),
        lambda: griffin(1.0, 0.0),
        lambda: griffin(101.0, 100.0),
        lambda: davies([1.9], [-1]),
    ],
)
def test_impossible_input(call):
    with pytest.raises(ValueError):
        call()
