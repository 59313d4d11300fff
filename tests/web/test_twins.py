"""The JSON of a page is the JSON of the command, text for text."""

import pytest

from kb.cli.main import run
from kb.store.seed import seed_folder


@pytest.fixture
def command(base_path, monkeypatch, capsys):
    monkeypatch.setenv("KB_DATABASE", str(base_path))

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


def test_failures_are_told_alike(web, command):
    assert web.get("/material/beeswaxx.json").json() == _parsed(command("show", "beeswaxx"))
    assert web.get("/roles/waxx.json").json() == _parsed(command("roles", "waxx"))


def _parsed(text):
    import json

    return json.loads(text)
