"""A folder with formulas of several kinds, one broken file and one unknown name."""

import shutil
from pathlib import Path

import pytest

from kb.folder.asking import Question, answer_of
from kb.folder.files import files_of
from kb.folder.standing_in import GOOD
from kb.store.seed import seed_folder

HOSTS = Path(__file__).parents[1] / "data" / "hosts"


@pytest.fixture(scope="session")
def shop(tmp_path_factory):
    """Path of the folder."""
    place = tmp_path_factory.mktemp("shop")
    for path in sorted((seed_folder() / "formulas").glob("*.toml")):
        shutil.copy(path, place)
    (place / "old").mkdir()
    for name in ("ointment", "zinc-paste-claimed", "o-w-lotion", "w-o-barrier-zinc"):
        shutil.copy(HOSTS / f"{name}.toml", place / "old")
    (place / "broken.toml").write_text('[[line]]\ningredient = "Squalane"\npercent = "a lot"\n')
    (place / "strange.csv").write_text("name,percent\nSqualane,60\nMoon dust of Zyx,40\n")
    (place / ".hidden.toml").write_text("nothing")
    (place / "notes.md").write_text("no formula")
    return place


@pytest.fixture(scope="session")
def asked(shop, base):
    """Answers of every formula to the question of an outlook."""
    return [answer_of(file, Question(GOOD, 3), base) for file in files_of(str(shop))]
