"""A process that writes a run file as fast as it can and says what it was promised. Killed by the tests.

usage: writer_child.py RUN MODE; lines on standard output: "event N", "intent N", "result N", "reading N" (all readings
up to N), each printed after the call that promised it returned.
"""

from __future__ import annotations

import resource
import signal
import sys
import time
from pathlib import Path

from soak.errors import RecordError
from soak.record.rows import Header
from soak.record.store import Store
from soak.trace import Event, Reading

HEADER = Header("run", "2031-02-03T18:30:00+00:00", "j", "t", "", {}, {}, {})


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def busy_writer(run: Path) -> None:
    store = Store.create(run, HEADER, time.monotonic)
    number = 0
    while True:
        number += 1
        store.reading(Reading(float(number), 900.0 + number % 7))
        if number % 5 == 0:
            store.event(Event(float(number), "tick", "info", f"event {number}"))
            say(f"event {number}")
            say(f"reading {number}")
        if number % 7 == 0:
            row = store.intent(float(number), "ask", 900.0)
            say(f"intent {row}")
            store.result(row, float(number), "stands")
            say(f"result {row}")
            say(f"reading {number}")
        if number % 11 == 0:
            store.commit()
            say(f"reading {number}")


def holder(run: Path) -> None:
    store = Store.create(run, HEADER, time.monotonic)
    store.event(Event(1.0, "begun", "info", "first"))
    say("holding")
    sys.stdin.readline()
    store.close(2.0, "complete", {})
    say("closed")


def limited(run: Path) -> None:
    """Writes until the system allows no larger file, says the error; then again with room."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    store = Store.create(run, HEADER, time.monotonic)
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, resource.RLIM_INFINITY))
    number = 0
    try:
        while True:
            number += 1
            store.event(Event(float(number), "tick", "info", "x" * 1000))
            say(f"event {number}")
    except RecordError as error:
        say(f"error {error.code}")
        say(f"text {error.text}")
        say(f"hint {error.hint}")
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    store.commit()
    say(f"event {number}")
    say("room")
    sys.stdin.readline()


if __name__ == "__main__":
    {"busy": busy_writer, "hold": holder, "limited": limited}[sys.argv[2]](Path(sys.argv[1]))
