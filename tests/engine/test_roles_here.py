"""One ingredient, several roles: which of them it plays depends on the company it keeps."""

from dataclasses import replace

import pytest

from .bench import (
    at_level,
    demo,
    formula,
    host,
    in_family,
    plus,
    shares,
    without,
)

STICK = formula(
    ("Castor Oil", 52.0, "oil"),
    ("Octyldodecanol", 20.0, "oil"),
    ("Candelilla Wax", 8.0, "oil"),
    ("Beeswax", 10.0, "oil"),
    ("Lanolin", 10.0, "oil"),
    system="anhydrous",
)


def leading(roles):
    return max(roles, key=roles.get)


class TestBeeswax:
    def test_in_a_stick_it_is_a_wax_and_nothing_else(self, base):
        roles = shares(STICK, "Beeswax", base)
        assert in_family(roles, "oil-phase-structurant", base) > 0.95
        assert in_family(roles, "emulsifier", base) == 0.0

    def test_beside_a_real_emulsifier_it_hardly_emulsifies(self, base):
        for name in ("oyster-barrier", "winter-hand-cream"):
            roles = shares(demo(name), "Beeswax", base)
            assert in_family(roles, "emulsifier", base) <= 0.1
            assert in_family(roles, "oil-phase-structurant", base) >= 0.85

    def test_with_borax_it_is_the_acid_of_the_soap(self, base):
        roles = shares(host("cold-cream-alkali"), "Beeswax", base)
        assert leading(roles) == "soap-acid"

    def test_without_the_borax_it_is_not(self, base):
        roles = shares(without(host("cold-cream-alkali"), "Sodium Borate"), "Beeswax", base)
        assert in_family(roles, "soap-part", base) == 0.0

    def test_with_no_other_emulsifier_it_emulsifies_more(self, base):
        cream = demo("winter-hand-cream")
        bare = without(cream, "Polyglyceryl-3 Diisostearate")
        alone = in_family(shares(bare, "Beeswax", base), "emulsifier", base)
        beside = in_family(shares(cream, "Beeswax", base), "emulsifier", base)
        assert alone > beside


class TestCetearylAlcohol:
    def test_in_oil_in_water_it_builds_the_gel_network(self, base):
        roles = shares(demo("rinse-lotion"), "Cetearyl Alcohol", base)
        assert in_family(roles, "gel-network-alcohol", base) >= 0.5

    def test_in_water_in_oil_it_is_only_a_solid_fatty_alcohol(self, base):
        cream = plus(demo("winter-hand-cream"), ("Cetearyl Alcohol", 2.0, "oil"))
        roles = shares(cream, "Cetearyl Alcohol", base)
        assert in_family(roles, "gel-network-alcohol", base) == 0.0
        assert in_family(roles, "emulsifier", base) <= 0.1
        assert in_family(roles, "solid-fatty-alcohol", base) >= 0.4


class TestZincOxide:
    def test_beside_uv_filters_it_is_one(self, base):
        roles = shares(host("w-o-mineral-uv"), "Zinc Oxide", base)
        assert leading(roles) == "mineral-uv-filter"

    def test_in_a_barrier_cream_it_is_a_barrier_powder(self, base):
        for whole in (demo("oyster-barrier"), host("w-o-barrier-zinc")):
            roles = shares(whole, "Zinc Oxide", base)
            assert leading(roles) == "barrier-powder"
            assert in_family(roles, "uv-filter", base) <= 0.1

    def test_in_a_paste_it_is_a_barrier_powder(self, base):
        assert leading(shares(host("zinc-paste"), "Zinc Oxide", base)) == "barrier-powder"

    def test_a_claim_makes_the_difference(self, base):
        whole = demo("oyster-barrier")
        claimed = replace(whole, product={**whole.product, "claims": ["SPF 20"]})
        plain = in_family(shares(whole, "Zinc Oxide", base), "uv-filter", base)
        told = in_family(shares(claimed, "Zinc Oxide", base), "uv-filter", base)
        assert told > plain + 0.2

    def test_what_the_maker_states_counts_alone(self, base):
        whole = demo("oyster-barrier")
        lines = tuple(
            replace(x, role="mineral-uv-filter") if x.given == "Zinc Oxide" else x
            for x in whole.lines
        )
        roles = shares(replace(whole, lines=lines), "Zinc Oxide", base)
        assert roles == {"mineral-uv-filter": 1.0}


