"""Twelve materials that work differently in different company, each in at least two formulas."""

from dataclasses import replace

import pytest

from kb.engine.opening import open_formula
from kb.engine.suits import suits_system
from kb.engine.swap import swap

from .bench import (
    at_level,
    figures,
    findings_of,
    formula,
    generic,
    host,
    in_family,
    place_of,
    plus,
    profile_of,
    shares,
    without,
)

WO = host("w-o-cream-emulsifier")
OW = host("o-w-lotion")
STICK = host("lip-colour-stick")
OIL = host("body-oil")
GEL = host("water-gel-carbomer")
SOAP = host("vanishing-alkali")
SELF = formula(
    ("Glyceryl Stearate SE", 5.0, "oil"),
    ("Caprylic/Capric Triglyceride", 12.0, "oil"),
    ("Water", 82.0, "water"),
    ("Phenoxyethanol", 1.0, "cool-down"),
    system="o/w",
)
WITH_LECITHIN = plus(without(WO, "Sorbitan Oleate"), ("Lecithin", 3.0, "oil"))


def leading(whole, name, base):
    roles = shares(whole, name, base)
    return max(roles, key=roles.get)


def said(whole, name, base):
    """Rules of the findings on one line of a formula, with their levels."""
    number = next(n for n, line in enumerate(whole.lines, 1) if line.given == name)
    return {(f.level, f.rule) for f in findings_of(whole, base) if number in f.lines}


def rules_on(whole, name, base):
    return {rule for _, rule in said(whole, name, base)}


class TestGlycerylStearate:
    def test_in_water_in_oil_it_is_a_waxy_emulsifier(self, base):
        cream = plus(WO, ("Glyceryl Stearate", 2.0, "oil"))
        assert leading(cream, "Glyceryl Stearate", base) == "wo-emulsifier-waxy"

    def test_in_oil_in_water_it_is_a_partner(self, base):
        roles = shares(OW, "Glyceryl Stearate", base)
        assert in_family(roles, "co-emulsifier", base) > 0.9
        assert in_family(roles, "wo-emulsifier", base) == 0.0

    def test_as_a_partner_it_is_not_matched_by_hlb(self, base):
        opened = open_formula(OW, base)
        result = swap(opened.batch, place_of(opened, "Glyceryl Stearate", base), base)
        assert result.swaps
        compared = {c.trait.property for s in result.swaps for c in s.candidate.comparisons}
        assert compared and "hlb" not in compared

    def test_alone_it_holds_no_oil_in_water(self, base):
        opened = open_formula(host("o-w-cream-emulsifier"), base)
        result = swap(opened.batch, place_of(opened, "Polysorbate 60", base), base)
        refused = {generic(r.material): r.rule for r in result.rejected}
        assert refused["glyceryl-stearate"] in {"needs-partner", "wrong-emulsion-type"}


class TestSelfEmulsifyingGlycerylStearate:
    def test_it_emulsifies_by_itself(self, base):
        assert leading(SELF, "Glyceryl Stearate SE", base) == "ow-emulsifier-self"
        assert "wrong-counter-ion" not in rules_on(SELF, "Glyceryl Stearate SE", base)

    def test_a_magnesium_salt_crashes_its_soap(self, base):
        salted = plus(SELF, ("Magnesium Sulfate", 0.5, "water"))
        assert ("problem", "wrong-counter-ion") in said(salted, "Glyceryl Stearate SE", base)


