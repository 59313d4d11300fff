"""Published formulas brought in line with a policy: proven, explained, and still themselves."""

import pytest

from kb.adapt.adapting import adapt
from kb.adapt.answers import Adaptation, Solution
from kb.adapt.windows import make_windows, measures
from kb.adapt.wish import Wish
from kb.engine import policy
from kb.engine.batch import Batch
from kb.engine.findings import judge
from kb.engine.opening import open_formula
from kb.engine.profile import make_profile
from kb.formula.model import Formula, Line
from tests.engine.bench import read_table

HYDROUS = "Hydrous Ointment BP (oily cream)"
COLD = "Cold Cream USP"
ZINC_CREAM = "Zinc Cream BP"
ZINC_CASTOR = "Zinc and Castor Oil Ointment BP"


def published(name: str, base) -> Batch:
    rows = [r for r in read_table("published_formulas.csv") if r["formula"] == name]
    lines = tuple(Line(r["ingredient"], float(r["percent"]), r["phase"]) for r in rows)
    return open_formula(Formula(lines, name, rows[0]["emulsion_type"]), base).batch


CASES = [
    (HYDROUS, "natural-only"),
    (COLD, "natural-only"),
    (HYDROUS, "vegan"),
    (COLD, "vegan"),
    (ZINC_CREAM, "vegan"),
    (ZINC_CASTOR, "vegan"),
]


@pytest.fixture(scope="module")
def answers(base) -> dict[tuple[str, str], Adaptation]:
    found = {}
    for name, rule in [*CASES, (ZINC_CREAM, "natural-only"), (ZINC_CASTOR, "natural-only")]:
        found[name, rule] = adapt(published(name, base), base, Wish((rule,), seconds=60))
    return found


@pytest.fixture(params=CASES, ids=lambda c: f"{c[0].split()[0]}-{c[1]}")
def case(request, answers, base) -> tuple[str, str, Batch, Adaptation, Solution]:
    name, rule = request.param
    answer = answers[request.param]
    assert answer.status == "solved"
    return name, rule, published(name, base), answer, answer.solutions[0]


def test_the_answer_is_proven_with_gap_nought(case):
    proof = case[3].proof
    assert proof.gap == 0.0
    assert proof.eps == 0.0
    assert proof.bound == pytest.approx(proof.full_value, abs=1e-6)
    assert case[4].distance == pytest.approx(proof.full_value)


def test_it_adds_up_and_nothing_forbidden_is_left(case, base):
    _, rule, _, _, solution = case
    assert solution.batch.total() == pytest.approx(100.0, abs=1e-4)
    for item in solution.batch.items:
        assert policy.judge(item.material, [rule], base).answer != "no", item.material


def test_asked_again_there_is_nothing_to_change(case, base):
    _, rule, _, _, solution = case
    again = adapt(solution.batch, base, Wish((rule,)))
    assert again.status == "unchanged"
    assert again.solutions == []


def test_it_is_still_the_same_kind_of_product(case, base):
    _, _, old, answer, solution = case
    after = make_profile(solution.batch, base)
    assert after.system == answer.before.system
    had = {f.rule for f in judge(answer.before, base) if f.level == "problem"}
    assert {f.rule for f in judge(after, base) if f.level == "problem"} <= had
    inferred = answer.before.inferred.system
    if inferred == answer.before.system:
        assert after.inferred.system == inferred, after.inferred.because


def test_the_full_model_keeps_every_window(case, base):
    _, _, _, answer, solution = case
    now = measures(make_profile(solution.batch, base))
    windows = make_windows(answer.before)
    assert {w.rule for w in windows} >= {"consistency", "melts-in-climate"}
    for window in windows:
        assert window.excess(now[window.measure]) < 1e-3, window.rule


def test_every_exchange_is_explained(case):
    for change in case[4].changes:
        assert change.because.startswith("line ")
        assert change.why, change
    assert case[4].trial
    assert case[4].effects["consistency_25c"].before is not None


def test_lines_that_may_stay_do_stay(case, base):
    _, rule, old, _, solution = case
    gone = {c.index for c in solution.changes}
    for index, item in enumerate(old.items):
        forbidden = policy.judge(item.material, [rule], base).answer == "no"
        assert (index in gone) == forbidden, item.material
        if not forbidden:
            assert solution.batch.items[index].material == item.material


@pytest.mark.parametrize("name", [ZINC_CREAM, ZINC_CASTOR])
def test_wool_fat_and_beeswax_are_natural_and_stay(name, answers):
    """Natural origin counts animals in: these two formulas need no change."""
    assert answers[name, "natural-only"].status == "unchanged"


def test_hydrous_ointment_gets_a_wax_for_the_paraffin_and_keeps_its_sterol(answers, base):
    solution = answers[HYDROUS, "natural-only"].solutions[0]
    new = {base.materials[c.old].id: c.to[0][0] for c in solution.changes}
    assert set(new) == {"paraffin", "petrolatum", "paraffinum-liquidum", "phenoxyethanol"}
    assert base.does(new["paraffin"], "wax") >= 0.5
    assert base.does(new["paraffinum-liquidum"], "oil-phase-liquid") >= 0.5
    assert base.does(new["phenoxyethanol"], "preservative") >= 0.5
    assert solution.batch.holds("lanolin-alcohol") > 0.0


def test_cold_cream_without_beeswax_still_forms_its_soap(answers, base):
    """Beeswax brings the acid of the soap and the body; both are there afterwards."""
    answer = answers[COLD, "vegan"]
    soap = make_profile(answer.solutions[0].batch, base).species.soap
    assert answer.before.species.soap is not None
    assert soap is not None
    assert soap.percent >= 0.5 * answer.before.species.soap.percent


def test_another_answer_is_different_in_kind(base):
    two = adapt(published(COLD, base), base, Wish(("natural-only",), top=2), why=False)
    first, second = (s.changes[0].to[0][0] for s in two.solutions)
    assert first != second
    assert two.solutions[0].distance <= two.solutions[1].distance
    assert all(s.proof.gap == 0.0 for s in two.solutions)


def test_the_same_question_gets_the_same_answer(base):
    batch = published(COLD, base)
    one, two = (adapt(batch, base, Wish(("vegan",)), why=False) for _ in range(2))
    assert one.solutions[0].batch == two.solutions[0].batch
    assert one.proof.bound == two.proof.bound
