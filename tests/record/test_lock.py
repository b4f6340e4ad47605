"""One writer a run."""

from __future__ import annotations

import pytest

from soak.errors import RecordError
from soak.record.lock import RunLock, held


def test_held_and_let_go(path):
    assert not held(path)
    assert list(path.parent.iterdir()) == []  # asking leaves nothing behind
    lock = RunLock.take(path)
    assert held(path)
    with pytest.raises(RecordError, match="being written by another soak"):
        RunLock.take(path)
    assert held(path)
    lock.release()
    assert not held(path)
    assert list(path.parent.iterdir()) == []


def test_a_lock_file_left_by_a_dead_process_holds_nobody_up(path):
    path.with_name("one.soak.lock").touch()
    assert not held(path)
    RunLock.take(path).release()
    assert list(path.parent.iterdir()) == []


def test_withdrawn_but_not_yet_released(path):
    first = RunLock.take(path)
    first.withdraw()
    assert not held(path)
    second = RunLock.take(path)
    first.release()  # takes away its own lock, not the second's
    assert held(path)
    second.release()
    assert not held(path)


def test_a_lock_file_that_is_none(path):
    path.with_name("one.soak.lock").mkdir()
    with pytest.raises(RecordError) as caught:
        RunLock.take(path)
    assert caught.value.code == "run-unwritable"
    assert not held(path)