class TestCetearylAlcohol:
    def test_in_oil_in_water_it_is_half_of_a_pair(self, base):
        roles = shares(host("o-w-cream-nonionic"), "Cetearyl Alcohol", base)
        assert in_family(roles, "co-emulsifier", base) > 0.9
        assert roles["gel-network-alcohol"] >= 0.5
        needs = suits_system("cetearyl-alcohol", "o/w", base, "emulsifier")
        assert "needs-partner" in {r.rule for r in needs.because}

    def test_in_water_in_oil_it_is_no_emulsifier(self, base):
        cream = plus(WO, ("Cetearyl Alcohol", 3.0, "oil"))
        roles = shares(cream, "Cetearyl Alcohol", base)
        assert roles == {"solid-fatty-alcohol": pytest.approx(1.0)}
        verdict = suits_system("cetearyl-alcohol", "w/o", base, "emulsifier")
        assert verdict.verdict != "works"
        assert "function-lost" in {r.rule for r in verdict.because}

    def test_in_water_in_oil_it_drifts_with_the_climate(self, base):
        plain = figures(WO, base)
        alcohol = figures(plus(WO, ("Cetearyl Alcohol", 3.0, "oil")), base)
        wax = figures(at_level(WO, "Beeswax", 5.0), base)
        drift = "climate_drift_10_over_40"
        assert alcohol[drift] > 1.1 * plain[drift]
        assert wax[drift] < plain[drift]

    def test_it_is_refused_as_the_emulsifier_of_water_in_oil(self, base):
        opened = open_formula(WO, base)
        result = swap(opened.batch, place_of(opened, "Sorbitan Oleate", base), base)
        refused = {generic(r.material): r.rule for r in result.rejected}
        assert refused["cetearyl-alcohol"] in {"wrong-emulsion-type", "needs-partner"}


class TestLecithin:
    def test_in_water_in_oil_it_emulsifies_and_wants_no_salt(self, base):
        assert leading(WITH_LECITHIN, "Lecithin", base) == "wo-emulsifier-lecithin"
        assert ("problem", "electrolyte-break") in said(WITH_LECITHIN, "Lecithin", base)
        fresh = without(WITH_LECITHIN, "Magnesium Sulfate")
        assert "electrolyte-break" not in rules_on(fresh, "Lecithin", base)

    def test_on_pigment_it_is_a_dispersant(self, base):
        stick = plus(STICK, ("Lecithin", 1.0, "oil"))
        assert leading(stick, "Lecithin", base) == "dispersant"

    def test_rich_in_phosphatidylcholine_it_holds_oil_in_water(self, base):
        name = "High Phosphatidylcholine Lecithin"
        cream = formula(
            (name, 3.0, "oil"),
            ("Caprylic/Capric Triglyceride", 12.0, "oil"),
            ("Cetearyl Alcohol", 2.0, "oil"),
            ("Water", 82.0, "water"),
            ("Phenoxyethanol", 1.0, "cool-down"),
            system="o/w",
        )
        roles = shares(cream, name, base)
        assert in_family(roles, "ow-emulsifier", base) >= 0.6
        assert in_family(roles, "wo-emulsifier", base) == 0.0
        assert "wrong-emulsion-type" not in rules_on(cream, name, base)

    def test_the_plain_one_does_not(self, base):
        cream = formula(
            ("Lecithin", 3.0, "oil"),
            ("Caprylic/Capric Triglyceride", 12.0, "oil"),
            ("Water", 85.0, "water"),
            system="o/w",
        )
        assert ("problem", "wrong-emulsion-type") in said(cream, "Lecithin", base)


class TestGlycerin:
    def test_in_a_cream_it_is_a_humectant(self, base):
        roles = shares(WO, "Glycerin", base)
        assert in_family(roles, "humectant", base) > 0.9
        assert in_family(roles, "active", base) == 0.0

    def test_it_is_an_active_only_if_claimed(self, base):
        lines = tuple(
            replace(x, active=True, percent=25.0) if x.given == "Glycerin" else x for x in WO.lines
        )
        claimed = shares(replace(WO, lines=lines), "Glycerin", base)
        silent = tuple(replace(x, active=None) for x in lines)
        plain = shares(replace(WO, lines=silent), "Glycerin", base)
        assert in_family(claimed, "active", base) > in_family(plain, "active", base) + 0.3

    def test_it_preserves_above_half_of_the_water_phase(self, base):
        much = formula(
            ("Water", 48.0, "water"), ("Glycerin", 51.0, "water"), ("Xanthan Gum", 1.0, "water")
        )
        little = formula(
            ("Water", 89.0, "water"), ("Glycerin", 10.0, "water"), ("Xanthan Gum", 1.0, "water")
        )
        assert leading(much, "Glycerin", base) == "glycol-preservative"
        assert shares(little, "Glycerin", base).get("glycol-preservative", 0.0) < 0.1
        assert profile_of(much, base).value("water_activity") < 0.85

    def test_it_sweats_in_a_balm(self, base):
        balm = plus(host("lip-balm"), ("Glycerin", 5.0, "oil"))
        assert "immiscible" in rules_on(balm, "Glycerin", base)
        assert "immiscible" not in rules_on(WO, "Glycerin", base)


