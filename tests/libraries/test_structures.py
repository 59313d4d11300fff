"""Structures of the seed and what is worked out from them."""

import re
import statistics
import sys
from collections import defaultdict
from pathlib import Path

import pytest

pytest.importorskip("rdkit", reason="install the extra `check`: pip install -e '.[check]'")

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT / "scripts"))

import derive  # noqa: E402
import fat_numbers  # noqa: E402
import from_structure as structure  # noqa: E402
from rdkit import Chem  # noqa: E402

from kb.store.seed import read_seed, seed_folder  # noqa: E402

pytestmark = pytest.mark.filterwarnings("ignore")

#: Structures that a library draws otherwise under the same number, and why ours stands.
DRAWN_OTHERWISE = {
    "glucose": "open chain there, ring here",
    "lactose": "open chain there, ring here",
    "ethylhexyl-isononanoate": "the acid of commerce is 3,5,5-trimethylhexanoic",
    "pentaerythrityl-tetracaprylate-tetracaprate": "the library has alcohol and acid side by side",
    "dipropylene-glycol": "a mixture of isomers; ours is the one with both hydroxyls outside",
    "polyglyceryl-2-isostearate": "the library has acid and alcohol side by side, not the ester",
    "lauroyl-lysine": "the acyl sits on the outer nitrogen",
    "ceteth-2": "the number stands for every chain length",
    "ceteth-10": "the number stands for every chain length",
    "oleth-2": "the number stands for every chain length",
    "oleth-10": "the number stands for every chain length",
    "oleth-20": "the number stands for every chain length",
}


@pytest.fixture(scope="module")
def seed():
    return read_seed(seed_folder())


@pytest.fixture(scope="module")
def mols(seed):
    return {r["material"]: structure.molecule(r["smiles"]) for r in seed.tables["structures"]}


def test_there_are_structures_enough(mols):
    assert len(mols) >= 180


def test_facts_are_up_to_date_and_a_second_run_changes_nothing(capsys):
    assert derive.main(["--check"]) == 0
    assert "not up to date" not in capsys.readouterr().out


def test_a_missing_row_is_written_again_the_same(tmp_path, monkeypatch):
    """From seed text without any computed row the very same files come out."""
    import shutil

    shutil.copytree(derive.SEED, tmp_path / "seed")
    monkeypatch.setattr(derive, "SEED", tmp_path / "seed")
    for name in derive.SUPERSEDED:
        path = tmp_path / "seed" / "facts" / f"{name}.csv"
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        path.write_text("".join(x for x in lines if f",{derive.SOURCE}," not in x), "utf-8")
    assert derive.main(["--check"]) == 1
    assert derive.main([]) == 0
    for name in derive.SUPERSEDED:
        again = tmp_path / "seed" / "facts" / f"{name}.csv"
        assert again.read_bytes() == (seed_folder() / "facts" / f"{name}.csv").read_bytes()


def test_formulas_told_elsewhere_in_the_seed_have_the_mass_of_the_structure(seed, mols):
    checked = 0
    for row in seed.tables["facts"]:
        if row["property"] != "molar_mass" or row["material"] not in mols or not row["value"]:
            continue
        if row["source"] == derive.SOURCE or row["low"] or row["high"]:
            continue
        checked += 1
        mass = structure.molar_mass(mols[row["material"]])
        assert float(row["value"]) == pytest.approx(mass, rel=2e-4, abs=0.06), row["material"]
    assert checked >= 15


def test_structures_are_those_of_the_registry_number(seed, mols):
    pytest.importorskip("chemicals", reason="install the extra `check`: pip install -e '.[check]'")
    from tests.libraries import reading

    numbers = {row["material"]: row["cas"] for row in seed.tables["materials"]}
    agreed, other = 0, set()
    for material, mol in mols.items():
        entry = reading.compound(numbers[material])
        if entry is None:
            continue
        theirs = Chem.MolFromSmiles(entry.smiles)
        # The first block of the key is the skeleton; sources differ in how much stereo they give.
        if theirs and Chem.MolToInchiKey(theirs)[:14] == Chem.MolToInchiKey(mol)[:14]:
            agreed += 1
        else:
            other.add(material)
    assert agreed >= 180
    assert other == set(DRAWN_OTHERWISE)


