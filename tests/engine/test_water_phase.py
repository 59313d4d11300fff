"""How thick the water of a product is, and that it does not hang on the order of the lines."""

import pytest

from kb.engine import waterphase
from kb.engine.batch import Phases, Share
from kb.engine.sampling import Sampler
from kb.engine.species import form_species

from .bench import batch_of, formula


def thickness(base, *shares):
    batch = batch_of(formula(*((m, p, "water") for m, p in shares), system="water gel"), base)
    phases = Phases((), tuple(Share(i.material, i.percent) for i in batch.items), ())
    species = form_species(batch, phases, base)
    return float(waterphase.thickness(phases, species, batch, Sampler(base), base)[0][0])


# Segur and Oberstar 1951, 25 degC (between the published 20 and 30 degC)
@pytest.mark.parametrize(("percent", "eta"), [(0, 0.89), (20, 1.54), (50, 5.04), (80, 45.9)])
def test_glycerin_thickens_water_as_measured(percent, eta, base):
    parts = [("Water", 100.0 - percent), ("Glycerin", float(percent))]
    found = thickness(base, *[part for part in parts if part[1] > 0])
    assert found == pytest.approx(eta, rel=0.12)


# George 2003, 25 degC
@pytest.mark.parametrize(("percent", "eta"), [(15.0, 1.701), (28.1, 2.692), (42.7, 4.325)])
def test_propylene_glycol_thickens_water_as_measured(percent, eta, base):
    found = thickness(base, ("Water", 100.0 - percent), ("Propylene Glycol", percent))
    # the worst of 81 measured mixtures lies 18 % off
    assert found == pytest.approx(eta, rel=0.18)


def test_the_order_of_the_lines_does_not_count(base):
    parts = [("Water", 84.5), ("Glycerin", 15.0), ("Xanthan Gum", 0.5)]
    one, other = thickness(base, *parts), thickness(base, *reversed(parts))
    assert one == pytest.approx(other)
    assert one > 100.0


def test_sugar_thickens_a_little(base):
    plain, sweet = (
        thickness(base, ("Water", 100.0)),
        thickness(base, ("Water", 90.0), ("Xylitol", 10.0)),
    )
    assert plain < sweet < 2.0 * plain
