"""kill -9 at any moment: the file opens and has every acknowledged row. A real process, really killed."""

from __future__ import annotations

import random
import shutil
import subprocess
import time

import pytest

from soak.errors import RecordError
from soak.record.load import glance, load
from soak.record.lock import held
from soak.record.store import Store
from soak.trace import Event


def run_and_kill(command: list[str], after_s: float) -> list[tuple[str, int]]:
    """What the child had acknowledged when it was killed."""
    child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    lines = [child.stdout.readline()]  # it is writing
    time.sleep(after_s)
    child.kill()
    rest, _ = child.communicate()
    lines += rest.splitlines(keepends=True)
    whole = [line.split() for line in lines if line.endswith("\n")]
    return [(word, int(number)) for word, number in whole]


@pytest.mark.parametrize("round_", range(10))
def test_every_acknowledged_row_survives(path, writer, round_, clock, tmp_path):
    acknowledged = run_and_kill([*writer, str(path), "busy"], random.Random(round_).uniform(0.0, 0.3))
    copy = tmp_path / "copy" / "one.soak"
    copy.parent.mkdir()
    shutil.copy(path, copy)
    shutil.copy(f"{path}-wal", f"{copy}-wal")  # as a person would save it: without the -shm
    for file in (path, copy):
        record = load(file)
        assert acknowledged
        events = {int(e.time_s) for e in record.events}
        intents = {a.id for a in record.actions}
        results = {a.id for a in record.actions if a.outcome == "stands"}
        assert {n for word, n in acknowledged if word == "event"} <= events
        assert {n for word, n in acknowledged if word == "intent"} <= intents
        assert {n for word, n in acknowledged if word == "result"} <= results
        times = [int(r.time_s) for r in record.readings]
        assert times == list(range(1, len(times) + 1))
        assert len(times) >= max(n for word, n in acknowledged if word == "reading")
        assert record.closing is None
        assert record.cautions == ()
    # The dead writer's lock is gone with it: the run can be taken up, and ends as one plain file.
    assert not held(path)
    assert not glance(path).running
    again = Store.reopen(path, clock)
    again.event(Event(1e6, "resumed", "info", ""))
    again.close(1e6, "complete", {})
    assert [p.name for p in path.parent.iterdir() if p.is_file()] == ["one.soak"]
    assert len(load(path).readings) >= len(times)


def test_a_copy_without_its_wal_says_that_rows_may_be_missing(path, writer, tmp_path):
    run_and_kill([*writer, str(path), "busy"], 0.0)
    alone = tmp_path / "alone" / "one.soak"
    alone.parent.mkdir()
    shutil.copy(path, alone)
    (caution,) = load(alone).cautions
    assert "copy the -wal too" in caution


def test_a_second_writer_in_another_process_and_a_reader_meanwhile(path, writer, header, clock):
    child = subprocess.Popen([*writer, str(path), "hold"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "holding\n"
    for second in (lambda: Store.create(path, header, clock), lambda: Store.reopen(path, clock)):
        with pytest.raises(RecordError) as caught:
            second()
        assert caught.value.code == "run-busy"
        assert caught.value.exit_code == 7
        assert str(path) in caught.value.text
        assert "`soak watch`" in caught.value.hint
    assert glance(path).running
    assert [e.code for e in load(path).events] == ["begun"]
    out, _ = child.communicate("go\n")
    assert (out, child.returncode) == ("closed\n", 0)
    assert not glance(path).running
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]


def test_a_second_writer_in_the_same_process(store, path, header, clock):
    with pytest.raises(RecordError) as caught:
        Store.reopen(path, clock)
    assert caught.value.code == "run-busy"
    store.event(Event(1.0, "x", "info", ""))  # and the first one goes on
    assert len(load(path).events) == 1
