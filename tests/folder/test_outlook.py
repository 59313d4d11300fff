"""What a folder hangs on."""

import csv
from pathlib import Path

import pytest

from kb.engine.opening import open_formula
from kb.engine.swap import swap
from kb.folder.outlook import outlook
from kb.folder.standing_in import GOOD
from kb.formula.reading import parse_formula
from kb.report.folder import outlook_tree
from kb.report.folder_text import bars, outlook_text
from tests.engine.bench import host, place_of

DATA = Path(__file__).parents[1] / "data"


def test_counts_agree_with_the_answers(asked):
    found = outlook(asked)
    for hold in found.holds:
        lines = [
            (a["file"], line)
            for a in asked
            for line in a["lines"]
            if line["material"] == hold.material
        ]
        assert hold.lines == len(lines) and hold.formulas == len({f for f, _ in lines})
        assert set(hold.stopped) == {f for f, line in lines if not line["stand_ins"]}
    assert [h.stops for h in found.holds] == sorted((h.stops for h in found.holds), reverse=True)


def test_a_good_stand_in_is_what_swap_gives_too(asked, base, shop):
    for answer in [a for a in asked if not a["error"]][:2]:
        formula = parse_formula((shop / answer["file"]).read_text("utf-8"), answer["file"])
        opened = open_formula(formula, base)
        for line in answer["lines"][::3]:
            place = next(n for n, i in enumerate(opened.batch.items) if i.line == line["number"])
            best = swap(opened.batch, place, base, top=40).swaps
            worth = {s.candidate.material: s.total for s in best}
            for material, value, *_ in line["stand_ins"]:
                assert worth[material] == pytest.approx(value, abs=1e-4)
                assert value >= GOOD
            if not line["stand_ins"] and line["rule"] not in {"locked", "function-lost"}:
                mine = line["material"].split("--")[0]
                others = [
                    s.total
                    for s in best
                    if not any(p.part == mine for p in base.parts(s.candidate.material))
                ]
                assert max(others, default=0.0) < GOOD


def test_a_declared_active_and_a_locked_line_have_no_stand_in(asked):
    claimed = next(a for a in asked if a["file"] == "old/zinc-paste-claimed.toml")
    zinc = next(line for line in claimed["lines"] if line["material"].startswith("zinc-oxide"))
    assert not zinc["stand_ins"] and zinc["rule"] == "function-lost"


def test_water_is_not_asked_about(asked):
    assert not any(line["material"] == "aqua" for a in asked for line in a["lines"])


def test_a_blend_of_the_same_material_is_no_way_out(asked, base):
    for answer in asked:
        for line in answer["lines"]:
            for material, *_ in line["stand_ins"]:
                gone = line["material"].split("--")[0]
                assert all(part.part.split("--")[0] != gone for part in base.parts(material))


def test_what_to_stock_serves_every_line_that_can_be_served(asked):
    found = outlook(asked)
    at_hand = set(found.at_hand.chosen)
    used = {m.split("--")[0] for a in asked if not a["error"] for m in a["holds"]}
    for answer in asked:
        for line in answer["lines"]:
            serve = {s[0].split("--")[0] for s in line["stand_ins"]}
            assert not serve or serve & (used | at_hand)
    assert found.at_hand.proven and not at_hand & used


def test_the_text_fits_and_names_what_matters(asked, base):
    tree = outlook_tree("shop", outlook(asked), GOOD, [], base)
    text = outlook_text(tree)
    assert max(map(len, text)) <= 80
    assert "without a good stand-in would stop" in " ".join(text[:2])
    assert any("broken.toml" in line for line in text)
    assert any("Moon dust" in line for line in text)
    for row, line in zip(tree["materials"], bars(tree), strict=False):
        assert ("#" in line) == (row["stops"] > 0)


@pytest.mark.slow
def test_good_tells_pairs_that_work_from_pairs_that_fail(base):
    """The threshold stands on published pairs: none that fails reaches it, most that work do."""
    worths = {"within_5": [], "not_recommended": []}
    for name in ("published_swaps.csv", "further_swaps.csv"):
        with (DATA / name).open(encoding="utf-8", newline="") as stream:
            rows = [r for r in csv.DictReader(stream) if r["runnable"] == "yes"]
        for row in rows:
            if row["expect"] in worths:
                worth = _worth(row, base)
                if worth is not None:
                    worths[row["expect"]].append(worth)
    failing, working = worths["not_recommended"], worths["within_5"]
    assert len(failing) > 25 and len(working) > 15
    assert sum(w >= GOOD for w in failing) <= 0.05 * len(failing)
    assert sum(w >= GOOD for w in working) >= 0.75 * len(working)


def _worth(row, base):
    whole = host(row["host"])
    names = [base.names.resolve(row[k]).match for k in ("original_inci", "replacement_inci")]
    if None in names:
        return None
    opened = open_formula(whole, base)
    held = {item.material.split("--")[0] for item in opened.batch.items}
    if names[0].material.split("--")[0] not in held:
        return None
    place = place_of(opened, row["original_inci"], base)
    found = swap(opened.batch, place, base, top=1, to=[names[1].material]).swaps
    return found[0].total if found else 0.0