class TestStearicAcid:
    def test_with_alkali_it_is_the_acid_of_the_soap(self, base):
        roles = shares(host("vanishing-alkali"), "Stearic Acid", base)
        assert leading(roles) == "soap-acid"

    def test_in_a_balm_it_is_a_solid(self, base):
        balm = plus(demo("deck-balm"), ("Stearic Acid", 4.0, "oil"))
        roles = shares(balm, "Stearic Acid", base)
        assert in_family(roles, "soap-part", base) == 0.0
        assert in_family(roles, "oil-phase-structurant", base) >= 0.5


class TestGlycerin:
    def test_in_a_cream_it_holds_water(self, base):
        roles = shares(demo("winter-hand-cream"), "Glycerin", base)
        assert in_family(roles, "humectant", base) >= 0.8
        assert in_family(roles, "active", base) <= 0.1

    def test_it_is_an_active_only_when_declared(self, base):
        whole = demo("winter-hand-cream")
        lines = tuple(replace(x, active=True) if x.given == "Glycerin" else x for x in whole.lines)
        declared = shares(replace(whole, lines=lines), "Glycerin", base)
        plain = shares(whole, "Glycerin", base)
        assert in_family(declared, "active", base) > in_family(plain, "active", base)

    def test_it_preserves_only_as_half_of_the_water(self, base):
        """Water activity at 10 % glycerin in water 0.98, at 50 % about 0.82."""
        from .bench import profile_of

        gel = formula(
            ("Water", 48.0, "water"),
            ("Glycerin", 51.0, "water"),
            ("Xanthan Gum", 1.0, "water"),
        )
        thin = formula(
            ("Water", 89.0, "water"),
            ("Glycerin", 10.0, "water"),
            ("Xanthan Gum", 1.0, "water"),
        )
        assert profile_of(gel, base).value("water_activity") < 0.85
        assert profile_of(thin, base).value("water_activity") > 0.97


class TestMagnesiumSulfate:
    def test_in_water_in_oil_it_stabilises(self, base):
        for whole in (demo("oyster-barrier"), demo("winter-hand-cream")):
            roles = shares(whole, "Magnesium Sulfate", base)
            assert leading(roles) == "wo-electrolyte"

    def test_in_oil_in_water_it_does_not(self, base):
        lotion = plus(demo("rinse-lotion"), ("Magnesium Sulfate", 0.5, "water"))
        roles = shares(lotion, "Magnesium Sulfate", base)
        assert in_family(roles, "wo-electrolyte", base) < 0.3


class TestLevels:
    @pytest.mark.parametrize("percent", [0.5, 1.0, 2.0])
    def test_lecithin_on_a_powder_is_a_dispersant(self, percent, base):
        balm = plus(demo("deck-balm"), ("Zinc Oxide", 10.0, "powder"), ("Lecithin", percent, "oil"))
        roles = shares(balm, "Lecithin", base)
        assert in_family(roles, "dispersant", base) >= 0.3

    def test_the_roles_of_a_line_follow_the_sum_of_its_lines(self, base):
        one = shares(demo("deck-balm"), "Beeswax", base)
        halved = at_level(demo("deck-balm"), "Beeswax", 7.0)
        lines = [*halved.lines, replace(halved.lines[3], given="Cera Alba", stage="melt")]
        olive = lines[0]
        lines[0] = replace(olive, percent=olive.percent - 7.0)
        from kb.engine.roles import roles_here

        from .bench import profile_of

        profile = profile_of(replace(halved, lines=tuple(lines)), base)
        item = next(i for i in profile.batch.items if i.material == "cera-alba")
        two = {h.role: h.share for h in roles_here(item, profile, base)}
        assert two == pytest.approx(one)
