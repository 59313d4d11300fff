import pytest

from kb.errors import FormulaError
from kb.formula.shelf import read_shelf


@pytest.mark.parametrize(
    "text",
    [
        "Glycerin\n1,2-Hexanediol\n",
        "ingredient\nGlycerin\n1,2-Hexanediol\n",
        "\ufeffIngredient;Stock;Price\r\nGlycerin;5 kg;2,50\r\n1,2-Hexanediol;1 kg;\r\n",
        'no,inci,price\n1,Glycerin,2.5\n2,"1,2-Hexanediol",3\n',
        "# what is in the shed\nGlycerin\n\n1,2-Hexanediol",
    ],
)
def test_stock_lists(tmp_path, text):
    path = tmp_path / "shelf.csv"
    path.write_text(text, encoding="utf-8")
    assert read_shelf(str(path)) == ["Glycerin", "1,2-Hexanediol"]


@pytest.mark.parametrize("raw", [b"", b",,\n;;\n", b"ingredient;price\n", b"\0\1", b"# only this"])
def test_lists_without_names(tmp_path, raw):
    path = tmp_path / "shelf.csv"
    path.write_bytes(raw)
    with pytest.raises(FormulaError) as caught:
        read_shelf(str(path))
    assert caught.value.fix and caught.value.where == str(path)


def test_a_list_that_is_not_there(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path, "a\0b"):
        with pytest.raises(FormulaError) as caught:
            read_shelf(str(path))
        assert caught.value.fix
