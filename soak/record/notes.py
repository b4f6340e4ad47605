"""Notes into a run file: straight when no loop holds it, through the inbox when one does. Touches both."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from soak.errors import RecordError
from soak.record import statements, trouble
from soak.record.inbox import note_message, put
from soak.record.lock import RunLock
from soak.record.opening import open_to_write
from soak.record.rows import Note
from soak.record.writing import finish, write

_TRIES = 5  # judgement: each is lost only if a loop began or ended in that instant


def add_note(path: Path, note: Note) -> Literal["written", "waiting"]:
    """Add `note` to the run file `path`; "waiting": the running loop will take it. Raises RecordError."""
    if not path.exists():
        raise trouble.missing(path)
    for _ in range(_TRIES):
        try:
            lock = RunLock.take(path)
        except RecordError as error:
            if error.code != "run-busy":
                raise
        else:
            _write(path, note, lock)
            return "written"
        try:
            put(path, note_message(note))
        except RecordError as error:
            if error.code != "no-loop":
                raise
        else:
            return "waiting"
    raise trouble.busy(path)


def _write(path: Path, note: Note, lock: RunLock) -> None:
    try:
        database = open_to_write(path)
    except BaseException:
        lock.release()
        raise
    try:
        write(database, [statements.note_row(note)], path)
    finally:
        finish(database, lock, path)