@pytest.mark.parametrize(
    ("smiles", "published"),
    [
        ("CCCCCCCCCCCC" + "OCC" * 4 + "O", 9.7),
        ("CCCCCCCCCCCC" + "OCC" * 23 + "O", 16.9),
        ("CCCCCCCCCCCCCCCC" + "OCC" * 20 + "O", 15.7),
        ("CCCCCCCCCCCCCCCCCC" + "OCC" * 2 + "O", 4.9),
        ("CCCCCCCCCCCCCCCCCC" + "OCC" * 21 + "O", 15.5),
        ("CCCCCCCCC=CCCCCCCCC" + "OCC" * 20 + "O", 15.3),
    ],
)
def test_ethoxylated_alcohols_have_the_published_hlb(smiles, published):
    found = structure.hlb_of_ethoxylate(structure.molecule(smiles))
    assert found == pytest.approx(published, abs=0.06)


@pytest.mark.parametrize(
    "smiles",
    ["OCCOCCO", "CCCCCCCCCCCCCCCCCC(=O)OCCOCCO", "CCCCCCCCOCCCCCCCC", "CCOCCOCCO", "OCC(O)CO"],
)
def test_other_molecules_have_no_such_hlb(smiles):
    assert structure.hlb_of_ethoxylate(structure.molecule(smiles)) is None


def test_no_hlb_is_derived_for_a_commercial_mixture(seed):
    """A pure monoester overstates sorbitan and glyceryl esters by one to three units."""
    own = [r for r in seed.tables["facts"] if r["source"] == derive.SOURCE]
    for row in own:
        if row["property"] == "hlb":
            assert re.search(r"eth-\d+$", row["material"])
            assert row["conditions"].startswith("from structure")


def test_log_p_by_atoms_is_off_and_never_used(mols):
    from rdkit.Chem.Crippen import MolLogP

    measured = {"lauric-acid": 4.6, "stearic-acid": 8.23, "methylparaben": 1.96, "caffeine": -0.07}
    off = [abs(MolLogP(mols[m]) - value) for m, value in measured.items()]
    assert min(off) > 0.5
    for path in (ROOT / "scripts").glob("*.py"):
        assert "Crippen" not in path.read_text(encoding="utf-8")


def test_log_p_of_homologues_covers_what_was_measured(seed, mols, monkeypatch):
    """From the shortest acid and alcohol alone, the long ones come out as they were measured."""
    measured = {
        r["material"]: r
        for r in seed.tables["facts"]
        if r["property"] == "log_p" and r["evidence"] == "published" and r["value"]
    }
    short = [dict(measured[m].cells) for m in ("propionic-acid", "alcohol")]
    monkeypatch.setattr(derive, "facts", lambda name: short)
    own = {found.material: found for found in derive.log_p_of(mols)}
    both = {m for m in set(own) & set(measured) if float(measured[m]["value"]) > 4.0}
    assert {"lauric-acid", "stearic-acid", "myristyl-alcohol"} <= both
    for m in both:
        assert float(own[m].low) <= float(measured[m]["value"]) <= float(own[m].high), m


def test_no_preservative_and_no_surfactant_gets_a_log_p_from_its_chain(seed):
    own = {
        r["material"]
        for r in seed.tables["facts"]
        if r["property"] == "log_p" and r["source"] == derive.SOURCE
    }
    kept = {r["material"] for r in seed.tables["plays"] if r["role"] == "preservative"}
    assert own and not kept & own
    assert not any("eth-" in m or "sorb" in m for m in own)


