import io
import sys

import pytest

from kb.errors import FormulaError
from kb.formula.reading import parse_formula, read_formula


def percents(text, origin="a.csv"):
    return {line.given: round(line.percent, 6) for line in parse_formula(text, origin).lines}


HEADERS = [
    ("ingredient", "percent"),
    ("Ingredient Name", "% w/w"),
    ("INCI", "wt%"),
    ("Raw material", "Amount (%)"),
    ("Material", "Weight %"),
    ("Rohstoff", "Gew.-%"),
    ("Inhaltsstoffe", "Anteil [%]"),
    ("Bezeichnung", "Menge in %"),
    ("Zutat", "Prozent"),
    ("INCI-Bezeichnung", "Einsatzkonzentration %"),
    ("Ingrédient", "Pourcentage"),
    ("Matière première", "Quantité (%)"),
    ("Nom INCI", "Teneur"),
    ("Ingrediente", "Porcentaje"),
    ("Materia prima", "% p/p"),
    ("Nombre", "Cantidad"),
    ("Ingredienti", "Percentuale"),
    ("Materia prima", "Quantità"),
    ("Nome INCI", "Dosaggio %"),
    ("COMPONENT", "PCT"),
]


@pytest.mark.parametrize(("name", "amount"), HEADERS)
@pytest.mark.parametrize("delimiter", [";", "\t", ",", "|"])
def test_headings_in_five_languages(name, amount, delimiter):
    rows = [(name, amount), ("Water", "70.5"), ("Glycerin", "29.5")]
    text = "\n".join(delimiter.join(row) for row in rows)
    assert percents(text) == {"Water": 70.5, "Glycerin": 29.5}


@pytest.mark.parametrize(("name", "amount"), HEADERS)
def test_columns_in_any_order_between_others(name, amount):
    text = (
        f"No;Supplier;{amount};CAS;{name};Cost/kg;Function\n"
        "1;Nobody;70,5;7732-18-5;Water;0,10;solvent\n"
        "2;Nobody;29,5;56-81-5;Glycerin;1,20;humectant\n"
    )
    lines = parse_formula(text, "a.csv").lines
    assert [(x.given, x.percent, x.role) for x in lines] == [
        ("Water", 70.5, "solvent"),
        ("Glycerin", 29.5, "humectant"),
    ]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("2.5", 2.5),
        ("2,5", 2.5),
        ("2.5%", 2.5),
        ("2,5 %", 2.5),
        ("2.5\u00a0%", 2.5),
        ("2.5\u202f%", 2.5),
        ("2.5 % w/w", 2.5),
        (".5", 0.5),
        ("5.", 5.0),
        ("+3", 3.0),
        ("5,00E-02", 0.05),
        ("1e1", 10.0),
        ("007", 7.0),
        ("12 g", 12.0),
        ("0", 0.0),
    ],
)
def test_numbers_as_spreadsheets_write_them(written, meant):
    assert percents(f"name;percent\nWater;50\nX;{written}")["X"] == meant


BALANCE = [
    *("q.s.", "qs", "Q.S.", "q. s.", "q.s. to 100", "q.s. ad 100", "qs 100%", "q.s.p. 100"),
    *("qsp 100", "qsp", "c.s.p.", "csp 100", "to 100", "to 100 %", "up to 100", "ad 100"),
    *("ad 100,0", "ad 100.00 %", "auf 100", "bis 100", "zu 100", "Rest", "reste", "balance"),
    *("hasta 100", "jusqu'à 100", "jusqu’à 100 %", "q.b.", "q.b. a 100", "fino a 100", "resto"),
]


@pytest.mark.parametrize("written", BALANCE)
def test_balance_words(written):
    lines = parse_formula(f"name;percent\nWater;{written}\nGlycerin;12,5", "a.csv").lines
    assert lines[0].qs and lines[0].percent == 87.5


@pytest.mark.parametrize("written", ["a", "to", "ad", "100", "100 %", "quick", "approx", "rest 5"])
def test_words_that_fill_nothing(written):
    try:
        lines = parse_formula(f"name;percent\nWater;{written}\nGlycerin;0", "a.csv").lines
    except FormulaError:
        return
    assert not any(line.qs for line in lines)


def test_phases_by_letter_carry_down():
    text = "phase,ingredient,percent\nA,Water,70\n,Glycerin,5\nB,Squalane,25"
    assert [x.stage for x in parse_formula(text).lines] == ["A", "A", "B"]