class TestCastorOil:
    def test_among_pigments_it_wets_them(self, base):
        stick = plus(without(STICK, "Octyldodecanol"), ("Castor Oil", 38.0, "oil"))
        assert leading(stick, "Castor Oil", base) == "pigment-wetting-oil"

    def test_in_a_body_oil_it_does_not(self, base):
        oil = plus(OIL, ("Castor Oil", 20.0, "oil"))
        assert shares(oil, "Castor Oil", base).get("pigment-wetting-oil", 0.0) < 0.1

    def test_in_mineral_oil_it_makes_two_phases(self, base):
        two = formula(
            ("Castor Oil", 40.0, "oil"),
            ("Mineral Oil", 40.0, "oil"),
            ("Beeswax", 20.0, "oil"),
            system="anhydrous",
        )
        assert "immiscible" in rules_on(two, "Castor Oil", base)
        other = formula(
            ("Castor Oil", 40.0, "oil"),
            ("Octyldodecanol", 40.0, "oil"),
            ("Beeswax", 20.0, "oil"),
            system="anhydrous",
        )
        assert "immiscible" not in rules_on(other, "Castor Oil", base)

    def test_a_coupling_oil_makes_it_one_phase(self, base):
        """Published: about 13 % isocetyl alcohol makes castor and paraffin oil one clear phase."""
        one = formula(
            ("Castor Oil", 30.0, "oil"),
            ("Mineral Oil", 30.0, "oil"),
            ("Octyldodecanol", 25.0, "oil"),
            ("Beeswax", 15.0, "oil"),
            system="anhydrous",
        )
        assert "immiscible" not in rules_on(one, "Castor Oil", base)

    def test_too_little_of_it_does_not(self, base):
        two = formula(
            ("Castor Oil", 38.0, "oil"),
            ("Mineral Oil", 38.0, "oil"),
            ("Octyldodecanol", 6.0, "oil"),
            ("Beeswax", 18.0, "oil"),
            system="anhydrous",
        )
        assert "immiscible" in rules_on(two, "Castor Oil", base)

    def test_two_coupling_oils_add_up(self, base):
        """Half of the 14.5 % of one and half of the 28 % of the other, and a little more."""
        lines = [("Castor Oil", 38.0, "oil"), ("Mineral Oil", 38.0, "oil")]
        one = formula(*lines, ("Octyldodecanol", 8.0, "oil"), ("Isopropyl Palmitate", 16.0, "oil"))
        assert "immiscible" not in rules_on(one, "Castor Oil", base)
        half = formula(*lines, ("Octyldodecanol", 8.0, "oil"), ("Beeswax", 16.0, "oil"))
        assert "immiscible" in rules_on(half, "Castor Oil", base)

    def test_no_ester_couples_it_with_silicone(self, base):
        oil = formula(
            ("Castor Oil", 40.0, "oil"), ("Dimethicone", 20.0, "oil"), ("Octyldodecanol", 40.0)
        )
        assert "immiscible" in rules_on(oil, "Castor Oil", base)

    def test_taking_the_coupling_oil_away_is_told(self, base):
        one = formula(
            ("Castor Oil", 30.0, "oil"),
            ("Mineral Oil", 30.0, "oil"),
            ("Octyldodecanol", 25.0, "oil"),
            ("Beeswax", 15.0, "oil"),
            system="anhydrous",
        )
        opened = open_formula(one, base)
        place = place_of(opened, "Octyldodecanol", base)
        asked = ["ethylhexyl-palmitate", "isocetyl-alcohol"]
        result = swap(opened.batch, place, base, to=asked)
        told = {
            s.candidate.material: [c.text for c in s.cautions if c.rule == "immiscible"]
            for s in result.swaps
        }
        # It would take 31 % of this ester, but 12.7 % of the alcohol.
        assert any("without Octyldodecanol" in text for text in told["ethylhexyl-palmitate"])
        assert not told["isocetyl-alcohol"]


