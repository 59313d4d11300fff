import pytest

from kb.formula.reading import parse_formula, read_formula

FULL = """\
name = "Harbour balm"
system = "w/o"
ph = 5.2
note = "first\\nsecond"

[product]
market = "eu"
leave_on = true

[[line]]
ingredient = "Zinc Oxide"
percent = 10.0
stage = "oil"
role = "barrier-powder"
active = true
locked = true

[[line]]                 # the water
ingredient = "Water"
percent = "q.s."
stage = "water"

[[ line ]]
ingredient = "Glycerin"
percent = 5

[measured]
consistency_25c = 42000
note = "spindle 5, 10 rpm, day 1"
"""


def test_every_key_of_the_contract_is_read():
    formula = parse_formula(FULL, "balm.toml")
    assert formula.name == "Harbour balm"
    assert formula.system == "w/o"
    assert formula.ph == 5.2
    assert formula.note == "first\nsecond"
    assert formula.product == {"market": "eu", "leave_on": True}
    assert formula.measured["consistency_25c"] == 42000
    zinc, water, glycerin = formula.lines
    assert (zinc.given, zinc.percent, zinc.stage, zinc.role) == (
        "Zinc Oxide",
        10.0,
        "oil",
        "barrier-powder",
    )
    assert zinc.active is True and zinc.locked is True
    assert water.qs and water.percent == 85.0 and water.active is None and not water.locked
    assert glycerin.percent == 5.0
    assert formula.total == 100.0
    assert formula.remarks == ()


def test_lines_know_their_place_in_the_file():
    formula = parse_formula(FULL, "balm.toml")
    assert [line.place for line in formula.lines] == [
        "balm.toml:10",
        "balm.toml:18",
        "balm.toml:23",
    ]


def test_an_inline_list_of_lines_is_read_and_counted():
    text = 'line = [{ingredient = "Water", percent = 90}, {ingredient = "Glycerin", percent = 10}]'
    formula = parse_formula(text, "standard input")
    assert [line.percent for line in formula.lines] == [90.0, 10.0]
    assert formula.lines[1].place == "standard input, line table 2"


@pytest.mark.parametrize("written", ["q.s.", "qs", "Q.S.", "to 100", "ad 100", "qsp 100", "c.s.p."])
def test_balance_words_fill_to_a_hundred(written):
    text = '[[line]]\ningredient = "A"\npercent = 30\n[[line]]\ningredient = "B"\n' + (
        f'percent = "{written}"'
    )
    assert parse_formula(text).lines[1].percent == 70.0


def test_a_percent_may_be_text_with_a_decimal_comma():
    text = '[[line]]\ningredient = "A"\npercent = "2,5 %"'
    assert parse_formula(text).lines[0].percent == 2.5


@pytest.mark.parametrize(
    ("written", "meant"),
    [("W/O", "w/o"), ("water-in-oil", "w/o"), (" O/W ", "o/w"), ("gel", "water gel")],
)
def test_system_words_as_people_write_them(written, meant):
    text = f'system = "{written}"\n[[line]]\ningredient = "A"\npercent = 2.5'
    assert parse_formula(text).system == meant


def test_keys_that_are_not_read_are_said_with_the_likely_one():
    text = 'systm = "w/o"\n[[line]]\ningredient = "A"\npercent = 2.5\nstag = "oil"'
    remarks = parse_formula(text, "a.toml").remarks
    assert [r.rule for r in remarks] == ["unread-key", "unread-key"]
    assert "`systm`" in remarks[0].message and "`system`?" in remarks[0].message
    assert "a.toml:2" in remarks[1].message and "`stage`?" in remarks[1].message
    assert remarks[1].lines == (1,)


def test_a_short_total_is_kept_for_the_findings():
    text = '[[line]]\ningredient = "A"\npercent = 60\n[[line]]\ningredient = "B"\npercent = 37'
    assert parse_formula(text).total == 97.0


def test_the_same_material_may_stand_on_two_lines():
    text = '[[line]]\ningredient = "A"\npercent = 60\n[[line]]\ningredient = "A"\npercent = 40'
    assert [line.given for line in parse_formula(text).lines] == ["A", "A"]


def test_invisible_characters_are_taken_out():
    text = '[[line]]\ningredient = "Shea\\u200b\\u00a0 Butter\\u001b[31m"\npercent = 2'
    assert parse_formula(text).lines[0].given == "Shea Butter[31m"


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_codings(tmp_path, coding):
    path = tmp_path / "a.toml"
    path.write_bytes('[[line]]\ningredient = "Süßmandelöl"\npercent = 2'.encode(coding))
    assert read_formula(str(path)).lines[0].given == "Süßmandelöl"


def test_toml_is_told_from_a_table_on_standard_input():
    assert parse_formula('name = "x"\n[[line]]\ningredient = "A"\npercent = 2').name == "x"
    assert parse_formula("name,percent\nA,2").lines[0].given == "A"
