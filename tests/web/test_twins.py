"""The JSON of a page is the JSON of the command, text for text."""

from pathlib import Path

import pytest

from kb.cli.main import run
from kb.store.seed import seed_folder
from kb.web.app import make_app
from kb.web.pages import ROUTES
from kb.web.plugin import crew_of
from tests.own.conftest import FACTS, MATERIALS, STOCK
from tests.web.conftest import Visitor


@pytest.fixture
def command(web, base_path, monkeypatch, capsys):
    """Ask a command, with the base and the user's file that the pages read."""
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    monkeypatch.setenv("KB_OWN", str(crew_of(web.app).desk.own))

    def ask(*arguments):
        run([*arguments, "--json"])
        return capsys.readouterr().out

    return ask


@pytest.mark.parametrize(
    ("path", "arguments"),
    [
        ("/find.json?q=beesswax&limit=10", ["find", "beesswax"]),
        ("/find.json?q=8012-89-3&limit=3", ["find", "8012-89-3", "--limit", "3"]),
        ("/material/cera-alba.json", ["show", "beeswax"]),
        ("/material/glyceryl-stearate.json", ["show", "glyceryl-stearate"]),
        ("/roles.json", ["roles"]),
        ("/roles/light-ester.json", ["roles", "light-ester"]),
        ("/suits.json?name=xanthan+gum&system=w/o", ["suits", "xanthan gum", "--system", "w/o"]),
        (
            "/suits.json?name=carbomer&system=o/w&as=thickener",
            ["suits", "carbomer", "--system", "o/w", "--as", "thickener"],
        ),
        (
            "/suits.json?name=xanthan+gum&system=w/o&as=present",
            ["suits", "xanthan gum", "--system", "w/o", "--as", "present"],
        ),
    ],
)
def test_a_twin_equals_the_command(web, command, path, arguments):
    assert web.get(path).text == command(*arguments)


@pytest.mark.parametrize("demo", sorted(p.stem for p in seed_folder().glob("formulas/*.toml")))
def test_the_bench_equals_check(web, command, demo):
    file = str(seed_folder() / "formulas" / f"{demo}.toml")
    assert web.get(f"/bench.json?demo={demo}").text == command("check", file)
    assert web.get(f"/bench.json?s={web.start(demo)}").text == command("check", file)


@pytest.mark.parametrize("policies", [[], ["vegan"], ["natural-only", "no-silicone"]])
def test_replace_equals_swap(web, command, policies):
    file = str(seed_folder() / "formulas" / "oyster-barrier.toml")
    asked = [word for p in policies for word in ("--policy", p)]
    query = "".join(f"&policy={p}" for p in policies)
    twin = web.get(f"/bench/replace.json?s={web.start()}&at=6{query}").text
    assert twin == command("swap", file, "beeswax", *asked)


@pytest.mark.parametrize(
    ("asked", "options"),
    [
        ("&policy=natural-only", ["--policy", "natural-only"]),
        ("&policy=no-silicone", ["--policy", "no-silicone"]),
        ("&policy=vegan&keep=6", ["--policy", "vegan", "--keep", "beeswax"]),
        ("&forbid=beeswax&top=2", ["--forbid", "beeswax", "--top", "2"]),
    ],
)
def test_an_adaptation_equals_adapt(web, command, asked, options):
    file = str(seed_folder() / "formulas" / "oyster-barrier.toml")
    twin = web.get(f"/bench/adapt.json?s={web.start()}{asked}")
    assert twin.status_code == 200, twin.text
    assert twin.text == command("adapt", file, *options, "--time-limit", "20")


@pytest.mark.parametrize("batch", ["1 kg", "250g", "2.5kg"])
def test_the_sheet_of_a_batch_equals_sheet(web, command, batch):
    file = str(seed_folder() / "formulas" / "oyster-barrier.toml")
    twin = web.get("/bench/sheet.json", params={"s": web.start(), "batch": batch}).text
    assert twin == command("sheet", file, "--batch", batch)


def test_two_versions_equal_compare(web, command, tmp_path, monkeypatch, demo_text):
    s = web.start()
    take = web.get(f"/bench/replace.json?s={s}&at=6").json()["swaps"][0]["replace"][0]
    place = web.get(f"/bench/accept?s={s}&at=6&take={take['ingredient']}").headers["location"]
    monkeypatch.chdir(tmp_path)
    (tmp_path / "version 1").write_text(demo_text, "utf-8")
    after = web.get(place.replace("/bench", "/bench/take")).text
    (tmp_path / "now").write_text(after, "utf-8")
    twin = web.get(place.replace("/bench", "/bench/compare.json")).text
    assert twin == command("compare", "version 1", "now")


def test_the_users_own_equals_own_list(web, command):
    assert web.get("/own.json").text == command("own", "list")


def test_everything_equals_with_a_world_of_the_users_own(base_path, tmp_path, monkeypatch, capsys):
    own = tmp_path / "own.sqlite"
    app = make_app(base_path, own=own)
    visitor = Visitor(app)
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    monkeypatch.setenv("KB_OWN", str(own))
    monkeypatch.chdir(tmp_path)
    file = str(seed_folder() / "formulas" / "oyster-barrier.toml")

    def command(*arguments):
        run([*arguments, "--json"])
        return capsys.readouterr().out

    try:
        for list_ in (MATERIALS, FACTS):
            assert visitor.post("/own/add", data={"list": list_}).status_code == 303
        (tmp_path / "stock.csv").write_text(STOCK, "utf-8")
        command("own", "shelf", "stock.csv")
        command("measured", file, "--ph", "5.4", "--consistency", "42000", "--age", "24h")
        s = visitor.start()
        for path, arguments in (
            ("/own.json", ["own", "list"]),
            ("/find.json?q=valley+beeswax&limit=10", ["find", "valley beeswax"]),
            ("/material/own-meadow-butter.json", ["show", "meadow butter"]),
            ("/material/simmondsia-chinensis-seed-oil.json", ["show", "jojoba oil"]),
            ("/roles/butter.json", ["roles", "butter"]),
            (f"/bench.json?s={s}", ["check", file]),
            (f"/bench/sheet.json?s={s}&batch=2kg", ["sheet", file, "--batch", "2kg"]),
            (f"/bench/measured.json?s={s}", ["measured", file, "--list"]),
            (f"/bench/replace.json?s={s}&at=6", ["swap", file, "beeswax"]),
            (
                f"/bench/replace.json?s={s}&at=6&shelf=only",
                ["swap", file, "beeswax", "--shelf"],
            ),
            (
                f"/bench/replace.json?s={s}&at=6&shelf=first",
                ["swap", file, "beeswax", "--prefer-shelf"],
            ),
        ):
            assert visitor.get(path).text == command(*arguments), path
    finally:
        crew_of(app).close()
        visitor.loop.close()


def test_every_twin_is_held_against_a_command():
    """A page that gets a twin gets a comparison in this file, or says here why it has none."""
    alone = {"/", "/help"}  # no command shows a first page or this help
    twins = {
        route.path.removeprefix("^").partition("(?P<json>")[0]
        for route in ROUTES
        if "json" in route.path
    }
    text = Path(__file__).read_text("utf-8")
    for path in twins - alone:
        stem = path.replace("(?P<name>[^/]+?)", "")
        assert f'"{stem}' in text.replace(".json", ""), path


def test_failures_are_told_alike(web, command):
    assert web.get("/material/beeswaxx.json").json() == _parsed(command("show", "beeswaxx"))
    assert web.get("/roles/waxx.json").json() == _parsed(command("roles", "waxx"))


def _parsed(text):
    import json

    return json.loads(text)
