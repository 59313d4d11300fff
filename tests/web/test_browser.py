"""The uses of the product in a real browser: by mouse, by keyboard, with and without script."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from kb.store.seed import seed_folder
from tests.own.conftest import FACTS, MATERIALS, STOCK
from tests.web.browser import AXE, Browser, missing

pytestmark = pytest.mark.skipif(bool(missing()), reason=f"no {' and no '.join(missing())}")

KINDS = [
    (width, dark, script)
    for width in (1280, 390)
    for dark in (False, True)
    for script in (True, False)
]


@pytest.fixture(scope="module")
def address(base_path, tmp_path_factory):
    """A server of its own; that it still runs at the end is part of the test.

    The user's file holds something of everything, so that the pages show all they can.
    """
    folder = tmp_path_factory.mktemp("world")
    world = {"KB_DATABASE": str(base_path), "KB_OWN": str(folder / "own.sqlite")}
    for name, text in (("materials", MATERIALS), ("facts", FACTS), ("stock", STOCK)):
        (folder / f"{name}.csv").write_text(text, "utf-8")
    demo = str(seed_folder() / "formulas" / "winter-hand-cream.toml")
    for words in (
        ["own", "add", str(folder / "materials.csv")],
        ["own", "add", str(folder / "facts.csv")],
        ["own", "shelf", str(folder / "stock.csv")],
        ["measured", demo, "--ph", "5.4", "--consistency", "42000", "--age", "24h"],
    ):
        command = [sys.executable, "-m", "kb", *words]
        subprocess.run(command, env={**os.environ, **world}, check=True, capture_output=True)
    said = tmp_path_factory.mktemp("server") / "errors.txt"
    with said.open("w") as errors:
        process = subprocess.Popen(
            [sys.executable, "-m", "kb", "serve"],
            env={**os.environ, **world, "PYTHONUNBUFFERED": "1"},
            stdout=subprocess.PIPE,
            stderr=errors,
            text=True,
        )
    with process:
        yield process.stdout.readline().strip()
        ended = process.poll()
        process.terminate()
        process.stdout.read()
    assert ended is None, f"the server ended with {ended}: {said.read_text()}"
    assert "Traceback" not in said.read_text()


@pytest.fixture(
    scope="module",
    params=KINDS,
    ids=lambda k: f"{k[0]}-{'dark' if k[1] else 'light'}-{'script' if k[2] else 'plain'}",
)
def browser(request):
    width, dark, script = request.param
    found = Browser(width, 900, dark, script)
    yield found
    found.close()


@pytest.fixture(scope="module")
def plain_browser():
    found = Browser()
    yield found
    found.close()


def on_paper(browser, *words):
    """Check that a page prints with what it is about, and without what is only for pressing."""
    printed = browser.printed()
    for word in words:
        assert word in printed, word
    for only_seen in ("Skip to the content", "Print", "Accept"):
        assert only_seen not in printed, only_seen


def test_find_what_replaces_a_material_that_is_out_of_stock(browser, address):
    browser.driver.get(address)
    browser.one("a[href*='demo=oyster-barrier']").click()
    browser.see("Lines and findings")
    browser.one("button[aria-label='Replace Cera Alba']").click()
    browser.see("Instead of Cera Alba, 3 %")
    on_paper(browser, "Instead of Cera Alba", "Trial card", "Why this one")
    card = browser.one(".card button.main")
    name = card.text.removeprefix("Accept ")
    card.click()
    browser.see(f"Last change: {name}")
    browser.one(".log", "Cera Alba")
    browser.one("button[formaction='/bench/compare']").click()
    browser.see("Two versions, line by line")
    browser.driver.back()
    browser.one("button[formaction='/bench/sheet']").click()
    browser.see("Weigh in")
    on_paper(browser, name, "Weigh in", "Ingredient list", "Batch number")
    browser.driver.back()
    browser.one("button[value='undo']").click()
    browser.gone("Last change")
    browser.one("button[aria-label='Replace Cera Alba']")


def test_browse_by_function(browser, address):
    browser.driver.get(address)
    browser.one("nav a[href='/roles']").click()
    browser.one("main a[href='/roles/light-ester']").click()
    browser.see("What makes two players alike")
    browser.see("Decides:")
    for direction in ("ascending", "descending"):
        browser.one(".sorted th:nth-child(3) a").click()
        browser.one(f"th[aria-sort={direction}]")
        told = [cell.text.split() for cell in browser.all(".sorted td:nth-child(3)")]
        values = [float(words[0].replace(",", "")) for words in told if words != ["–"]]
        assert len(values) > 5
        assert values == sorted(values, reverse=direction == "descending")
    browser.one("table a[href^='/material/']").click()
    browser.see("What it does")
    browser.see("Likely to stand in")
    on_paper(browser, "What it does", "Likely to stand in", "Values")


def test_check_where_a_gum_belongs(browser, address):
    from selenium.webdriver.support.ui import Select

    browser.driver.get(address)
    browser.one("#sn").send_keys("xanthan gum")
    Select(browser.one("#ss")).select_by_visible_text("w/o")
    browser.one("form[action='/suits'] button").click()
    browser.one("#answer", "Fails")
    browser.see("Use instead")
    on_paper(browser, "Fails", "Xanthan Gum in w/o", "Use instead")


def test_adapt_to_natural_origin_only(browser, address):
    browser.driver.get(address)
    browser.one("a[href*='demo=oyster-barrier']").click()
    browser.see("Lines and findings")
    browser.one("button[formaction='/bench/adapt']").click()
    browser.see("What the brand allows")
    browser.one("input[value='natural-only']").click()
    browser.one("form button.main", "Adapt it").click()
    browser.see("The old formula beside the new")
    on_paper(browser, "The old formula beside the new", "Why these", "Trial card")
    browser.one("button[name='take']").click()
    browser.see("Last change: adapted to natural-only")
    browser.one("button[formaction='/bench/sheet']").click()
    browser.see("Weigh in")
    on_paper(browser, "Weigh in", "Ingredient list")
    browser.driver.back()
    browser.one("button[value='undo']").click()
    browser.gone("Last change")


def test_adapting_by_keyboard_alone(browser, address):
    from selenium.webdriver.common.keys import Keys

    start(browser, address)
    browser.tab_to("a", "Oyster barrier cream")
    browser.press(Keys.ENTER)
    browser.see("Lines and findings")
    browser.tab_to("button[formaction='/bench/adapt']")
    browser.press(Keys.ENTER)
    browser.see("What the brand allows")
    browser.tab_to("input[value='natural-only']")
    browser.press(Keys.SPACE)
    browser.tab_to("form button.main", "Adapt it")
    browser.press(Keys.ENTER)
    browser.see("The old formula beside the new")
    browser.tab_to("button[name='take']")
    browser.press(Keys.ENTER)
    browser.see("Last change: adapted to natural-only")
    browser.tab_to("button[formaction='/bench/sheet']")
    browser.press(Keys.ENTER)
    browser.see("Weigh in")
    on_paper(browser, "Weigh in")


def start(browser, address):
    """Go to the first page; the first thing reached by the keyboard leads to its content."""
    from selenium.webdriver.common.keys import Keys

    browser.driver.get(address)
    browser.press(Keys.TAB)
    first = browser.driver.switch_to.active_element
    assert first.text == "Skip to the content"
    assert first.rect["x"] >= 0


def test_replacing_by_keyboard_alone(browser, address):
    from selenium.webdriver.common.keys import Keys

    start(browser, address)
    browser.tab_to("a", "Oyster barrier cream")
    browser.press(Keys.ENTER)
    browser.see("Lines and findings")
    browser.tab_to("button[aria-label='Replace Cera Alba']")
    browser.press(Keys.ENTER)
    browser.see("Instead of Cera Alba")
    browser.tab_to(".rank button[name=take], .card button[name=take]")
    browser.press(Keys.ENTER)
    browser.see("Last change")
    browser.tab_to("button[value='undo']")
    browser.press(Keys.ENTER)
    browser.gone("Last change")
    browser.tab_to("button[formaction='/bench/sheet']")
    browser.press(Keys.ENTER)
    browser.see("Weigh in")
    on_paper(browser, "Weigh in", "Beeswax")


def test_browsing_and_judging_by_keyboard_alone(browser, address):
    from selenium.webdriver.common.keys import Keys

    start(browser, address)
    browser.tab_to("#sn")
    browser.press("carbomer")
    browser.tab_to("#ss")
    browser.press("o")
    browser.press(Keys.TAB, Keys.ENTER)
    assert browser.one("#answer").text in {"Works", "With care", "Fails"}
    on_paper(browser, "Carbomer in o/w")

    browser.tab_to("nav a", "Roles")
    browser.press(Keys.ENTER)
    browser.see("What ingredients do")
    browser.tab_to("main a", "light ester")
    browser.press(Keys.ENTER)
    browser.tab_to(".sorted thead a", "viscosity")
    browser.press(Keys.ENTER)
    browser.one("th[aria-sort=ascending]")
    browser.tab_to("table tbody a")
    browser.press(Keys.ENTER)
    browser.see("What it does")
    on_paper(browser, "What it does", "Values")


PAGES = (
    "",
    "find?q=wax",
    "help",
    "material/cera-alba",
    "roles",
    "roles/light-ester",
    "suits?name=xanthan+gum&system=w%2Fo",
    "own",
    "bench",
    "bench?demo=oyster-barrier",
    "bench?formula=ingredient,percent%0AWater,q.s.%0AXanthan%20Gum,0.5%0ASorbitan%20Oleate,4",
    "material/nothing-of-the-kind",
)


def walk(browser, address):
    """Open every kind of page, the one for replacing included."""
    for path in PAGES:
        browser.driver.get(address + path)
        yield path
    browser.driver.get(address + "bench?demo=winter-hand-cream")
    browser.all("button[formaction='/bench/replace']")[2].click()
    browser.one(".card button.main")
    yield "bench/replace"
    browser.one(".card button.main").click()
    browser.see("Last change")
    browser.one("button[formaction='/bench/compare']").click()
    browser.one("h1", "Two versions")
    yield "bench/compare"
    browser.driver.back()
    for path, words in (
        ("adapt", "What the brand allows"),
        ("sheet", "Weigh in"),
        ("measured", "Keep a measurement"),
    ):
        browser.one(f"button[formaction='/bench/{path}']").click()
        browser.see(words)
        yield f"bench/{path}"
        if path == "adapt":
            browser.one("input[value='natural-only']").click()
            browser.one("form button.main", "Adapt it").click()
            browser.see("beside the new")
            yield "bench/adapt, answered"
            browser.driver.back()
        browser.driver.back()


#: What is pressed or filled in with wet hands; links within a text stay as high as its lines.
TARGETS = "button, input, select, textarea, summary, nav a, .picks a, .found a, .go, thead a"
#: Targets less than 44 pixels high or wide, those hidden left out; a box to tick has its label.
SMALL = """
return [...document.querySelectorAll(arguments[0])]
  .filter((e) => e.type !== "hidden" && !e.matches(".hush") && e.offsetParent)
  .map((e) => [e.outerHTML.slice(0, 80), (e.closest("label") || e).getBoundingClientRect()])
  .filter(([html, r]) => r.height < 43.5 || (r.width < 43.5 && !html.startsWith("<a")))
  .map(([html, r]) => `${html} ${r.width} x ${r.height}`)
