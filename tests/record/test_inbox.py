"""What people say to a running loop: each message once, in order; torn lines spoil only themselves."""

from __future__ import annotations

import multiprocessing
from pathlib import Path

import pytest

from soak.errors import RecordError
from soak.record.inbox import Inbox, inbox_of, note_message, note_of, put
from soak.record.rows import Note


def test_each_message_once_in_order(store, path):
    inbox = Inbox(path)
    assert inbox.take() == []
    put(path, {"message": "ack", "code": "no-rise"})
    put(path, {"message": "alive"})
    assert inbox.take() == [{"message": "ack", "code": "no-rise"}, {"message": "alive"}]
    assert inbox.take() == []
    put(path, {"message": "make-safe", "text": "zwei\nZeilen, Größe"})
    assert inbox.take() == [{"message": "make-safe", "text": "zwei\nZeilen, Größe"}]
    assert inbox_of(path).name == "one.soak.inbox"


@pytest.mark.parametrize("cut", range(1, 19))
def test_a_torn_line_waits_or_spoils_only_itself(store, path, cut):
    inbox = Inbox(path)
    torn = b'\n{"message":"ack"}\n'[:cut]
    with inbox_of(path).open("ab") as file:
        file.write(torn)
    assert inbox.take() == []
    put(path, {"message": "alive"})
    *before, last = inbox.take()
    assert last == {"message": "alive"}
    if cut == 1:
        assert before == []
    elif cut == 18:
        assert before == [{"message": "ack"}]  # only its line end was missing
    else:
        assert before == [{"message": "unreadable", "text": torn.decode().strip()}]


def test_a_line_that_is_no_message_is_shown(store, path):
    inbox_of(path).write_bytes(b'[1]\n{"x":1}\n\xff\n')
    assert [m["message"] for m in Inbox(path).take()] == ["unreadable"] * 3
    assert Inbox(path).take()[2]["text"] == "\\xff"


def _put_many(path: Path, who: int) -> None:
    for number in range(50):
        put(path, {"message": "alive", "who": who, "number": number, "filler": "x" * 500})


def test_many_people_at_once(store, path):
    context = multiprocessing.get_context("spawn")
    people = [context.Process(target=_put_many, args=(path, who)) for who in range(3)]
    for person in people:
        person.start()
    inbox, messages = Inbox(path), []
    while any(person.is_alive() for person in people):
        messages += inbox.take()
    for person in people:
        person.join()
        assert person.exitcode == 0
    messages += inbox.take()
    for who in range(3):
        assert [m["number"] for m in messages if m["who"] == who] == list(range(50))


def test_nobody_listens(store, path, tmp_path):
    with pytest.raises(RecordError) as caught:
        put(tmp_path / "other.soak", {"message": "ack"})
    assert caught.value.code == "run-missing"
    store.close(1.0, "complete", {})
    with pytest.raises(RecordError) as caught:
        put(path, {"message": "ack"})
    assert caught.value.code == "no-loop"
    assert f"No loop is running {path}" in caught.value.text
    assert "soak resume" in caught.value.hint
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]


def test_an_inbox_that_cannot_be_read(store, path):
    inbox_of(path).mkdir()
    for attempt in (lambda: Inbox(path).take(), lambda: put(path, {"message": "ack"}), Inbox(path).clear):
        with pytest.raises(RecordError) as caught:
            attempt()
        assert caught.value.code == "run-unwritable"
        assert "one.soak.inbox cannot be opened or written" in caught.value.text
    inbox_of(path).rmdir()


def test_a_note_as_a_message_and_back():
    note = Note("2031-02-03T19:00:00+00:00", "coupon", {"mass_g": 1.5}, "clean", 12.0)
    assert note_of(note_message(note)) == note
    assert note_of({"message": "ack"}) is None
    broken = note_of({"message": "note", "note": {"wall": "x"}})
    assert broken is not None
    assert (broken.kind, broken.text) == ("unreadable", '{"message":"note","note":{"wall":"x"}}')
