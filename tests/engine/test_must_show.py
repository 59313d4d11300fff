"""What the product promises a maker: the answers that must come out on its own examples."""

from dataclasses import replace

import pytest

from kb.engine.suits import suits_formula, suits_system

from .bench import (
    at_level,
    at_stage,
    demo,
    findings_of,
    formula,
    generic,
    host,
    plus,
    profile_of,
    rules,
    without,
)

DEMOS = ("oyster-barrier", "winter-hand-cream", "deck-balm", "rinse-lotion")
BARRIERS = [("host", "w-o-barrier-zinc"), ("demo", "oyster-barrier")]


def first(result, count):
    return [swap.candidate.material for swap in result.swaps[:count]]


def cautions(swap):
    return {caution.rule for caution in swap.cautions}


# -- zinc oxide in a W/O barrier cream ---------------------------------------------------------


@pytest.mark.parametrize(("kind", "name"), BARRIERS)
class TestZincOxideInABarrierCream:
    @pytest.fixture
    def result(self, kind, name, ask):
        return ask(kind, name, "Zinc Oxide")

    @pytest.fixture
    def calamine(self, result):
        return next(s for s in result.swaps if generic(s.candidate.material) == "calamine")

    def test_calamine_comes_first_or_second(self, result):
        assert "calamine" in [generic(m) for m in first(result, 2)]

    def test_it_asks_which_calamine(self, result):
        assert any("Which Calamine" in question for question in result.asks)

    def test_it_asks_which_function_is_claimed(self, result):
        asked = next(q for q in result.asks if "claimed" in q)
        assert "UV" in asked
        assert "protectant" in asked
        assert "barrier" in asked

    def test_a_stated_role_answers_that_question(self, kind, name, base):
        from kb.engine.opening import open_formula
        from kb.engine.swap import swap

        whole = demo(name) if kind == "demo" else host(name)
        lines = [
            replace(x, role="barrier powder") if x.given == "Zinc Oxide" else x for x in whole.lines
        ]
        opened = open_formula(replace(whole, lines=tuple(lines)), base)
        place = next(n for n, i in enumerate(opened.batch.items) if i.material == "zinc-oxide")
        result = swap(opened.batch, place, base, top=3)
        assert not any("claimed" in question for question in result.asks)

    def test_the_powder_volume_is_told_before_and_after(self, calamine):
        volume = calamine.effects["powder_volume"]
        assert volume.unit == "%"
        assert 0.5 < volume.before < 20.0
        assert volume.after == pytest.approx(volume.before, rel=0.3)
        assert volume.low <= volume.value <= volume.high

    def test_the_consistency_is_told_as_a_ratio_with_its_range(self, calamine):
        consistency = calamine.effects["consistency_25c"]
        assert consistency.kind == "ratio"
        assert consistency.low <= consistency.value <= consistency.high
        assert 0.5 < consistency.value < 2.0

    def test_it_warns_that_the_colour_changes(self, calamine):
        assert "colour-or-opacity" in cautions(calamine)

    def test_it_warns_that_the_uv_role_is_lost(self, calamine):
        lost = [c for c in calamine.cautions if c.rule == "function-lost"]
        assert any("UV" in c.text for c in lost)

    def test_the_label_changes(self, calamine):
        assert any("Calamine instead of Zinc Oxide" in line for line in calamine.label)
        assert any("UV" in line for line in calamine.label)

    def test_the_powder_is_wetted_before_the_waxes(self, calamine):
        assert any("Wet the powder" in step for step in calamine.method)

    def test_the_trial_card_has_jars_and_a_class_of_change(self, calamine):
        assert calamine.card[0].startswith("Jars:")
        assert calamine.card[-1].startswith("Class:")


# -- beeswax in a W/O barrier cream ------------------------------------------------------------


