"""A stand-in is judged by what this formula asks: its salt, its pH, its powder, what is claimed."""

from dataclasses import replace

import pytest

from kb.engine.ceilings import ceilings
from kb.engine.context import Caution
from kb.engine.obtaining import sold
from kb.engine.opening import item_to_replace, open_formula
from kb.engine.roles import Here
from kb.engine.swap import swap
from kb.engine.traits import compare
from kb.engine.waterphase import SALT_BREAKS, salt_borne
from kb.engine.worth import company_worth

from .bench import formula, generic, host, place_of, plus, shares, without


def to(whole, name, candidate, base):
    """The answer about one stand-in alone: its swap, or why it is out."""
    opened = open_formula(whole, base)
    result = swap(opened.batch, place_of(opened, name, base), base, to=[candidate])
    return result.swaps[0] if result.swaps else result.rejected[0]


def rules(found):
    return {c.rule for c in found.cautions}


def fits(role, original, candidate, base, **water):
    found = compare(role, original, candidate, base, **water)
    return {c.trait.property: c.fit for c in found}


class TestHlb:
    def test_it_is_not_compared_where_it_means_nothing(self, base):
        liquid = "wo-emulsifier-liquid"
        assert "hlb" in fits(liquid, "sorbitan-oleate", "sorbitan-isostearate", base)
        polymers = ("polyglyceryl-3-polyricinoleate", "peg-30-dipolyhydroxystearate")
        for other in (*polymers, "lanolin-alcohol", "calcium-oleate"):
            assert "hlb" not in fits(liquid, "sorbitan-oleate", other, base), other


class TestWeakAcids:
    ROLE = "weak-acid-preservative"

    def test_what_counts_is_the_share_that_is_undissociated_here(self, base):
        """Sorbic acid 4.76, benzoic 4.2: 0.37 and 0.14 at pH 5, 0.95 and 0.86 at pH 3.5."""
        at = [fits(self.ROLE, "sorbic-acid", "benzoic-acid", base, ph=p)["pka"] for p in (3.5, 5.0)]
        assert at[0] == pytest.approx(1.0)
        assert 0.9 < at[1] < 1.0

    def test_an_acid_that_keeps_its_proton_better_is_no_worse(self, base):
        assert fits(self.ROLE, "benzoic-acid", "sorbic-acid", base, ph=5.0)["pka"] == 1.0

    def test_what_has_no_proton_to_give_is_not_blamed_for_having_no_constant(self, base):
        assert "pka" not in fits(self.ROLE, "sorbic-acid", "phenoxyethanol", base, ph=5.0)


class TestSalt:
    ROLE, MINE, WEAK = (
        "water-thickener-anionic",
        "carbomer",
        "acrylates-c10-30-alkyl-acrylate-crosspolymer",
    )

    def test_the_scale_of_tolerance_is_in_per_cent_of_salt(self):
        assert [salt_borne(step) for step in SALT_BREAKS] == pytest.approx([*SALT_BREAKS.values()])
        assert SALT_BREAKS[1] < salt_borne(1.5) < SALT_BREAKS[2]

    @pytest.mark.parametrize(("salt", "borne"), [(1.0, True), (4.7, False)])
    def test_it_is_asked_for_as_much_as_this_water_holds(self, salt, borne, base):
        fit = fits(self.ROLE, self.MINE, self.WEAK, base, salt=salt)["electrolyte_tolerance"]
        assert fit == 1.0 if borne else fit < 0.2

    def test_without_salt_nobody_has_to_bear_any(self, base):
        assert "electrolyte_tolerance" not in fits(
            self.ROLE, self.MINE, "xanthan-gum", base, salt=0.0
        )

    def test_a_gel_that_salt_breaks_gets_thickeners_that_stand_it_first(self, base):
        opened = open_formula(host("water-gel-electrolyte"), base)
        items = list(opened.batch.items)
        place = place_of(opened, "Hydroxyethylcellulose", base)
        items[place] = items[place].of("carbomer", 1.0)
        result = swap(opened.batch.with_items(items), place, base)
        for found in result.swaps:
            tolerance = base.value(found.candidate.material, "electrolyte_tolerance", 0.0)
            assert tolerance >= 2.0, found.candidate.material


