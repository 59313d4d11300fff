"""A file of the user's own in a folder of its own, and lists to fill it with."""

from pathlib import Path

import pytest

from kb.own import checking
from kb.store.seed import Seed, read_seed, seed_folder

MATERIALS = """\
name,inci,cas,origin,form,charge,phase,tags,roles,composition,other_names,source,note,\
melting_point,viscosity@25
# a remark
Valley beeswax,Cera Alba,,,,,,,,,,sheet 2025,filtered,62-65,
Meadow butter,Meadow Seed Butter,,plant,semisolid,none,oil,,butter 2-10,Cera Alba 2-4,,\
sheet 2025,,34-38,
"""
FACTS = """\
material,property,value,low,high,unit,temperature_c,conditions,source,note
Jojoba oil,viscosity,52,,,,25,,sheet 2025,
"""
STOCK = """\
name;stock;price;pack;currency;supplier;lot;expiry
Valley beeswax;2,5 kg;18,50;1 kg;EUR;the beekeeper;24-117;2027-03-31
Shea butter;400;;;;;;
Cocoa butter;0;;;;;;
Jojoba oil;1 kg;;;;;;2020-01-31
"""


@pytest.fixture
def own(tmp_path: Path, base_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Path of a user file that is not there yet; the tests stand in its folder."""
    path = tmp_path / "mine" / "own.sqlite"
    monkeypatch.setenv("KB_OWN", str(path))
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    monkeypatch.chdir(tmp_path)
    for name, text in (("materials", MATERIALS), ("facts", FACTS), ("stock", STOCK)):
        (tmp_path / f"{name}.csv").write_text(text, "utf-8")
    return path


@pytest.fixture(scope="session")
def seed() -> Seed:
    """The seed text, read once."""
    return read_seed(seed_folder())


@pytest.fixture(autouse=True)
def seed_is_read_once(seed: Seed, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give the lint a fresh copy of the tables each time."""

    def copy(folder: Path) -> Seed:
        return Seed(folder, {n: list(r) for n, r in seed.tables.items()})

    monkeypatch.setattr(checking, "read_seed", copy)