class TestBeeswaxInABarrierCream:
    @pytest.fixture
    def result(self, ask):
        return ask("demo", "oyster-barrier", "Beeswax")

    def test_among_the_first_five_is_a_wax(self, result, base):
        assert any(base.does(m, "wax") >= 0.5 for m in first(result, 5))

    def test_among_the_first_five_is_another_way_to_thicken(self, result, base):
        others = ("wo-emulsifier-waxy", "crystalline-oil-thickener", "soft-wax-ester")
        ways = [m for m in first(result, 5) if any(base.does(m, r) >= 0.5 for r in others)]
        assert ways, first(result, 5)

    @pytest.mark.parametrize("quantity", ["consistency_25c", "oil_binding"])
    def test_body_and_oil_binding_are_told_before_and_after(self, quantity, result):
        for swap in result.swaps[:5]:
            effect = swap.effects[quantity]
            assert effect.kind == "ratio"
            assert effect.before > 0
            assert effect.after > 0
            assert effect.low <= effect.value <= effect.high

    def test_hlb_is_told_or_withheld_with_the_reason(self, result):
        withheld = "polymeric emulsifiers have no meaningful HLB"
        for swap in result.swaps[:5]:
            assert swap.effects["hlb"].before is None, withheld
            assert any("HLB" in why for why in swap.after.quantities["hlb"].limited_by)
        assert any("HLB" in why for why in result.before.quantities["hlb"].limited_by)

    def test_hlb_is_told_where_it_means_something(self, ask):
        result = ask("demo", "winter-hand-cream", "Beeswax")
        for swap in result.swaps[:5]:
            hlb = swap.effects["hlb"]
            assert 1.0 < hlb.before < 8.0
            assert 1.0 < hlb.after < 12.0
            assert hlb.kind == "difference"

    def test_a_waxy_emulsifier_is_not_passed_off_as_a_binder_of_oil(self, result, base):
        for swap in result.swaps:
            material = swap.candidate.material
            if base.does(material, "wax") >= 0.3 or base.does(material, "oil-gellant") >= 0.3:
                continue
            effect = swap.effects["oil_binding"]
            assert effect.after < effect.before or cautions(swap) & {"no-structure"}, material

    def test_the_level_is_solved_not_copied(self, result):
        assert any(abs(s.trial.percent - 3.0) > 0.3 for s in result.swaps[:5])


# -- a light ester -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "name", "line"),
    [
        ("demo", "oyster-barrier", "Coco-Caprylate"),
        ("host", "w-o-mineral-uv", "Dicaprylyl Carbonate"),
    ],
)
class TestALightEster:
    def test_the_first_five_are_light(self, kind, name, line, ask, base):
        for material in first(ask(kind, name, line), 5):
            light = max(base.does(material, r) for r in ("light-ester", "light-emollient"))
            assert light >= 0.3, material

    def test_none_of_the_first_five_is_a_fixed_oil(self, kind, name, line, ask, base):
        for material in first(ask(kind, name, line), 5):
            assert base.does(material, "fixed-oil") < 0.3, material

    def test_the_oil_viscosity_is_told(self, kind, name, line, ask):
        for swap in ask(kind, name, line).swaps[:5]:
            effect = swap.effects["oil_viscosity_25c"]
            assert effect.kind == "ratio"
            assert 0.3 < effect.value < 3.0


# -- polymers and the phase they work in -------------------------------------------------------

XANTHAN, POLYAMIDE = "xanthan-gum", "polyamide-8"


