"""Pictures: what stands in them, that they repeat, and how they fail."""

import builtins
import re
import sys
from xml.etree import ElementTree

import pytest

from kb.cli.main import run
from kb.engine.curves import change, curves
from kb.engine.opening import item_to_replace, open_formula
from kb.engine.profile import make_profile
from kb.engine.swap import swap
from kb.errors import UsageError
from kb.formula.reading import parse_formula
from kb.report import plots

FORMULA = """
name = "Harbour balm"

[[line]]
ingredient = "beeswax"
percent = 14

[[line]]
ingredient = "zinc oxide"
percent = 8

[[line]]
ingredient = "sunflower oil"
percent = 78
"""


@pytest.fixture
def matplotlib():
    return pytest.importorskip(
        "matplotlib", reason="install the extra `plot`: pip install -e '.[plot]'"
    )


@pytest.fixture
def without_matplotlib(monkeypatch):
    real = builtins.__import__

    def refuse(name, *rest, **more):
        if name.split(".")[0] == "matplotlib":
            raise ImportError(name)
        return real(name, *rest, **more)

    for name in [n for n in sys.modules if n.split(".")[0] == "matplotlib"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(builtins, "__import__", refuse)


@pytest.fixture(scope="module")
def opened(base):
    return open_formula(parse_formula(FORMULA, "balm.toml"), base)


@pytest.fixture(scope="module")
def profile(opened, base):
    return make_profile(opened.batch, base, 16)


@pytest.fixture
def figure(matplotlib, profile, base):
    return plots.check_figure(profile, curves(profile, base), base, "Harbour balm")


@pytest.fixture(scope="module")
def found(opened, base):
    index = item_to_replace(opened, "beeswax", None, base)
    return swap(opened.batch, index, base, top=1)


@pytest.fixture
def swap_figure(matplotlib, opened, profile, found, base):
    after = make_profile(found.swaps[0].trial.batch, base, 16)
    sides = [
        plots.Side(label, curves(p, base), p.phases)
        for label, p in (("before: beeswax", profile), ("after: another wax", after))
    ]
    ratio = change(sides[0].curves, sides[1].curves)
    return plots.swap_figure(*sides, ratio, base, "Another wax")


@pytest.fixture
def formula_file(tmp_path):
    path = tmp_path / "balm.toml"
    path.write_text(FORMULA, encoding="utf-8")
    return path


def words(figure):
    from matplotlib.text import Text

    return " | ".join(t.get_text() for t in figure.findobj(Text) if t.get_text())


def luminance(colour):
    from matplotlib.colors import to_rgb

    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_picture_of_a_check_names_what_it_shows(figure):
    said = words(figure)
    for part in ("Harbour balm", "Consistency at 10 1/s", "Solids of the oil phase", "°C"):
        assert part in said
    assert "Composition by phase" in said
    for part in ("Cera Alba", "14 %", "Zinc Oxide", "powder 8 %", "oil 92 %", "90 % range"):
        assert part in said


def test_lines_go_from_5_to_45_degrees_with_a_band_around(figure):
    for axes in figure.axes[:2]:
        (line,) = axes.get_lines()
        assert (line.get_xdata()[0], line.get_xdata()[-1]) == (5.0, 45.0)
        assert len(axes.collections) == 1
    assert figure.axes[0].get_yscale() == "log"


def test_the_drawn_line_is_the_curve(figure, profile, base):
    drawn = figure.axes[1].get_lines()[0].get_ydata()
    assert list(drawn) == list(curves(profile, base).solids.central)


def test_a_swap_shows_before_after_and_the_change(swap_figure):
    said = words(swap_figure)
    for part in ("before: beeswax", "after: another wax", "after over before", "no change"):
        assert part in said
    assert len(swap_figure.axes) == 4
    assert len(swap_figure.axes[0].get_lines()) == 2


def test_lines_differ_in_stroke_and_marker_not_in_colour_alone(swap_figure):
    first, second = swap_figure.axes[0].get_lines()
    assert first.get_linestyle() != second.get_linestyle()
    assert first.get_marker() != second.get_marker()
    bands = swap_figure.axes[0].collections
    assert bands[0].get_hatch() != bands[1].get_hatch()
    assert len({hatch for _, hatch in plots._BARS.values()}) == 3


def test_every_picture_brings_its_own_light_ground_with_contrast_enough(figure, swap_figure):
    for one in (figure, swap_figure):
        grounds = [one.get_facecolor(), *(axes.get_facecolor() for axes in one.axes)]
        assert all(ground == (1.0, 1.0, 1.0, 1.0) for ground in grounds)
        for axes in one.axes:
            for line in axes.get_lines():
                assert contrast(line.get_color(), "white") >= 4.5
    assert contrast(plots.INK, plots.GROUND) >= 7.0
    # In grey the two lines of a swap keep apart by stroke; the bars by more than a tenth.
    greys = sorted(luminance(colour) for colour, _ in plots._BARS.values())
    assert greys[0] < greys[-1] - 0.1


def test_names_do_not_run_over_each_other(figure):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw(renderer)
    for axes in figure.axes:
        boxes = [axes.title, axes._left_title, *axes.get_yticklabels()]
        boxes = [t.get_window_extent(renderer) for t in boxes if t.get_text()]
        if axes.get_legend():
            boxes.append(axes.get_legend().get_window_extent(renderer))
        for n, box in enumerate(boxes):
            assert not any(box.overlaps(other) for other in boxes[n + 1 :])
            assert box.x0 >= 0.0 and box.x1 <= figure.bbox.x1


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_the_same_picture_is_the_same_file(figure, profile, base, tmp_path, ending):
    first, second = tmp_path / f"a.{ending}", tmp_path / f"b.{ending}"
    first.write_bytes(plots.rendered(figure, str(first)))
    again = plots.check_figure(profile, curves(profile, base), base, "Harbour balm")
    second.write_bytes(plots.rendered(again, str(second)))
    assert first.read_bytes() == second.read_bytes()
    assert len(first.read_bytes()) > 10_000


def test_svg_is_well_formed_and_tells_no_date(figure):
    text = plots.rendered(figure, "a.svg").decode()
    assert ElementTree.fromstring(text).tag.endswith("svg")
    assert not re.search(r"<dc:date>|20\d\d-\d\d-\d\d", text)
    assert "Harbour balm" in text


def test_png_has_the_signature(figure):
    assert plots.rendered(figure, "a.PNG").startswith(b"\x89PNG")


def test_where_nothing_can_be_said_the_picture_says_so(matplotlib, base):
    water = FORMULA.replace("beeswax", "glycerin").replace("sunflower oil", "aqua")
    profile = make_profile(open_formula(parse_formula(water, "w.toml"), base).batch, base, 4)
    said = words(plots.check_figure(profile, curves(profile, base), base, "Water"))
    assert "no oil phase" in said
    powder = FORMULA.replace("beeswax", "kaolin").replace("sunflower oil", "talc")
    profile = make_profile(open_formula(parse_formula(powder, "p.toml"), base).batch, base, 4)
    said = words(plots.check_figure(profile, curves(profile, base), base, "Powder"))
    assert "a powder has none" in said


def test_a_long_title_is_wrapped_and_stays_on_the_sheet(matplotlib, profile, base):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    title = "Hydrogenated olive oil decyl esters instead of " * 3
    one = plots.check_figure(profile, curves(profile, base), base, title)
    renderer = FigureCanvasAgg(one).get_renderer()
    one.draw(renderer)
    box = one._suptitle.get_window_extent(renderer)
    assert box.x1 < one.bbox.x1
    assert box.y0 > one.axes[0]._left_title.get_window_extent(renderer).y1


def test_many_materials_are_gathered(matplotlib, base):
    names = [m.inci for m in base.materials.values() if m.phase == "oil" and m.form == "liquid"]
    lines = "".join(f'[[line]]\ningredient = "{n}"\npercent = 5\n' for n in sorted(set(names))[:20])
    opened = open_formula(parse_formula('name = "Many"\n' + lines, "m.toml"), base)
    profile = make_profile(opened.batch, base)
    rows = plots._bars(profile.phases, base)
    assert [label for _, label, _ in rows if label.endswith(" more")]
    whole = sum(s.percent for s in profile.phases.oil)
    assert sum(percent for phase, _, percent in rows if phase == "oil") == pytest.approx(whole)


def test_other_endings_are_refused():
    with pytest.raises(UsageError, match="SVG or PNG"):
        plots.check_format("out.pdf")


def test_without_the_extra_the_error_names_it(without_matplotlib):
    with pytest.raises(UsageError) as caught:
        plots.check_format("out.svg")
    assert "matplotlib" in caught.value.message
    assert "like-for-like[plot]" in caught.value.fix


# -- the commands -----------------------------------------------------------------------------


@pytest.fixture
def known(base_path, monkeypatch):
    monkeypatch.setenv("KB_DATABASE", str(base_path))


def test_check_writes_a_picture(matplotlib, known, formula_file, tmp_path, capsys):
    out = tmp_path / "out.svg"
    assert run(["check", str(formula_file), "--plot", str(out)]) == 0
    assert "Harbour balm" in out.read_text(encoding="utf-8")
    captured = capsys.readouterr()
    assert "Harbour balm" in captured.out
    assert "out.svg" in "".join(captured.err.split())


def test_swap_writes_a_picture_of_the_first_answer(
    matplotlib, known, formula_file, tmp_path, capsys
):
    out = tmp_path / "out.png"
    assert run(["swap", str(formula_file), "beeswax", "--top", "1", "--plot", str(out)]) == 0
    assert out.read_bytes().startswith(b"\x89PNG")
    assert "out.png" in "".join(capsys.readouterr().err.split())


def test_json_stays_json_beside_a_picture(matplotlib, known, formula_file, tmp_path, capsys):
    import json

    out = tmp_path / "out.svg"
    assert run(["check", str(formula_file), "--json", "--plot", str(out)]) == 0
    assert json.loads(capsys.readouterr().out)["name"] == "Harbour balm"
    assert out.is_file()


def test_an_existing_picture_is_kept_unless_forced(
    matplotlib, known, formula_file, tmp_path, capsys
):
    out = tmp_path / "out.svg"
    out.write_text("mine", encoding="utf-8")
    assert run(["check", str(formula_file), "--plot", str(out)]) == 2
    assert out.read_text(encoding="utf-8") == "mine"
    assert run(["check", str(formula_file), "--plot", str(out), "--force"]) == 0
    assert out.read_text(encoding="utf-8") != "mine"


def test_the_ending_is_looked_at_before_any_work(known, formula_file, tmp_path, capsys):
    for command in (["check", str(formula_file)], ["swap", str(formula_file), "beeswax"]):
        assert run([*command, "--plot", str(tmp_path / "out.pdf")]) == 2
        captured = capsys.readouterr()
        assert captured.out == ""
        assert "SVG or PNG" in captured.err


def test_a_folder_that_is_not_there_is_told(matplotlib, known, formula_file, tmp_path, capsys):
    out = tmp_path / "none" / "out.svg"
    assert run(["check", str(formula_file), "--plot", str(out)]) == 2
    assert "no such folder" in " ".join(capsys.readouterr().err.split())


def test_without_the_extra_the_command_names_it(
    without_matplotlib, known, formula_file, tmp_path, capsys
):
    out = tmp_path / "out.svg"
    assert run(["check", str(formula_file), "--plot", str(out)]) == 2
    assert "like-for-like[plot]" in capsys.readouterr().err.replace("\n", " ")
    assert not out.exists()


def test_nothing_acceptable_writes_no_picture(matplotlib, known, formula_file, tmp_path, capsys):
    shelf = tmp_path / "shelf.csv"
    shelf.write_text("ingredient\nAqua\n", encoding="utf-8")
    out = tmp_path / "out.svg"
    arguments = ["swap", str(formula_file), "beeswax", "--shelf", str(shelf), "--plot", str(out)]
    assert run(arguments) == 5
    assert not out.exists()
