"""What forms in the pot, worked out by hand from equivalents and compared with the engine."""

from dataclasses import replace

import pytest

from .bench import at_level, formula, host, plus, profile_of, without

KOH = 56.106  # g/mol, to turn an acid value into moles
COLD = host("cold-cream-alkali")
LINIMENT = host("w-o-lime-liniment")
VANISHING = host("vanishing-alkali")
GEL = host("water-gel-carbomer")


def species(whole, base):
    return profile_of(whole, base).species


def acid_mmol(percent, acid_value):
    """mmol of acid in 100 g of formula."""
    return percent * acid_value / KOH


class TestColdCream:
    """Beeswax 15 %, borax 0.8 %: borax (381.4 g/mol) brings two equivalents of alkali."""

    def test_the_acid_is_what_the_acid_value_says(self, base):
        found = species(COLD, base)
        by_hand = acid_mmol(15.0, base.value("cera-alba", "acid_value"))
        assert 1000 * found.acid_mol == pytest.approx(by_hand, rel=1e-3)
        assert 4.0 < by_hand < 7.0

    def test_the_alkali_is_two_equivalents_a_mole(self, base):
        by_hand = 1000 * 0.8 / (381.37 / 2)
        assert 1000 * species(COLD, base).alkali_mol == pytest.approx(by_hand, rel=0.01)

    def test_what_is_short_limits_the_soap(self, base):
        found = species(COLD, base)
        assert found.soap.neutralised == pytest.approx(
            min(1.0, found.alkali_mol / found.acid_mol), rel=1e-6
        )
        assert found.spare_alkali_mol == max(0.0, found.alkali_mol - found.acid_mol)

    def test_only_the_acid_that_reacts_becomes_soap_not_the_wax(self, base):
        """Cerotic acid near 410 g/mol, 4 to 5 mmol: about 2 % of the cream, not 15 %."""
        soap = species(COLD, base).soap
        assert 1.2 < soap.percent < 3.0
        assert not soap.polyvalent
        assert soap.acids == ("cera-alba",)
        assert soap.hlb == 18.0

    def test_twice_the_borax_makes_no_more_soap_than_there_is_acid(self, base):
        once = species(at_level(COLD, "Sodium Borate", 1.2), base)
        twice = species(at_level(COLD, "Sodium Borate", 2.4), base)
        assert twice.soap.percent == pytest.approx(once.soap.percent, rel=0.1)
        assert twice.spare_alkali_mol > once.spare_alkali_mol

    def test_without_alkali_there_is_no_soap(self, base):
        found = species(without(COLD, "Sodium Borate"), base)
        assert found.soap is None
        assert found.acid_mol > 0

    def test_without_beeswax_the_alkali_finds_no_acid(self, base):
        found = species(without(COLD, "Beeswax"), base)
        assert found.soap is None
        assert found.spare_alkali_mol > 0

    def test_it_stays_water_in_oil_for_its_wax_and_little_water(self, base):
        assert profile_of(replace(COLD, system=""), base).inferred.system == "w/o"


class TestLimeLiniment:
    """Calcium hydroxide 0.13 % with 1 % oleic acid: a calcium soap, and oil outside."""

    def test_the_soap_is_polyvalent(self, base):
        soap = species(LINIMENT, base).soap
        assert soap.polyvalent
        assert soap.hlb == 3.0
        assert "oleic-acid" in soap.acids

    def test_the_equivalents(self, base):
        found = species(LINIMENT, base)
        assert 1000 * found.alkali_mol == pytest.approx(1000 * 0.13 / (74.09 / 2), rel=0.01)
        by_hand = acid_mmol(1.0, base.value("oleic-acid", "acid_value"))
        assert by_hand == pytest.approx(1000 / 282.5, rel=0.05)
        # Free acid of the oil, the wool fat and the like may come on top.
        assert 1000 * found.acid_mol >= 0.99 * by_hand

    def test_the_soap_weighs_about_what_its_parts_do(self, base):
        """3.5 mmol of oleate (281 g/mol) with half a calcium (20 g/mol): about 1.05 %."""
        assert species(LINIMENT, base).soap.percent == pytest.approx(1.05, rel=0.25)

    def test_an_alkali_of_one_charge_turns_it_round(self, base):
        soda = plus(without(LINIMENT, "Calcium Hydroxide"), ("Sodium Hydroxide", 0.14, "water"))
        assert not species(soda, base).soap.polyvalent

    def test_the_zinc_oxide_will_thicken_on_ageing(self, base):
        assert species(LINIMENT, base).zinc_soap_likely
        assert not species(without(LINIMENT, "Zinc Oxide"), base).zinc_soap_likely