def published_hansen(seed, mols):
    """Yield material, parameter, published or handbook value, group sum."""
    facts = defaultdict(list)
    for row in seed.tables["facts"]:
        handbook = row["source"].startswith("hansen")
        if row["property"].startswith("hansen_") and row["value"] and handbook:
            facts[row["material"], row["property"]].append(float(row["value"]))
    for (material, name), values in facts.items():
        if material in mols and (found := structure.solubility_parameters(mols[material])):
            part = {"hansen_dd": "dispersion", "hansen_dp": "polar", "hansen_dh": "bonding"}[name]
            yield material, name, statistics.median(values), getattr(found, part)


def test_group_sums_lie_as_far_from_published_values_as_the_ranges_say(seed, mols):
    pairs = list(published_hansen(seed, mols))
    assert len({material for material, *_ in pairs}) >= 15
    for name, most in (("hansen_dd", 1.3), ("hansen_dp", 1.9), ("hansen_dh", 1.4)):
        less, more = derive.SPREAD[name]
        own = [(value, found) for _, n, value, found in pairs if n == name]
        inside = sum(found - less <= value <= found + more for value, found in own)
        assert inside >= 0.85 * len(own), name
        assert statistics.mean(abs(value - found) for value, found in own) < most, name


@pytest.mark.parametrize(
    ("smiles", "why"),
    [
        ("[Na+].CC(=O)[O-]", "a salt"),
        ("OCC(O)C(O)C(O)C(O)CO", "many hydroxyls bond to each other"),
        ("OC(=O)c1ccccc1O", "a bond inside the molecule"),
        ("CC(O)C(=O)O", "a hydroxy acid"),
        ("C[Si](C)(C)O[Si](C)(C)C", "no group for silicon"),
        ("CC1(C)C2CCC1(C)C(=O)C2", "fused rings"),
        ("NCCCC", "no polar increment for amines"),
    ],
)
def test_where_groups_say_nothing_they_are_silent(smiles, why):
    assert structure.solubility_parameters(structure.molecule(smiles)) is None


@pytest.mark.parametrize(
    ("smiles", "dispersion", "polar", "bonding"),
    [
        # Sums by hand: CH3 420, CH2 270, COO 390, 490 and 7000 over volumes 33.5, 16.1, 18.0.
        ("CCCCCCCC(=O)OCCCCCCCC", (840 + 13 * 270 + 390) / 294.3, 490 / 294.3, 4.877),
        ("CCCCCCCCCCCC", (840 + 10 * 270) / 228.0, 0.0, 0.0),
        ("OCCc1ccccc1", (1430 + 540 + 210) / 113.6, 4.507, 13.269),
    ],
)
def test_group_sums_by_hand(smiles, dispersion, polar, bonding):
    found = structure.solubility_parameters(structure.molecule(smiles))
    assert found.dispersion == pytest.approx(dispersion, rel=1e-3)
    assert found.polar == pytest.approx(polar, rel=1e-3, abs=1e-9)
    assert found.bonding == pytest.approx(bonding, rel=1e-3, abs=1e-9)


@pytest.mark.parametrize(
    ("smiles", "value"),
    [
        ("CCCCCCCCCCCCCC(=O)OC(C)C", 14 / 17),
        ("CCCCCCCC(=O)OCC(CCC)CCCCC", 0.0),
        ("CCCCCCCC(=O)OCC(COC(=O)CCCCCCC)OC(=O)CCCCCCC", 1.0),
        ("CCCCOC(=O)CCCCC(=O)OCCCC", 0.0),
    ],
)
def test_renewable_carbon_of_esters(smiles, value):
    (found,) = derive.origin_of("any", structure.molecule(smiles))
    assert float(found.value) == pytest.approx(value, abs=0.006)
    assert float(found.low) <= float(found.value) <= float(found.high)


def test_what_is_no_ester_gets_no_origin_from_its_structure():
    assert list(derive.origin_of("any", structure.molecule("CCCCCCCCCCCC"))) == []


def test_every_computed_row_names_its_method(seed):
    own = [r for r in seed.tables["facts"] if r["source"] == derive.SOURCE]
    assert len(own) >= 500
    for row in own:
        assert row["evidence"] == "derived"
        assert row["conditions"].startswith("from structure: ")


