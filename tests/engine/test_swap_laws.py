"""Laws of the swap: what may not change the answer, and what must come back."""

from dataclasses import replace

import pytest

from kb.engine.opening import open_formula
from kb.engine.swap import swap

from .bench import demo, host, place_of

#: Formula and line, of every way a level is found.
ASKED = [
    ("demo", "oyster-barrier", "Zinc Oxide"),
    ("demo", "oyster-barrier", "Beeswax"),
    ("demo", "oyster-barrier", "Coco-Caprylate"),
    ("demo", "winter-hand-cream", "Phenoxyethanol"),
    ("demo", "winter-hand-cream", "Glycerin"),
    ("demo", "rinse-lotion", "Xanthan Gum"),
    ("demo", "deck-balm", "Shea Butter"),
    ("host", "vanishing-alkali", "Potassium Hydroxide"),
    ("host", "zinc-paste", "Corn Starch"),
    ("host", "water-gel-carbomer", "Carbomer"),
]
TOP = 6
#: Words by which a level says that a bound, not the work, decided it.
BOUND = ("lowest", "highest", "held at", "does not thicken")


def whole_of(kind, name):
    return demo(name) if kind == "demo" else host(name)


def answer(whole, line, base, **more):
    opened = open_formula(whole, base)
    return swap(opened.batch, place_of(opened, line, base), base, top=TOP, **more)


def told(result):
    """What a user is told of a result, line numbers apart."""
    return [
        (
            s.candidate.material,
            pytest.approx(s.trial.percent, rel=1e-9),
            s.trial.how,
            pytest.approx(s.total, rel=1e-6),
            s.method,
            s.label,
            s.card,
            [(c.rule, c.text) for c in s.cautions],
        )
        for s in result.swaps
    ]


@pytest.fixture(scope="module", params=ASKED, ids=lambda asked: "-".join(asked[1:]))
def asked(request, base):
    kind, name, line = request.param
    whole = whole_of(kind, name)
    result = answer(whole, line, base)
    assert result.swaps
    return whole, line, result


def test_the_same_for_the_same_changes_nothing(asked, base):
    whole, line, result = asked
    item = result.before.batch.items[result.index]
    same = answer(whole, line, base, to=[item.material])
    (found,) = same.swaps
    assert found.trial.batch == result.before.batch
    assert found.trial.percent == item.percent
    assert found.parts["figures"] == found.parts["level"] == 1.0
    for name, effect in found.effects.items():
        if effect.value is not None:
            nothing = 1.0 if effect.kind == "ratio" else 0.0
            assert effect.value == pytest.approx(nothing, abs=1e-9), name
            assert effect.low == pytest.approx(nothing, abs=1e-9), name
            assert effect.high == pytest.approx(nothing, abs=1e-9), name


def test_the_order_of_the_lines_changes_no_swap(asked, base):
    whole, line, result = asked
    turned = answer(replace(whole, lines=whole.lines[::-1]), line, base)
    assert told(turned) == told(result)


def test_the_size_of_the_batch_changes_no_swap(asked, base):
    """Written in grams for 250 g instead of per cent."""
    whole, line, result = asked
    lines = tuple(replace(x, percent=2.5 * x.percent) for x in whole.lines)
    assert told(answer(replace(whole, lines=lines), line, base)) == told(result)


def test_a_synonym_changes_no_swap(asked, base):
    whole, line, result = asked
    names = {
        material: name
        for name, material, _ in sorted(base.records.names)
        if (found := base.names.resolve(name).match) and found.material == material
    }
    lines = []
    for x in whole.lines:
        material = base.names.resolve(x.given).match.material
        own = x.given == line
        lines.append(x if own else replace(x, given=names.get(material, x.given)))
    assert [x.given for x in lines] != [x.given for x in whole.lines]
    assert told(answer(replace(whole, lines=tuple(lines)), line, base)) == told(result)


def test_lines_split_in_two_change_no_swap(asked, base):
    """Every other line in two unequal parts: what balances and what it says stay the same."""
    whole, line, result = asked
    lines = []
    for x in whole.lines:
        if x.given == line:
            lines.append(x)
            continue
        lines += [replace(x, percent=part * x.percent, qs=False) for part in (0.3, 0.7)]
    split = answer(replace(whole, lines=tuple(lines)), line, base)
    assert told(split) == told(result)
    for one, two in zip(result.swaps, split.swaps, strict=True):
        levels = one.trial.batch.by_material()
        assert two.trial.batch.by_material() == pytest.approx(levels, rel=1e-6, abs=1e-9)
        assert two.trial.batch.total() == pytest.approx(one.trial.batch.total())


def test_there_and_back_is_where_one_began(asked, base):
    """Within half a per cent and the last digit written, where no bound binds either way."""
    _, _, result = asked
    item = result.before.batch.items[result.index]
    returned = 0
    for found in result.swaps:
        if any(word in found.trial.how for word in BOUND):
            continue
        back = swap(
            found.trial.batch,
            result.index,
            base,
            to=[item.material],
            as_role=result.here[0].role,
        )
        for home in back.swaps:
            if any(word in home.trial.how for word in BOUND):
                continue
            assert home.trial.percent == pytest.approx(item.percent, rel=0.01), (
                found.candidate.material
            )
            returned += 1
    assert returned >= 2
