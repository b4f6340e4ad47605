"""The person at the oven: what is heard, and what counts as a sign of life."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from soak.record.inbox import put
from soak.record.load import load
from soak.record.notes import add_note
from soak.record.rows import Header, Note
from soak.record.store import Store
from soak.shop.attendance import Attendance


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    header = Header("run", "2031-02-03T18:30:00+00:00", "x", "x", "", {}, {}, {})
    opened = Store.create(tmp_path / "one.soak", header, time.monotonic)
    yield opened
    opened.leave()


@pytest.fixture
def said() -> list[str]:
    return []


@pytest.fixture
def person(store: Store, tmp_path: Path, said: list[str]) -> Attendance:
    return Attendance(store, tmp_path / "one.soak", said.append, ask_first=True, keys=False)


def age(person: Attendance, seconds: float) -> None:
    """As if nothing had been heard for so long."""
    person._last_s -= seconds


@pytest.mark.parametrize(("message", "word"), [("safe", "safe"), ("make-safe", "safe"), ("ack", "ack")])
def test_what_is_put_into_the_inbox_is_heard_once(person: Attendance, tmp_path: Path, message: str, word: str) -> None:
    put(tmp_path / "one.soak", {"message": message})
    assert person.heard() == (word,)
    assert person.heard() == ()


def test_alive_is_a_sign_of_life_and_an_acknowledgement_is_none(person: Attendance, tmp_path: Path) -> None:
    age(person, 1000.0)
    put(tmp_path / "one.soak", {"message": "ack"})
    person.heard()
    assert person.silent_s() >= 1000.0
    put(tmp_path / "one.soak", {"message": "alive"})
    person.heard()
    assert person.silent_s() < 1000.0


def test_a_note_is_kept_and_is_a_sign_of_life(person: Attendance, store: Store, tmp_path: Path) -> None:
    path = tmp_path / "one.soak"
    age(person, 1000.0)
    assert add_note(path, Note("2031-02-03T19:00:00+00:00", "text", {}, "smoke at the lute")) == "waiting"
    assert person.heard() == ()
    assert person.silent_s() < 1000.0
    store.close(10.0, "complete", {})
    assert [n.text for n in load(path).notes] == ["smoke at the lute"]


def test_a_torn_line_in_the_inbox_is_no_word(person: Attendance, tmp_path: Path) -> None:
    (tmp_path / "one.soak.inbox").write_bytes(b'\n{"message": "sa\n\n[1, 2]\n')
    assert set(person.heard()) <= {"unreadable"}


def test_the_first_ctrl_c_asks_the_second_means_it(person: Attendance, said: list[str]) -> None:
    person.signalled(signal.SIGINT, None)
    assert (person.heard(), person.stopped_by) == ((), None)
    assert said == ["Ctrl-C again within 30 s switches the heat off and ends the run"]
    person.signalled(signal.SIGINT, None)
    assert (person.heard(), person.stopped_by) == (("safe",), signal.SIGINT)


def test_a_second_ctrl_c_that_comes_late_asks_again(person: Attendance, said: list[str]) -> None:
    person.signalled(signal.SIGINT, None)
    assert person._asked_s is not None
    person._asked_s -= 31.0
    person.signalled(signal.SIGINT, None)
    assert (person.heard(), person.stopped_by) == ((), None)
    assert len(said) == 2


def test_sigterm_means_it_at_once(person: Attendance) -> None:
    person.signalled(signal.SIGTERM, None)
    assert (person.heard(), person.stopped_by) == (("safe",), signal.SIGTERM)


def test_signals_are_given_back(person: Attendance) -> None:
    numbers = [signal.SIGINT, signal.SIGTERM, signal.SIGHUP]
    before = [signal.getsignal(n) for n in numbers]
    with person.listening():
        assert [signal.getsignal(n) for n in numbers[:2]] == [person.signalled] * 2
        assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    assert [signal.getsignal(n) for n in numbers] == before


def test_a_run_in_a_thread_takes_no_signals(person: Attendance) -> None:
    before, inside = signal.getsignal(signal.SIGTERM), []

    def listen() -> None:
        with person.listening():
            inside.append(signal.getsignal(signal.SIGTERM))

    thread = threading.Thread(target=listen)
    thread.start()
    thread.join()
    assert inside == [before]