class TestPolymersAndTheirPhase:
    def test_a_gum_fails_as_stabiliser_of_a_water_in_oil(self, base):
        verdict = suits_system(XANTHAN, "w/o", base, "stabiliser")
        assert verdict.verdict == "fails"
        assert "wrong-phase-polymer" in {r.rule for r in verdict.because if r.verdict == "fails"}

    def test_a_gum_merely_present_wants_care(self, base):
        assert suits_system(XANTHAN, "w/o", base, "present").verdict == "careful"

    @pytest.mark.parametrize("role", ["stabiliser", "present"])
    def test_common_practice_says_why(self, role, base):
        because = suits_system(XANTHAN, "w/o", base, role).because
        practice = [r for r in because if r.evidence == "common practice" and not r.source]
        assert any("drops" in r.text for r in practice)

    def test_published_evidence_stands_on_both_sides(self, base):
        because = suits_system(XANTHAN, "w/o", base, "stabiliser").because
        published = [r for r in because if r.evidence == "published"]
        assert all(r.source for r in published)
        against = [r for r in published if r.verdict == "fails"]
        for_it = [r for r in published if r.text.startswith("Evidence for it")]
        assert len(against) >= 1
        assert len(for_it) >= 1
        assert not set(against) & set(for_it)

    def test_what_to_use_instead_gels_oil(self, base):
        instead = suits_system(XANTHAN, "w/o", base, "stabiliser").instead
        assert instead
        assert all(base.does(m, "oil-gellant") >= 0.4 for m in instead)

    def test_an_oil_phase_polyamide_works_in_water_in_oil(self, base):
        verdict = suits_system(POLYAMIDE, "w/o", base, "stabiliser")
        assert verdict.verdict == "works"
        assert any(r.evidence == "published" and r.source for r in verdict.because)

    def test_in_oil_in_water_the_verdicts_turn_round(self, base):
        assert suits_system(XANTHAN, "o/w", base, "stabiliser").verdict == "works"
        assert suits_system(POLYAMIDE, "o/w", base, "stabiliser").verdict == "fails"

    def test_the_same_holds_in_the_company_of_a_formula(self, base):
        cream = profile_of(demo("winter-hand-cream"), base)
        lotion = profile_of(demo("rinse-lotion"), base)
        assert suits_formula(XANTHAN, cream, base, "stabiliser").verdict == "fails"
        assert suits_formula(XANTHAN, lotion, base, "stabiliser").verdict != "fails"

    def test_a_gum_is_never_offered_for_an_oil_structurant(self, ask, base):
        for line in ("Beeswax", "Hydrogenated Castor Oil"):
            result = ask("demo", "oyster-barrier", line)
            shown = first(result, 10)
            assert not any(base.does(m, "water-thickener") >= 0.4 for m in shown)
            refused = next(r for r in result.rejected if r.material == XANTHAN)
            assert refused.rule == "wrong-phase-polymer"

    def test_what_holds_only_at_some_ph_does_not_condemn_a_polymer(self, base):
        """Carbomer curls up below about pH 3; a water gel is its home all the same."""
        assert suits_system("carbomer", "water gel", base).verdict != "fails"
        gel = profile_of(host("water-gel-carbomer"), base)
        assert suits_formula("carbomer", gel, base).verdict != "fails"
        sour = profile_of(replace(host("water-gel-carbomer"), ph=2.5), base)
        assert suits_formula("carbomer", sour, base).verdict == "fails"


# -- findings: each fires with its reason, and not on the sound formula -------------------------

CREAM, BARRIER = demo("winter-hand-cream"), demo("oyster-barrier")
BALM, LOTION = demo("deck-balm"), demo("rinse-lotion")
GEL, CATIONIC = host("water-gel-carbomer"), host("o-w-cream-cationic")
VANISHING, COLD = host("vanishing-alkali"), host("cold-cream-alkali")
LECITHIN = formula(
    ("Lecithin", 3.0, "oil"),
    ("Sweet Almond Oil", 30.0, "oil"),
    ("Beeswax", 4.0, "oil"),
    ("Water", 59.1, "water"),
    ("Glycerin", 3.0, "water"),
    ("Phenoxyethanol", 0.9, "water"),
    system="w/o",
)
PASTE = formula(
    ("Zinc Oxide", 30.0, "powder"),
    ("Sweet Almond Oil", 50.0, "oil"),
    ("Beeswax", 8.0, "oil"),
    ("Petrolatum", 12.0, "oil"),
    system="anhydrous",
)
SOUR_BARRIER = plus(without(BARRIER, "Phenoxyethanol"), ("Potassium Sorbate", 0.4, "water"))

