"""A note always finds its way into the run file: straight, through the loop, or when the loop ends."""

from __future__ import annotations

import subprocess

import pytest

from soak.errors import RecordError
from soak.record.inbox import Inbox, inbox_of, note_message, note_of, put
from soak.record.load import load
from soak.record.notes import add_note
from soak.record.rows import Note
from soak.record.store import Store

WALL = "2031-02-04T08:00:00+00:00"


def only_the_run(path):
    return [p.name for p in path.parent.iterdir() if p.is_file()] == ["one.soak"]


def test_into_a_closed_run(store, path):
    store.close(1.0, "complete", {})
    note = Note(WALL, "weighing", {"after_g": 815.2, "before_g": 812.5}, "=kept as written")
    assert add_note(path, note) == "written"
    assert add_note(path, note) == "written"  # the same note again
    assert load(path).notes == (note,)
    assert only_the_run(path)


def test_through_a_running_loop(store, path):
    inbox = Inbox(path)
    note = Note(WALL, "text", text="smoke at the lute", time_s=3600.0)
    assert add_note(path, note) == "waiting"
    assert load(path).notes == ()
    for message in inbox.take():
        taken = note_of(message)
        assert taken is not None
        store.note(taken)
    assert load(path).notes == (note,)
    store.close(1.0, "complete", {})  # finds it in the inbox once more
    assert load(path).notes == (note,)
    assert only_the_run(path)


def test_a_note_the_loop_never_took_is_kept_when_it_ends(store, path):
    first, second = Note(WALL, "text", text="1"), Note(WALL, "text", text="2")
    add_note(path, first)
    put(path, {"message": "ack"})
    add_note(path, second)
    store.close(1.0, "complete", {})
    assert load(path).notes == (first, second)
    assert only_the_run(path)


@pytest.mark.parametrize("then", ["reopen", "note"])
def test_a_note_to_a_loop_that_was_killed(path, writer, clock, then):
    child = subprocess.Popen([*writer, str(path), "hold"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "holding\n"
    waiting = Note(WALL, "text", text="said to the dead")
    assert add_note(path, waiting) == "waiting"
    put(path, {"message": "make-safe"})
    child.kill()
    child.communicate()
    with inbox_of(path).open("ab") as file:
        file.write(b'\n{"message":"no')
    if then == "reopen":
        again = Store.reopen(path, clock)
        assert Inbox(path).take() == []  # what the dead loop was told to do is void
        again.leave()
        assert load(path).notes == (waiting,)
    else:
        after = Note(WALL, "text", text="after")
        assert add_note(path, after) == "written"
        assert load(path).notes == (after, waiting)
    assert only_the_run(path)


def test_a_broken_note_does_not_stop_the_end(store, path):
    put(path, {"message": "note", "note": {**note_message(Note(WALL, "x"))["note"], "time_s": "noon"}})
    store.close(1.0, "complete", {})
    (note,) = load(path).notes
    assert note.kind == "unreadable"
    assert '"time_s":"noon"' in note.text


def test_no_run(path):
    with pytest.raises(RecordError, match="There is no run file") as caught:
        add_note(path, Note(WALL, "text"))
    assert caught.value.code == "run-missing"
    assert list(path.parent.iterdir()) == []


def test_not_a_run(path):
    path.write_text("a diary")
    with pytest.raises(RecordError, match="not a database"):
        add_note(path, Note(WALL, "text"))
    assert only_the_run(path)
    assert path.read_text() == "a diary"