@pytest.mark.parametrize(
    "heading",
    [
        *("Phase A", "PHASE A:", "Wasserphase", "Water phase", "Phase aqueuse", "Fase acuosa"),
        *("Fase A", "A", "Teil 1", "Phase A (water, heat to 75 °C)", "A) Ölphase", "Oils:"),
    ],
)
def test_heading_rows_set_the_stage(heading):
    text = f"ingredient;percent\n{heading};\nWater;70\nPhase B;\nSqualane;30"
    lines = parse_formula(text, "a.csv").lines
    assert [x.given for x in lines] == ["Water", "Squalane"]
    assert lines[0].stage == heading.strip(" :")
    assert lines[1].stage == "Phase B"


def test_a_phase_with_its_subtotal_is_no_ingredient():
    text = "ingredient;percent\nPhase A;70\nWater;70\nÖlphase;30\nSqualane;30"
    formula = parse_formula(text, "a.csv")
    assert formula.total == 100.0
    assert [x.stage for x in formula.lines] == ["Phase A", "Ölphase"]
    assert {r.rule for r in formula.remarks} == {"unread-row"}


def test_an_ingredient_with_phase_in_its_name_stays():
    assert percents("ingredient;percent\nOil phase stabiliser;3\nWater;97") == {
        "Oil phase stabiliser": 3.0,
        "Water": 97.0,
    }


@pytest.mark.parametrize(
    "row",
    [
        *("Total;100", "TOTAL:;100,00 %", "Summe;100", "Gesamt;100", "Somme;100", "Suma;100"),
        *("Totale;100", "Gesamtsumme;100", ";100", "Grand total;100", "Total %;100"),
        *("Total;=SUM(B2:B3)", "Subtotal;100", "Zwischensumme;100", "Total phase A;70"),
    ],
)
def test_total_rows_are_no_ingredient(row):
    formula = parse_formula(f"ingredient;percent\nWater;70\nSqualane;30\n{row}", "a.csv")
    assert [x.given for x in formula.lines] == ["Water", "Squalane"]
    assert formula.remarks == ()


def test_a_total_in_another_column():
    assert percents("phase;ingredient;percent\nA;Water;70\nB;Squalane;30\nTotal;;100") == {
        "Water": 70.0,
        "Squalane": 30.0,
    }


def test_a_stated_total_that_does_not_hold_is_a_problem():
    formula = parse_formula("ingredient;percent\nWater;60\nSqualane;30\nTotal;100", "a.csv")
    (remark,) = formula.remarks
    assert remark.level == "problem"
    assert "100" in remark.message and "90" in remark.message


def test_prose_below_the_total_is_not_read():
    text = "ingredient;percent\nWater;70\nSqualane;30\nTotal;100\nHeat both to 75 degrees;\nStir;"
    formula = parse_formula(text, "a.csv")
    assert len(formula.lines) == 2
    assert "2 rows below the total" in formula.remarks[0].message


@pytest.mark.parametrize("heading", ["g", "grams", "Gramm", "Menge (g)", "Peso", "Weight", "en g"])
def test_grams_become_percents(heading):
    heading = f"Quantité {heading}" if heading == "en g" else heading
    formula = parse_formula(f"ingredient;{heading}\nWater;350\nGlycerin;150", "a.csv")
    assert [x.percent for x in formula.lines] == [70.0, 30.0]
    assert formula.remarks[0].rule == "grams"


def test_an_amount_column_with_large_numbers_is_grams():
    assert percents("ingredient;amount\nWater;350\nGlycerin;150") == {"Water": 70, "Glycerin": 30}


def test_a_percent_column_with_a_large_number_is_a_fault():
    with pytest.raises(FormulaError, match="350"):
        parse_formula("ingredient;percent\nWater;350\nGlycerin;150", "a.csv")


def test_units_in_cells_and_in_their_own_column():
    assert percents("ingredient;amount\nWater;0,35 kg\nGlycerin;150 g") == {
        "Water": 70.0,
        "Glycerin": 30.0,
    }
    assert percents("ingredient;amount;unit\nWater;0.35;kg\nGlycerin;150;g") == {
        "Water": 70.0,
        "Glycerin": 30.0,
    }


@pytest.mark.parametrize(
    ("written", "grams"),
    [("1,250.0", 1250), ("1.250,0", 1250), ("1 250", 1250), ("1'250", 1250), ("1 250,0", 1250)],
)
def test_thousands_separators(written, grams):
    found = percents(f"ingredient;grams\nWater;{written}\nGlycerin;1250")
    assert found["Water"] == pytest.approx(100 * grams / (grams + 1250))


def test_grams_filled_up_to_a_stated_total():
    formula = parse_formula("ingredient;g\nWater;ad 500,0\nGlycerin;150", "a.csv")
    assert [x.percent for x in formula.lines] == [70.0, 30.0]
    assert formula.lines[0].qs is False