class TestStearicAcid:
    def test_with_alkali_it_is_the_emulsifier_of_a_vanishing_cream(self, base):
        assert leading(SOAP, "Stearic Acid", base) == "soap-acid"
        assert "soap-formed" in rules_on(SOAP, "Stearic Acid", base)

    def test_with_zinc_oxide_it_thickens_on_ageing(self, base):
        lotion = plus(host("o-w-lotion-consistency"), ("Stearic Acid", 2.0, "oil"))
        zinc = plus(lotion, ("Zinc Oxide", 6.0, "powder"))
        assert "thickens-on-ageing" in rules_on(zinc, "Stearic Acid", base)
        assert "thickens-on-ageing" not in rules_on(lotion, "Stearic Acid", base)

    def test_beside_carbomer_it_takes_the_base(self, base):
        lotion = plus(
            host("o-w-lotion-thickener"), ("Carbomer", 0.3, "water"), ("Triethanolamine", 0.3)
        )
        both = plus(lotion, ("Stearic Acid", 2.0, "oil"))
        assert "no-structure" in rules_on(both, "Carbomer", base)
        assert "no-structure" not in rules_on(lotion, "Carbomer", base)


class TestMagnesiumSulfate:
    def test_in_water_in_oil_it_stabilises(self, base):
        assert leading(WO, "Magnesium Sulfate", base) == "wo-electrolyte"
        assert not said(WO, "Magnesium Sulfate", base) & {("problem", "electrolyte-break")}

    def test_it_kills_a_carbomer_gel(self, base):
        salted = plus(GEL, ("Magnesium Sulfate", 0.5, "water"))
        assert ("problem", "electrolyte-break") in said(salted, "Magnesium Sulfate", base)
        assert "wo-electrolyte" not in shares(salted, "Magnesium Sulfate", base)
        assert (
            figures(salted, base)["consistency_25c"] < 0.3 * figures(GEL, base)["consistency_25c"]
        )

    def test_it_breaks_lecithin(self, base):
        assert ("problem", "electrolyte-break") in said(WITH_LECITHIN, "Magnesium Sulfate", base)

    def test_it_breaks_soap(self, base):
        salted = plus(SOAP, ("Magnesium Sulfate", 0.5, "water"))
        assert "wrong-counter-ion" in rules_on(salted, "Magnesium Sulfate", base)


class TestCaprylylGlycol:
    def test_it_is_a_booster(self, base):
        lotion = plus(OW, ("Caprylyl Glycol", 0.5, "cool-down"))
        assert leading(lotion, "Caprylyl Glycol", base) == "preservative-booster"

    def test_alone_it_preserves_nothing(self, base):
        opened = open_formula(host("o-w-preserved-ph7"), base)
        result = swap(opened.batch, place_of(opened, "Phenoxyethanol", base), base)
        refused = {r.material: r.rule for r in result.rejected}
        assert refused["caprylyl-glycol"] == "preservative-inactive"

    def test_at_one_percent_it_may_thin_water_in_oil(self, base):
        much = plus(WO, ("Caprylyl Glycol", 1.0, "cool-down"))
        little = plus(WO, ("Caprylyl Glycol", 0.4, "cool-down"))
        assert "function-lost" in rules_on(much, "Caprylyl Glycol", base)
        assert "function-lost" not in rules_on(little, "Caprylyl Glycol", base)


