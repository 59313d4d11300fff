"""What a page weighs, what it fetches, and whether its colours can be read: computed."""

import re

import pytest

from kb.web.paper import ASSETS, asset
from tests.web.reading import Page
from tests.web.test_pages import FINE, filled

WEIGHT = 100_000
REQUESTS = 6


@pytest.mark.parametrize("path", FINE)
def test_a_page_is_light(web, path):
    answer = web.get(filled(web, path))
    page = Page(answer.text)
    fetched = {a["href"] for a in page.all("link")} | {a["src"] for a in page.all("script")}
    fetched |= {a["src"] for a in page.all("img")}
    assert 1 + len(fetched) <= REQUESTS
    weight = len(answer.content) + sum(len(web.get(link).content) for link in fetched)
    assert weight <= WEIGHT, weight


@pytest.mark.parametrize("path", FINE)
def test_a_page_points_nowhere_else(web, path):
    page = Page(web.get(filled(web, path)).text)
    for tag, a in page.elements:
        for name in ("href", "src", "action", "formaction"):
            value = a.get(name)
            assert not value or value[0] in "/#?", (tag, value)
    assert not page.all("style")
    assert all("src" in a for a in page.all("script"))


def test_no_page_of_the_base_is_too_heavy(web, base):
    heaviest = max(base.materials, key=lambda m: len(base.handles(m)) + len(base.parts(m)))
    for path in [f"/material/{heaviest}", *(f"/roles/{r}" for r in list(base.roles)[::7])]:
        assert len(web.get(path).content) < 75_000, path


def test_assets_fetch_nothing():
    for name in ASSETS:
        text = asset(name).decode()
        assert "url(" not in text and "@import" not in text
        addresses = set(re.findall(r"https?://[^\s\"']+", text))
        assert addresses <= {"http://www.w3.org/2000/svg"}, name
        assert "eval(" not in text and "innerHTML" not in text


# -- contrast --------------------------------------------------------------------------------------


def palettes():
    css = asset("style.css").decode()
    names = re.findall(r"--([\w-]+):\s*(#[0-9a-f]{3,6})", css.partition("@media print")[0])
    light, dark = {}, {}
    for name, colour in names:
        (dark if name in light else light)[name] = colour
    return {"light": light, "dark": dark}


def luminance(colour):
    digits = colour[1:]
    if len(digits) == 3:
        digits = "".join(2 * d for d in digits)
    parts = [int(digits[n : n + 2], 16) / 255 for n in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a, b):
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_worked_out_right():
    assert contrast("#000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#fff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_and_edges_stand_out(theme):
    colours = palettes()[theme]
    assert len(colours) == 10
    for ground in ("paper", "sheet", "wash", "care"):
        for ink in ("ink", "soft", "accent"):
            assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)
    assert contrast(colours["on-accent"], colours["accent"]) >= 4.5
    for ground in ("paper", "sheet"):
        assert contrast(colours["edge"], colours[ground]) >= 3.0, ground


def test_targets_are_large_enough_for_wet_hands():
    css = asset("style.css").decode()
    tap = float(re.search(r"--tap:\s*([\d.]+)rem", css)[1]) * 16
    assert tap >= 44
    assert re.search(r"button, \.go, input[^{]*\{[^}]*min-height: var\(--tap\)", css)


def test_movement_and_theme_follow_the_system():
    css = asset("style.css").decode()
    for rule in ("prefers-reduced-motion", "prefers-color-scheme", "@media print"):
        assert rule in css
    assert "animation" not in css