"""


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_sticks_out_and_targets_are_large(address, width):
    browser = Browser(width)
    try:
        for path in walk(browser, address):
            wide = browser.run("return document.documentElement.scrollWidth")
            assert wide <= width, (path, wide)
            small = browser.run(SMALL, TARGETS)
            assert not small, (path, small)
    finally:
        browser.close()


def test_focus_is_seen_wherever_it_goes(plain_browser, address):
    from selenium.webdriver.common.keys import Keys

    browser = plain_browser
    browser.driver.get(address + "bench?demo=deck-balm")
    for _ in range(30):
        browser.press(Keys.TAB)
        kind, wide = browser.run(
            """const s = getComputedStyle(document.activeElement);
            return [s.outlineStyle, parseFloat(s.outlineWidth)]"""
        )
        assert kind == "solid" and wide >= 2


def test_names_appear_as_they_are_typed(plain_browser, address):
    from selenium.webdriver.common.keys import Keys
    from selenium.webdriver.support.ui import WebDriverWait

    browser = plain_browser
    browser.driver.get(address)
    browser.one("#q").send_keys("beesw")
    WebDriverWait(browser.driver, 5).until(lambda _: browser.all("#found a"))
    assert browser.driver.current_url == address
    assert "Cera Alba" in browser.one("#found").text
    browser.press(Keys.ARROW_DOWN, Keys.ENTER)
    WebDriverWait(browser.driver, 5).until(lambda d: "/material/" in d.current_url)


def test_the_total_follows_what_is_typed(plain_browser, address):
    browser = plain_browser
    browser.driver.get(address + "bench?demo=oyster-barrier")
    filled = float(browser.one("[data-qs]").text)
    box = browser.one("#p6")
    box.clear()
    box.send_keys("4.5")
    assert float(browser.one("[data-qs]").text) == pytest.approx(filled - 1.5, abs=0.06)
    assert browser.one("[data-total]").text == "100"
    assert "Update" in browser.one("[data-total-note]").text
    box.clear()
    box.send_keys("a lot")
    assert "cannot be read" in browser.one("[data-total-note]").text


def test_a_page_asks_for_little_and_nothing_fails(plain_browser, address):
    for path in walk(plain_browser, address):
        fetched = plain_browser.run(
            "return performance.getEntriesByType('resource').map((e) => e.name)"
        )
        assert len(fetched) + 1 <= 6, (path, fetched)
        assert all(name.startswith(address) for name in fetched), fetched
    wrong = [
        entry
        for entry in plain_browser.driver.get_log("browser")
        if entry["level"] == "SEVERE" and "nothing-of-the-kind" not in entry["message"]
    ]
    assert not wrong


@pytest.mark.skipif(not AXE, reason="no axe-core-python")
@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, True)])
def test_the_rules_of_accessibility_hold(address, width, dark):
    rules = Path(AXE).read_text("utf-8")
    browser = Browser(width, dark=dark)
    try:
        for path in walk(browser, address):
            browser.run(rules)
            result = browser.driver.execute_async_script(
                "const done = arguments[0]; axe.run(document).then(done)"
            )
            bad = [
                (v["id"], v["impact"], [n["html"][:120] for n in v["nodes"][:3]])
                for v in result["violations"]
            ]
            assert not bad, (path, bad)
    finally:
        browser.close()


def test_a_formula_is_pasted_or_chosen_as_a_file(plain_browser, address, tmp_path):
    browser = plain_browser
    browser.driver.get(address + "bench")
    browser.one("#formula").send_keys("ingredient,percent\nWater,q.s.\nGlycerin,5\nBeeswax,2\n")
    browser.one("main form button.main").click()
    browser.one("button[aria-label='Replace Glycerin']")
    file = tmp_path / "balm.csv"
    file.write_text("Name;Prozent\nOlivenöl;ad 100\nBienenwachs;15\n", "utf-8")
    browser.driver.get(address + "bench")
    browser.one("#file").send_keys(str(file))
    browser.one("main form button.main").click()
    browser.one("button[aria-label='Replace Cera Alba']")
    browser.see("anhydrous")