@pytest.mark.parametrize("written", ["q.s.", "ad 100"])
def test_grams_cannot_fill_up_to_nothing(written):
    with pytest.raises(FormulaError) as caught:
        parse_formula(f"ingredient;g\nWater;{written}\nGlycerin;150", "a.csv")
    assert caught.value.where == "a.csv:2" and caught.value.fix


def test_shares_of_one_become_percents():
    formula = parse_formula("ingredient;percent\nWater;0.7\nGlycerin;0.3", "a.csv")
    assert [x.percent for x in formula.lines] == [70.0, 30.0]
    assert formula.remarks[0].rule == "fractions"


def test_quotes_and_a_bom_and_blank_lines_and_comments():
    text = (
        '\ufeff"Ingredient","Percent"\r\n\r\n# a comment, with 5\r\n'
        '"1,2-Hexanediol","0,5"\r\n,\r\nWater,99.5\r\n'
    )
    assert percents(text) == {"1,2-Hexanediol": 0.5, "Water": 99.5}


def test_a_delimiter_stated_on_the_first_line():
    assert percents("sep=;\nname;percent\nWater, purified;70,5\nGlycerin;29,5") == {
        "Water, purified": 70.5,
        "Glycerin": 29.5,
    }


def test_title_rows_above_the_header():
    text = "Night cream;;\nVersion 3, of Monday;;\n;;\nPhase;INCI;%\nA;Water;70\nB;Squalane;30"
    formula = parse_formula(text, "a.csv")
    assert [(x.given, x.stage) for x in formula.lines] == [("Water", "A"), ("Squalane", "B")]
    assert formula.lines[0].place == "a.csv:5"


def test_a_row_number_column_headed_by_a_hash():
    assert percents("#,Ingredient,%\n1,Water,70\n2,Squalane,30") == {"Water": 70, "Squalane": 30}


def test_names_that_hold_the_delimiter_are_joined():
    text = "ingredient,percent,function\n1,2-Hexanediol,0.5,booster\nWater,99.5,solvent"
    assert percents(text) == {"1,2-Hexanediol": 0.5, "Water": 99.5}
    assert percents("ingredient,percent\nGlycerin, vegetable,5\nWater,95") == {
        "Glycerin, vegetable": 5.0,
        "Water": 95.0,
    }


def test_a_note_that_holds_the_delimiter_is_left_alone():
    text = "ingredient,percent,comment\nWater,95,boiled, cooled, poured\nGlycerin,5,"
    assert percents(text) == {"Water": 95.0, "Glycerin": 5.0}


def test_decimal_commas_between_commas_are_refused_not_guessed():
    for text in ("ingredient,percent\nGlycerin,2,5\nWater,97,5", "Glycerin,2,5\nWater,97,5"):
        with pytest.raises(FormulaError) as caught:
            parse_formula(text, "a.csv")
        assert "semicolons" in caught.value.fix


@pytest.mark.parametrize(
    "text",
    [
        *("Water;70\nGlycerin;30", "1;Water;70\n2;Glycerin;30", "A,Water,70\nB,Glycerin,30"),
        *(
            "Water\t70 %\nGlycerin\tq.s.",
            "70;Water\n30;Glycerin",
            "Stoff X;soviel\nWater;70\nGlycerin;30",
        ),
    ],
)
def test_without_a_header(text):
    assert percents(text) == {"Water": 70.0, "Glycerin": 30.0}


def test_the_inci_name_wins_and_blanks_take_the_other():
    text = "Raw material;INCI;%\nSomething;Glycerin;5\nWater;;95"
    assert percents(text) == {"Glycerin": 5.0, "Water": 95.0}


def test_active_and_locked_columns():
    text = "ingredient;percent;active;locked\nZinc Oxide;10;yes;x\nWater;90;;no"
    zinc, water = parse_formula(text, "a.csv").lines
    assert zinc.active is True and zinc.locked
    assert water.active is None and not water.locked


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_codings(tmp_path, coding):
    path = tmp_path / "a.csv"
    raw = "Rohstoff;Gew.-%\nSüßmandelöl;100".encode(coding)
    path.write_bytes(b"\xff\xfe" + raw if coding == "utf-16-le" else raw)
    assert read_formula(str(path)).lines[0].given == "Süßmandelöl"


def test_standard_input(monkeypatch):
    stdin = io.TextIOWrapper(io.BytesIO("name;percent\nWater;q.s.\nÖl;30".encode()))
    monkeypatch.setattr(sys, "stdin", stdin)
    formula = read_formula("-")
    assert formula.origin == "standard input"
    assert [x.percent for x in formula.lines] == [70.0, 30.0]