def test_a_mineral_melts_in_no_climate(base):
    role = "crystalline-oil-thickener"
    assert "melting_point" not in fits(
        role, "hydrogenated-castor-oil", "silica-dimethyl-silylate", base
    )
    assert "melting_point" in fits(role, "hydrogenated-castor-oil", "glyceryl-behenate", base)


class TestCeilings:
    PRESERVES, EMULSIFIES = Here("preservative", 1.0), Here("ow-emulsifier-cationic", 1.0)

    def highest(self, here, product, base):
        return min(x.high for x in ceilings("cetrimonium-chloride", (here,), product, base))

    def test_a_limit_for_preservatives_binds_only_what_preserves(self, base):
        assert self.highest(self.PRESERVES, {"leave_on": False}, base) == 0.1
        assert self.highest(self.EMULSIFIES, {"leave_on": False}, base) == 2.5

    def test_what_stays_on_is_taken_for_granted_unless_it_is_rinsed_off(self, base):
        unsaid, stays = (self.highest(self.EMULSIFIES, p, base) for p in ({}, {"leave_on": True}))
        assert unsaid == stays < 2.5

    def test_another_market_binds_nothing(self, base):
        assert not list(
            ceilings("cetrimonium-chloride", (self.EMULSIFIES,), {"market": "us"}, base)
        )


class TestUvFilters:
    def test_one_that_ends_earlier_is_no_stand_in(self, base):
        """Published: on skin zinc oxide protects better between 340 and 380 nm."""
        out = to(host("w-o-mineral-uv"), "Zinc Oxide", "titanium-dioxide", base)
        assert out.rule == "function-lost"
        assert "340" in out.reason and "380" in out.reason

    def test_one_that_reaches_as_far_is_let_through_with_a_word(self, base):
        found = to(
            host("w-o-mineral-uv"), "Zinc Oxide", "diethylamino-hydroxybenzoyl-hexyl-benzoate", base
        )
        assert "function-lost" in rules(found)

    def test_where_no_filter_is_claimed_that_does_not_count(self, base):
        found = to(host("w-o-barrier-zinc"), "Zinc Oxide", "titanium-dioxide", base)
        assert "UV cover weakens" not in getattr(found, "reason", "")


def test_a_white_pigment_says_how_much_less_it_covers(base):
    whole = formula(
        ("Talc", 80.0, "powder"), ("Titanium Dioxide", 10.0, "powder"), ("Dimethicone", 10.0)
    )
    whole = replace(whole, system="powder")
    found = to(whole, "Titanium Dioxide", "zinc-oxide", base)
    said = next(c.text for c in found.cautions if c.rule == "colour-or-opacity")
    percent = float(said.split(" %")[0].split()[-1])
    assert 20.0 < percent < 40.0


class TestOtherMechanisms:
    def test_a_conditioner_needs_the_charge(self, base):
        whole, name = host("o-w-conditioner"), "Behentrimonium Chloride"
        nonionic = to(whole, name, "ceteareth-20", base)
        assert any("positive charge" in c.text for c in nonionic.cautions)
        cationic = to(whole, name, "behentrimonium-methosulfate", base)
        assert "function-lost" not in rules(cationic)

    def test_a_wax_builds_no_layers_in_the_water(self, base):
        opened = open_formula(host("o-w-cream-nonionic"), base)
        result = swap(opened.batch, place_of(opened, "Cetearyl Alcohol", base), base, top=20)
        out = {generic(r.material): r.rule for r in result.rejected}
        assert out["paraffin"] == out["cera-alba"] == "no-structure"
        said = {c.text for s in result.swaps for c in s.cautions}
        assert not any("no layers" in text for text in said)

    def test_powder_wants_a_yield_and_drops_do_not(self, base):
        text = "no yield"
        kept_up = to(host("suspension"), "Bentonite", "hydroxyethylcellulose", base)
        lotion = to(host("o-w-lotion-thickener"), "Xanthan Gum", "hydroxyethylcellulose", base)
        assert any(text in c.text for c in kept_up.cautions)
        assert not any(text in c.text for c in lotion.cautions)

    def test_what_dissolves_in_water_alone_is_immiscible_not_wet(self, base):
        assert to(host("oleogel"), "Beeswax", "glycerin", base).rule == "immiscible"
        assert to(host("lip-balm"), "Beeswax", "aqua", base).rule == "brings-water"

    @pytest.mark.parametrize("powder", ["zinc-oxide", "calamine"])
    def test_a_base_of_a_polyvalent_metal_takes_the_alkali_soap(self, powder, base):
        out = to(host("vanishing-pigment"), "Titanium Dioxide", powder, base)
        assert out.rule == "wrong-counter-ion"