class TestStearateCream:
    """Stearic acid 15 % with potassium hydroxide 0.7 %: a quarter of the acid becomes soap."""

    def test_the_share_that_is_neutralised(self, base):
        found = species(VANISHING, base)
        acid = acid_mmol(15.0, base.value("stearic-acid", "acid_value"))
        alkali = 1000 * 0.7 / base.value("potassium-hydroxide", "equivalent_mass")
        assert found.soap.neutralised == pytest.approx(alkali / acid, rel=0.02)
        assert 0.15 < found.soap.neutralised < 0.30

    def test_the_soap_weighs_about_what_its_parts_do(self, base):
        """12.5 mmol of potassium stearate (322.6 g/mol) in 100 g: about 4 %."""
        found = species(VANISHING, base)
        by_hand = 322.6 * found.alkali_mol
        assert found.soap.percent == pytest.approx(by_hand, rel=0.1)
        assert not found.soap.polyvalent

    def test_no_alkali_is_left_over(self, base):
        assert species(VANISHING, base).spare_alkali_mol == 0.0

    def test_the_soap_sets_the_ph_high(self, base):
        profile = profile_of(replace(VANISHING, ph=None), base)
        assert 8.0 <= profile.ph <= 10.0
        assert "soap" in profile.ph_reason


class TestOtherSpecies:
    def test_a_base_neutralises_carbomer(self, base):
        assert "carbomer" in species(GEL, base).neutralised_polymers
        assert species(without(GEL, "Tromethamine"), base).neutralised_polymers == ()

    def test_carbomer_without_a_base_stays_thin(self, base):
        full = profile_of(GEL, base).value("consistency_25c")
        thin = profile_of(without(GEL, "Tromethamine"), base).value("consistency_25c")
        assert thin < 0.2 * full

    def test_zinc_oxide_draws_the_water_to_seven_or_eight(self, base):
        profile = profile_of(host("w-o-barrier-zinc"), base)
        assert 7.0 <= profile.ph <= 8.0
        assert "Zinc Oxide" in profile.ph_reason

    def test_at_that_ph_sorbic_acid_is_half_a_percent_itself(self, base):
        """pKa 4.76: 1/(1 + 10^2.74) = 0.18 % at pH 7.5, 0.57 % at pH 7."""
        sour = plus(host("w-o-barrier-zinc"), ("Potassium Sorbate", 0.3, "water"))
        agent = next(a for a in profile_of(sour, base).agents if a.material == "potassium-sorbate")
        share = float(agent.undissociated[0])
        assert share == pytest.approx(1 / (1 + 10 ** (7.5 - 4.76)), rel=0.1)

    def test_a_plain_balm_forms_nothing(self, base):
        plain = formula(("Beeswax", 15.0, "oil"), ("Olive Oil", 85.0, "oil"))
        found = species(plain, base)
        assert found.soap is None
        assert found.neutralised_polymers == ()
        assert not found.zinc_soap_likely

    def test_a_bought_soap_is_not_formed_twice(self, base):
        bought = formula(
            ("Sodium Stearate", 2.0, "water"),
            ("Olive Oil", 20.0, "oil"),
            ("Water", 78.0, "water"),
        )
        assert species(bought, base).soap is None