class TestTocopherol:
    @pytest.mark.parametrize("percent", [0.05, 0.1, 0.3])
    def test_a_little_is_an_antioxidant(self, percent, base):
        oil = plus(OIL, ("Tocopherol", percent, "oil"))
        assert leading(oil, "Tocopherol", base) == "antioxidant"
        assert "oxidation" not in rules_on(oil, "Tocopherol", base)
        assert figures(oil, base)["oxidation"] < figures(OIL, base)["oxidation"]

    @pytest.mark.parametrize("percent", [1.5, 2.0])
    def test_much_may_do_the_opposite(self, percent, base):
        oil = plus(OIL, ("Tocopherol", percent, "oil"))
        assert leading(oil, "Tocopherol", base) == "vitamin-active"
        assert "oxidation" in rules_on(oil, "Tocopherol", base)

    def test_more_than_enough_never_helps_more(self, base):
        levels = (0.1, 0.3, 1.0, 1.5, 2.0, 5.0)
        seen = [figures(plus(OIL, ("Tocopherol", p, "oil")), base)["oxidation"] for p in levels]
        assert seen[0] > seen[1] > seen[2]
        assert seen[2] < seen[3] < seen[4] < seen[5]


class TestTocopherylAcetate:
    def test_it_is_a_vitamin_and_no_antioxidant(self, base):
        for whole in (OIL, WO):
            with_it = plus(whole, ("Tocopheryl Acetate", 0.5, "oil"))
            roles = shares(with_it, "Tocopheryl Acetate", base)
            assert in_family(roles, "antioxidant", base) == 0.0
            assert in_family(roles, "active", base) > 0.9

    def test_it_protects_no_oil(self, base):
        acetate = figures(plus(OIL, ("Tocopheryl Acetate", 0.1, "oil")), base)["oxidation"]
        assert acetate == pytest.approx(figures(OIL, base)["oxidation"], rel=0.02)
        oil = plus(OIL, ("Tocopheryl Acetate", 0.5, "oil"))
        assert "function-lost" in rules_on(oil, "Tocopheryl Acetate", base)

    def test_it_does_not_stand_in_for_tocopherol(self, base):
        opened = open_formula(plus(OIL, ("Tocopherol", 0.2, "oil")), base)
        result = swap(opened.batch, place_of(opened, "Tocopherol", base), base, top=20)
        assert "tocopheryl-acetate" not in {s.candidate.material for s in result.swaps}
        refused = {r.material: r.rule for r in result.rejected}
        assert refused["tocopheryl-acetate"] in {"oxidation", "function-lost"}


class TestStarch:
    def test_in_oil_it_gives_a_dry_feel(self, base):
        roles = shares(plus(OIL, ("Corn Starch", 5.0, "powder")), "Corn Starch", base)
        assert in_family(roles, "filler", base) > 0.9
        assert roles["feel-powder"] > roles["absorbent-filler"]

    def test_in_a_paste_it_builds(self, base):
        paste = host("zinc-paste")
        assert leading(paste, "Corn Starch", base) == "absorbent-filler"
        full = figures(paste, base)["consistency_25c"]
        assert figures(without(paste, "Corn Starch"), base)["consistency_25c"] < 0.7 * full

    @pytest.mark.parametrize(
        "starch",
        [
            "zea-mays-starch",
            "oryza-sativa-starch",
            "tapioca-starch",
            "solanum-tuberosum-starch",
            "triticum-vulgare-starch",
        ],
    )
    def test_in_hot_water_it_gels(self, starch, base):
        verdict = suits_system(starch, "o/w", base)
        assert any("hot water" in reason.text for reason in verdict.because)

    def test_a_lotion_with_starch_in_the_hot_water_is_told_so(self, base):
        hot = plus(OW, ("Corn Starch", 4.0, "water"))
        cool = plus(OW, ("Corn Starch", 4.0, "cool-down"))
        assert "gelatinises" in rules_on(hot, "Corn Starch", base)
        assert "gelatinises" not in rules_on(cool, "Corn Starch", base)

    def test_in_hot_oil_without_water_it_stays_a_powder(self, base):
        dry = plus(host("lip-balm"), ("Tapioca Starch", 4.0, "oil"))
        assert not rules_on(dry, "Tapioca Starch", base) & {"gelatinises", "heat-or-light"}
