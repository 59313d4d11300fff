"""The same answers from here, from processes, from Dask, and after an interruption."""

import pickle

import pytest

from kb.errors import DatabaseError, UnknownNameError, UsageError
from kb.folder import asking, spreading
from kb.folder.asking import Question
from kb.folder.files import files_of
from kb.folder.spreading import ask_all
from kb.folder.standing_in import GOOD
from kb.store.ledger import Ledger

QUESTION = Question(GOOD, 3)


@pytest.fixture
def at_home(base_path, tmp_path, monkeypatch):
    """Workers find the base of the tests and no one's own file."""
    monkeypatch.setenv("KB_DATABASE", str(base_path))
    monkeypatch.setenv("KB_OWN", str(tmp_path / "own.sqlite"))


@pytest.fixture
def small_parts(monkeypatch):
    monkeypatch.setattr(spreading, "PART", 2)


def test_files_are_found_sorted_and_hidden_ones_are_not(shop):
    names = [file.name for file in files_of(str(shop))]
    assert names == sorted(names)
    assert {"old/ointment.toml", "broken.toml", "strange.csv"} <= set(names)
    assert ".hidden.toml" not in names and "notes.md" not in names


@pytest.mark.parametrize("place", ["none", "deck-balm.toml"])
def test_no_folder_or_nothing_in_it_is_told(shop, place, tmp_path):
    with pytest.raises(UsageError):
        files_of(str(shop / place))
    with pytest.raises(UsageError, match="no formula file"):
        files_of(str(tmp_path))


def test_a_broken_file_is_an_answer_and_the_others_go_on(asked):
    of = {a["file"]: a for a in asked}
    assert of["broken.toml"]["error"]["code"] == 3 and not of["broken.toml"]["lines"]
    assert of["strange.csv"]["unknown"] == ["Moon dust of Zyx"]
    assert sum(a["error"] is None for a in asked) == len(asked) - 1
    assert all(a["lines"] for a in asked if a["error"] is None)


def test_a_file_that_may_not_be_read_is_told(shop, tmp_path, base):
    (tmp_path / "big.toml").write_bytes(b"#" * 6_000_000)
    (tmp_path / "gone.toml").symlink_to(tmp_path / "nowhere.toml")
    answers = ask_all(files_of(str(tmp_path)), QUESTION, base, workers=1)
    assert [a["error"]["code"] for a in answers] == [3, 3]


@pytest.mark.slow
def test_two_processes_answer_as_one(shop, asked, base, at_home, small_parts):
    assert ask_all(files_of(str(shop)), QUESTION, base, workers=2) == asked


@pytest.mark.slow
def test_two_dask_workers_answer_as_one(shop, asked, base, at_home, small_parts):
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            silence_logs=50,
        ) as cluster,
    ):
        told = []
        found = ask_all(
            files_of(str(shop)),
            QUESTION,
            base,
            dask=cluster.scheduler_address,
            tell=lambda done, of: told.append((done, of)),
        )
    assert found == asked
    assert told[-1] == (len(asked), len(asked))


def test_a_worker_with_another_base_refuses(base, at_home):
    with pytest.raises(DatabaseError, match="program 0000"):
        asking.answers([], QUESTION, "0" * 64)


def test_an_error_comes_whole_from_a_worker():
    near = UnknownNameError("No such name.", "line 3", "Look it up.", ("squalane",))
    for error in (UsageError("No.", "--dask", "Leave it out."), near):
        assert pickle.loads(pickle.dumps(error)).as_json() == error.as_json()


def test_nobody_at_the_address_is_told(shop, base):
    pytest.importorskip("distributed")
    for address in ("tcp://127.0.0.1:9", "no address"):
        with pytest.raises(UsageError, match="scheduler answers"):
            ask_all(files_of(str(shop)), QUESTION, base, dask=address)


def test_without_dask_it_is_said_what_to_install(monkeypatch):
    monkeypatch.setattr(spreading, "find_spec", lambda name: None)
    with pytest.raises(UsageError) as caught:
        spreading.check_dask()
    assert "like-for-like[scale]" in caught.value.fix


class StopError(Exception):
    """Stands for a key pressed while it runs."""


def test_an_interrupted_run_goes_on_where_it_was(
    shop, asked, base, tmp_path, small_parts, monkeypatch
):
    files = files_of(str(shop))

    def stop(done, of):
        if done >= 4:
            raise StopError

    with pytest.raises(StopError):
        ask_all(files, QUESTION, base, Ledger(tmp_path, "run"), 1, tell=stop)
    kept = Ledger(tmp_path, "run").known()
    assert 4 <= len(kept) < len(files)
    again = []
    real = spreading.answer_of
    monkeypatch.setattr(spreading, "answer_of", lambda f, *r: again.append(f.name) or real(f, *r))
    assert ask_all(files, QUESTION, base, Ledger(tmp_path, "run"), 1) == asked
    assert len(again) == len(files) - len(kept)
    again.clear()
    assert ask_all(files, QUESTION, base, Ledger(tmp_path, "run"), 1) == asked
    assert not again
    ask_all(files[:2], QUESTION, base, Ledger(tmp_path, "run", fresh=True), 1)
    assert len(again) == 2


def test_another_run_or_a_changed_file_is_asked_anew(shop, base, tmp_path):
    files = files_of(str(shop))[:2]
    ask_all(files, QUESTION, base, Ledger(tmp_path, "run"), 1)
    assert not Ledger(tmp_path, "another").known()
    known = Ledger(tmp_path, "run").known()
    changed = [type(f)(f.name, f.raw + b"\n# seen") for f in files]
    assert not {f.digest for f in changed} & known.keys()


def test_a_damaged_ledger_is_told_with_what_to_do(tmp_path):
    path = Ledger(tmp_path, "run").path
    path.write_bytes(b"no database at all, but long enough to look like one" * 40)
    with pytest.raises(DatabaseError) as caught:
        Ledger(tmp_path, "run").known()
    assert "--fresh" in caught.value.fix
    assert Ledger(tmp_path, "run", fresh=True).known() == {}


def test_old_runs_are_removed(tmp_path):
    for n in range(30):
        Ledger(tmp_path, str(n))
    assert len(list(tmp_path.glob("run-*.sqlite"))) <= 20