#: What is wrong, the sound formula, the same gone wrong, level, rule, words of the reason.
WRONG = {
    "a gum in a water-in-oil": (
        CREAM,
        plus(CREAM, ("Xanthan Gum", 0.3, "water")),
        "caution",
        "wrong-phase-polymer",
        "drops",
    ),
    "a gum where there is no water": (
        BALM,
        plus(BALM, ("Xanthan Gum", 0.5, "oil")),
        "problem",
        "wrong-phase-polymer",
        "no water",
    ),
    "an overdose of butter": (
        CREAM,
        at_level(at_level(CREAM, "Shea Butter", 13.0), "Cocoa Butter", 6.0),
        "caution",
        "melts-in-climate",
        "40 degC",
    ),
    "no preservative": (
        CREAM,
        without(CREAM, "Phenoxyethanol", "Ethylhexylglycerin"),
        "problem",
        "preservative-missing",
        "no preservative",
    ),
    "a booster alone": (
        CREAM,
        without(CREAM, "Phenoxyethanol"),
        "problem",
        "booster-alone",
        "none alone",
    ),
    "a weak acid beside zinc oxide": (
        BARRIER,
        SOUR_BARRIER,
        "problem",
        "ph-window",
        "Zinc Oxide",
    ),
    "carbomer with salt": (
        GEL,
        plus(GEL, ("Magnesium Sulfate", 0.5, "water")),
        "problem",
        "electrolyte-break",
        "Magnesium Sulfate",
    ),
    "cationic with anionic": (
        CATIONIC,
        plus(CATIONIC, ("Sodium Cetearyl Sulfate", 1.0, "oil")),
        "problem",
        "charge-conflict",
        "Sodium Cetearyl Sulfate",
    ),
    "salt with lecithin": (
        LECITHIN,
        plus(LECITHIN, ("Magnesium Sulfate", 0.7, "water")),
        "problem",
        "electrolyte-break",
        "Magnesium Sulfate",
    ),
    "a polyvalent salt with a soap formed in place": (
        VANISHING,
        plus(VANISHING, ("Magnesium Sulfate", 0.7, "water")),
        "caution",
        "wrong-counter-ion",
        "Magnesium Sulfate",
    ),
    "fragrance in the hot oil": (
        plus(CREAM, ("Lavender Oil", 0.2, "cool-down")),
        plus(CREAM, ("Lavender Oil", 0.2, "oil")),
        "caution",
        "heat-or-light",
        "hot oil stage",
    ),
    "panthenol after emulsifying": (
        plus(CREAM, ("Panthenol", 1.0, "water")),
        plus(CREAM, ("Panthenol", 1.0, "cool-down")),
        "caution",
        "late-water",
        "Panthenol",
    ),
    "powder without oil to wet it": (
        PASTE,
        at_level(at_level(PASTE, "Zinc Oxide", 60.0), "Sweet Almond Oil", 10.0),
        "caution",
        "powder-not-wetted",
        "wetted",
    ),
    "more preservative than the law allows": (
        CREAM,
        at_level(CREAM, "Phenoxyethanol", 1.5),
        "problem",
        "legal-limit",
        "above 1 %",
    ),
    "far more than is usual": (
        CREAM,
        at_level(CREAM, "Magnesium Sulfate", 4.0),
        "caution",
        "level-high",
        "usual",
    ),
    "borax in the EU": (
        CREAM,
        plus(CREAM, ("Borax", 0.5, "water")),
        "problem",
        "legal-limit",
        "prohibited",
    ),
    "stated water-in-oil with only a hydrophilic emulsifier": (
        CREAM,
        plus(without(CREAM, "Polyglyceryl-3 Diisostearate"), ("Polysorbate 60", 4.0, "oil")),
        "problem",
        "wrong-emulsion-type",
        "o/w",
    ),
    "no emulsifier at all": (
        LOTION,
        without(LOTION, "Cetearyl Glucoside"),
        "problem",
        "emulsifier-missing",
        "no emulsifier",
    ),
    "more alkali than acid": (
        COLD,
        at_level(COLD, "Sodium Borate", 3.0),
        "caution",
        "spare-alkali",
        "finds no acid",
    ),
    "an unknown name": (
        CREAM,
        plus(CREAM, ("Zzyxwort Extractum Nullius", 1.0, "water")),
        "problem",
        "unknown-material",
        "not known",
    ),
    "lines that do not add up": (
        CREAM,
        replace(CREAM, lines=CREAM.lines[:-2]),
        "problem",
        "total",
        "add up",
    ),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_is_wrong_is_found_with_its_reason(what, base):
    _, wrong, level, rule, words = WRONG[what]
    found = [f for f in findings_of(wrong, base) if f.rule == rule and f.level == level]
    told = [(f.level, f.rule) for f in findings_of(wrong, base)]
    assert found, told
    assert any(words in f.message for f in found), [f.message for f in found]


@pytest.mark.parametrize("what", WRONG)
def test_it_is_not_found_where_nothing_is_wrong(what, base):
    sound, _, level, rule, words = WRONG[what]
    found = [
        f
        for f in findings_of(sound, base)
        if f.rule == rule and f.level == level and words in f.message
    ]
    assert not found, [f.message for f in found]


@pytest.mark.parametrize("what", WRONG)
def test_a_finding_names_its_line_or_is_of_the_whole(what, base):
    _, wrong, level, rule, _ = WRONG[what]
    for finding in findings_of(wrong, base):
        assert all(1 <= n <= len(wrong.lines) for n in finding.lines)
        if finding.rule == rule and rule in {"late-water", "level-high", "legal-limit"}:
            assert finding.lines


@pytest.mark.parametrize("name", DEMOS)
def test_the_formulas_we_show_have_no_problem(name, base):
    found = findings_of(demo(name), base)
    assert not [f.message for f in found if f.level == "problem"]


@pytest.mark.parametrize("name", DEMOS)
def test_a_finding_speaks_of_what_is_in_the_formula(name, base):
    """A rule written for silicones must not be told of an ester that only feels like one."""
    whole = demo(name)
    tags = {t for i in profile_of(whole, base).batch.items for t in base.materials[i.material].tags}
    assert "silicone" not in tags
    for finding in findings_of(whole, base):
        assert "dimethicone" not in finding.message.casefold()


@pytest.mark.parametrize("name", DEMOS)
def test_every_formula_says_what_must_come_before_use(name, base):
    assert "before-use" in rules(findings_of(demo(name), base), "note")


def test_a_limit_binds_the_sum_of_the_lines(base):
    """Two lines of 0.75 % are 1.5 % in the pot."""
    halves = plus(at_level(CREAM, "Phenoxyethanol", 0.75), ("Phenoxyethanol", 0.75, "cool-down"))
    assert "legal-limit" in rules(findings_of(halves, base), "problem")


def test_a_limit_reaches_into_a_blend(base):
    """A blend of nine tenths phenoxyethanol at 1.5 % brings more than the 1 % allowed."""
    bare = without(CREAM, "Phenoxyethanol", "Ethylhexylglycerin")
    blend = "Phenoxyethanol (and) Ethylhexylglycerin"
    over = findings_of(plus(bare, (blend, 1.5, "water")), base)
    under = findings_of(plus(bare, (blend, 1.0, "water")), base)
    assert "legal-limit" in rules(over, "problem")
    assert "legal-limit" not in rules(under)


def test_a_stage_can_be_mended(base):
    late = plus(CREAM, ("Panthenol", 1.0, "cool-down"))
    assert "late-water" in rules(findings_of(late, base))
    assert "late-water" not in rules(findings_of(at_stage(late, "Panthenol", "water"), base))