def test_a_published_molar_mass_keeps_its_place(seed):
    published = {
        r["material"]
        for r in seed.tables["facts"]
        if r["property"] == "molar_mass" and r["evidence"] == "published"
    }
    own = {
        r["material"]
        for r in seed.tables["facts"]
        if r["property"] == "molar_mass" and r["source"] == derive.SOURCE
    }
    assert published and not published & own


def test_a_text_that_is_no_structure_is_refused():
    with pytest.raises(ValueError, match="not a structure"):
        structure.molecule("C1CC")


def test_the_table_is_in_the_built_file(base_path, mols):
    import sqlite3

    with sqlite3.connect(f"file:{base_path}?immutable=1", uri=True) as connection:
        rows = dict(connection.execute("SELECT material, smiles FROM structure"))
    assert set(rows) == set(mols)


@pytest.mark.parametrize(
    ("smiles", "numbers"),
    [
        ("CCCCCCCCCCCCCCCCCC(=O)O", {"saponification_value": 197.2, "acid_value": 197.2}),
        ("CCCCCCCCC=CCCCCCCCC(=O)O", {"iodine_value": 89.9, "acid_value": 198.6}),
        ("CCCCCCCCCCCCCCCCO", {"hydroxyl_value": 231.4}),
        # Tristearin: three times 56.106 over 891.5 g/mol.
        (
            "CCCCCCCCCCCCCCCCCC(=O)OCC(OC(=O)CCCCCCCCCCCCCCCCC)COC(=O)CCCCCCCCCCCCCCCCC",
            {"saponification_value": 188.8},
        ),
        ("CCCCCC=CCC=CCCCCCCCC(=O)O", {"iodine_value": 181.0, "acid_value": 200.1}),
    ],
)
def test_analytical_numbers_are_those_of_the_tables(smiles, numbers):
    found = fat_numbers.analytical_numbers(structure.molecule(smiles))
    for name, value in numbers.items():
        assert found[name] == pytest.approx(value, abs=0.1)
    assert found["iodine_value"] == pytest.approx(numbers.get("iodine_value", 0.0), abs=0.1)
    assert ("acid_value" in found) == ("acid_value" in numbers)


@pytest.mark.parametrize(
    ("smiles", "why"),
    [
        ("OCC(O)CO", "no fatty compound"),
        ("CCCCCCCCOC(=O)OCCCCCCCC", "a carbonate takes up alkali twice"),
        ("C/C=C/C=C/C(=O)OCCCCCCCC", "conjugated double bonds take up iodine in part"),
        ("[Na+].CCCCCCCCCCCCCCCCCC(=O)[O-]", "a soap"),
        ("CCCCOC(=O)c1ccc(O)cc1", "a ring"),
    ],
)
def test_other_compounds_have_no_analytical_numbers(smiles, why):
    assert fat_numbers.analytical_numbers(structure.molecule(smiles)) == {}


def test_an_article_that_is_a_mixture_keeps_what_is_recalled(seed):
    """Stearic acid as sold is half palmitic, linoleic acid as sold holds other acids."""
    own = {
        (r["material"], r["property"]) for r in seed.tables["facts"] if r["source"] == derive.SOURCE
    }
    assert ("stearic-acid", "saponification_value") not in own
    assert ("linoleic-acid", "iodine_value") not in own
    assert ("lauric-acid", "saponification_value") in own


def test_numbers_counted_agree_with_what_monographs_say(seed):
    """Published ranges of nearly pure articles hold the counted value, or it is within 5 %."""
    checked = 0
    for row in seed.tables["facts"]:
        smiles = {r["material"]: r["smiles"] for r in seed.tables["structures"]}
        if row["property"] != "saponification_value" or row["evidence"] != "published":
            continue
        if row["material"] not in smiles or not (row["low"] and row["high"]):
            continue
        counted = fat_numbers.analytical_numbers(structure.molecule(smiles[row["material"]]))
        if value := counted.get("saponification_value"):
            checked += 1
            assert 0.95 * float(row["low"]) <= value <= 1.05 * float(row["high"]), row["material"]
    assert checked >= 1
