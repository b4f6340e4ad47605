"""No room: a clear error, a sound file, and the waiting rows as soon as there is room again."""

from __future__ import annotations

import signal
import subprocess

import pytest

from soak.errors import RecordError
from soak.record.inbox import put
from soak.record.load import load
from soak.record.store import Store
from soak.trace import Event, Reading

resource = pytest.importorskip("resource")  # size limits of a process: POSIX only


def test_full_disk_by_the_system_limit_on_file_size(path, writer):
    child = subprocess.Popen([*writer, str(path), "limited"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    lines = []
    while not lines or lines[-1] != "room":
        lines.append(child.stdout.readline().rstrip("\n"))
    said = dict(line.split(" ", 1) for line in lines if line.startswith(("error", "text", "hint")))
    assert said["error"] in ("disk-full", "disk-error")
    assert str(path) in said["text"]
    assert "a size limit was hit" in said["text"] or "No room left" in said["text"]
    assert "ree" in said["hint"]
    assert "space" in said["hint"]
    numbers = [int(line.split()[1]) for line in lines if line.startswith("event")]
    assert len(numbers) > 10
    child.kill()  # even so
    child.communicate()
    # The row that met the full disk is there too: it waited in memory.
    assert [int(e.time_s) for e in load(path).events] == list(range(1, numbers[-1] + 1))


def test_full_disk_as_sqlite_says_it(store, path):
    store._database.execute("PRAGMA max_page_count = 20")
    store.reading(Reading(0.5, 900.0))
    acknowledged = []

    def fill() -> None:
        for number in range(1, 1000):
            store.event(Event(float(number), "tick", "info", "x" * 1000))
            acknowledged.append(number)

    with pytest.raises(RecordError) as caught:
        fill()
    written = len(acknowledged)
    assert caught.value.code == "disk-full"
    assert f"No room left to write {path}" in caught.value.text
    assert "Free some space" in caught.value.hint
    assert len(load(path).events) == written > 1
    with pytest.raises(RecordError, match="No room left"):
        store.close(1e4, "complete", {})
    store._database.execute("PRAGMA max_page_count = 1000000")
    store.close(1e4, "complete", {})
    record = load(path)
    assert len(record.events) == written + 1
    assert record.closing is not None
    assert record.cautions == ()


def test_leaving_on_a_full_disk_lets_go_of_the_run(store, path, clock):
    store._database.execute("PRAGMA max_page_count = 20")
    store.event(Event(0.0, "tick", "info", ""))
    store.reading(Reading(0.5, 900.0))
    with pytest.raises(RecordError, match="No room left"):
        store.event(Event(1.0, "tick", "info", "x" * 100_000))
    with pytest.raises(RecordError, match="No room left"):
        store.leave()
    again = Store.reopen(path, clock)
    again.leave()
    assert [e.time_s for e in load(path).events] == [0.0]


def test_no_room_at_the_start_leaves_nothing_in_the_way(path, header, clock, in_child):
    def work() -> str:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (8192, resource.RLIM_INFINITY))
        try:
            Store.create(path, header, clock)
        except RecordError as error:
            resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
            Store.create(path, header, clock).leave()
            return error.code
        return "no error"

    assert in_child(work) in ("disk-full", "disk-error")


def test_a_message_that_finds_no_room(store, path, in_child):
    def work() -> str:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (5, resource.RLIM_INFINITY))
        put(path, {"message": "ack"})
        return "no error"

    said = in_child(work)
    assert said.startswith("RecordError: No room left to write")
    assert "one.soak.inbox" in said