class TestRoles:
    def test_there_must_be_something_to_hold_up(self, base):
        clear, muddy = (
            shares(host(name), line, base).get("suspending-agent", 0.0)
            for name, line in (("water-gel-carbomer", "Carbomer"), ("suspension", "Bentonite"))
        )
        assert clear < 0.1
        assert muddy > 0.5

    def test_a_little_dispersant_in_a_dry_stick_is_no_emulsifier(self, base):
        stick = plus(
            without(host("lip-colour-stick"), "Octyldodecanol"),
            ("Lecithin", 1.0, "oil"),
            ("Castor Oil", 37.0, "oil"),
        )
        assert shares(stick, "Lecithin", base) == {"dispersant": pytest.approx(1.0)}


class TestWorth:
    def test_a_compatibility_that_asks_for_care_costs_less_than_a_loss(self):
        stated = Caution("no-structure", "softer than the sum", "", True)
        lost = Caution("no-structure", "it binds no oil")
        assert company_worth([lost]) < company_worth([stated]) < company_worth([]) == 1.0
        assert company_worth([lost, stated]) == company_worth([lost])

    def test_what_is_sold_everywhere_costs_nothing_to_get(self, base):
        common, trade, rare = (
            sold(m, base) for m in ("coco-caprylate", "hexyl-laurate", "ethyl-macadamiate")
        )
        assert common == 1.0 > trade > rare >= 0.8

    @pytest.mark.parametrize("row", ["isopropyl-myristate", "ethylhexyl-palmitate"])
    def test_of_near_equal_esters_one_that_is_sold_is_in_the_first_five(self, row, base):
        whole = formula(("Sunflower Seed Oil", 70.0), (base.materials[row].inci, 30.0))
        opened = open_formula(replace(whole, system="anhydrous"), base)
        result = swap(opened.batch, 1, base, top=5)
        on_sale = [base.value(s.candidate.material, "availability", 0.0) for s in result.swaps]
        assert max(on_sale) == 2.0


def test_a_thickener_is_known_by_what_it_does_near_one_per_cent(base):
    """Clays are measured at 5 %; that figure must not pass for their thickness at 1 %."""
    for clay in ("magnesium-aluminum-silicate", "hectorite", "bentonite"):
        assert base.value(clay, "gel_viscosity") < 50.0, clay


def test_a_line_may_be_asked_for_by_another_of_its_names(base):
    whole = formula(("Beeswax", 5.0), ("Olive Oil", 80.0), ("Bees Wax", 15.0))
    opened = open_formula(whole, base)
    assert opened.batch.items[item_to_replace(opened, "beeswax", 3, base)].line == 3


class TestLeastLevels:
    def test_what_protects_is_never_offered_below_its_usual_lowest(self, base):
        """A booster at a tenth of what it needs supports nothing, however little stood before."""
        whole = host("o-w-preserved-ph5")
        opened = open_formula(plus(whole, ("Ethylhexylglycerin", 0.3, "water")), base)
        result = swap(opened.batch, place_of(opened, "Ethylhexylglycerin", base), base, top=40)
        assert len(result.swaps) >= 5
        for one in result.swaps:
            lows = [
                p.low
                for p in base.plays(one.candidate.material)
                if p.low is not None and p.role == "preservative-booster"
            ]
            if lows:
                assert one.trial.percent >= min(lows) / 1.25 - 1e-9, one.candidate.material
