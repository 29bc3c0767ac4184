"""Long work: done once for one state of the register, its progress and its end noted, a fault told and nothing else."""

from __future__ import annotations

import os
import time

import pytest

from kit import long_work
from kit.long_work import note_for, note_of, see_to
from kit.models import Depot
from kit.stores import Who, acting

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _answers(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def test_the_same_question_is_worked_out_once_and_anew_when_the_register_moved():
    done = []

    def work(progress):
        done.append(1)
        progress(1, 2, "half")
        return {"sum": len(done)}

    first = note_for(7, "question", 1)
    assert first.read() == {"state": "new"}
    assert see_to(first, work, aside=False)["answer"] == {"sum": 1}
    assert see_to(note_for(7, "question", 1), work, aside=False)["answer"] == {"sum": 1}
    assert note_for(8, "question", 1).read()["state"] == "new"
    assert note_for(7, "question", 2).read()["state"] == "new"
    with acting(Who("x", "test")) as act:
        depot = act.create(Depot(code="NY"))
        act.tell("changed", [depot], note="set up")
    again = note_for(7, "question", 1)
    assert again != first
    assert see_to(again, work, aside=False)["answer"] == {"sum": 2}
    # What was shown before can still be named by its key.
    assert note_of(7, first.key).read()["answer"] == {"sum": 1}


def test_a_fault_is_told_in_a_sentence():
    def work(progress):
        raise ZeroDivisionError("of ours")

    noted = see_to(note_for(7, "fault"), work, aside=False)
    assert noted["state"] == "failed"
    assert "Nothing was changed" in noted["text"]
    assert "of ours" not in noted["text"]


def test_work_aside_shows_how_far_it_is_until_it_is_done(monkeypatch):
    go_on = []

    def work(progress):
        progress(3, 9, "third")
        while not go_on:
            time.sleep(0.005)
        return {}

    monkeypatch.setattr(long_work.connections, "close_all", lambda: None)
    note = note_for(7, "aside")
    assert see_to(note, work, aside=True)["state"] == "running"
    until = time.monotonic() + 10
    while note.read().get("done") != 3 and time.monotonic() < until:
        time.sleep(0.005)
    assert note.read()["text"] == "third"
    go_on.append(1)
    while note.read()["state"] != "done" and time.monotonic() < until:
        time.sleep(0.005)
    assert note.read()["answer"] == {}


def test_work_whose_server_was_restarted_is_begun_again(monkeypatch):
    note = note_for(7, "stopped")
    note.write(state="running", done=0, total=None, text="")
    monkeypatch.setattr(long_work, "STOPPED_AFTER_SECONDS", -1)
    assert note.read() == {"state": "new"}


def test_notes_of_yesterday_are_thrown_away():
    old = note_for(7, "old")
    old.write(state="done", answer={})
    day_ago = time.time() - 25 * 3600
    os.utime(old.path, (day_ago, day_ago))
    note_for(7, "new")
    assert not old.path.exists()
