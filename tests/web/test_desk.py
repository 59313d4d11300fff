"""The desk: answers kept while nothing changes, the user's file read again when it does."""

import pytest

from kb.own.measured import log
from kb.web.desk import KEPT, Desk


@pytest.fixture
def desk(base_path, tmp_path):
    return Desk(base_path, tmp_path / "own.sqlite")


def test_an_answer_is_worked_out_once_and_few_are_kept(desk):
    made = []

    def work(key):
        return desk.kept(key, lambda: made.append(key) or key)

    for key in (1, 1, 2, 1):
        work(key)
    assert made == [1, 2]
    for key in range(100, 100 + KEPT):
        work(key)
    work(1)
    assert made.count(1) == 2


def test_a_fault_is_not_kept(desk):
    with pytest.raises(ZeroDivisionError):
        desk.kept("x", lambda: 1 / 0)
    assert desk.kept("x", lambda: "right") == "right"


def test_without_a_file_of_the_user_the_base_is_alone(desk):
    desk.look_again()
    assert desk.base.materials == desk.ours.materials
    assert not desk.own.exists()


def test_every_change_of_the_users_file_is_seen_and_answers_are_forgotten(desk):
    desk.look_again()
    for count in range(1, 6):
        log(desk.own, "key", "cream", {"ph": 5.0 + count / 10}, {})
        desk.look_again()
        assert len(desk.content["measurement"]) == count
        assert desk.kept("x", lambda count=count: count) == count


def test_nothing_is_read_again_while_the_file_stays(desk, monkeypatch):
    log(desk.own, "key", "cream", {"ph": 5.0}, {})
    desk.look_again()
    base = desk.base
    monkeypatch.setattr("kb.web.desk.read_content", None)
    desk.look_again()
    assert desk.base is base
