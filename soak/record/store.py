"""The run file being written: the Recorder of one loop. Touches the run file, its lock and its inbox.

Readings and predictions wait at most about 5 s of wall time for the disk; all else is there when the call returns.
Rows are kept in memory until their commit succeeded: after a full disk they follow as soon as there is room.
One thread only.
"""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Callable, Mapping
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soak.errors import RecordError
from soak.record import statements, trouble
from soak.record.folder import on_network
from soak.record.inbox import Inbox
from soak.record.lock import RunLock
from soak.record.opening import BUSY_S, open_to_write
from soak.record.rows import Header, Note
from soak.record.writing import finish, sweep, write
from soak.trace import Event, Reading

if TYPE_CHECKING:
    from soak.run.ports import Recorder

    def _keeps_the_contract(store: Store) -> Recorder:
        return store


_SCHEMA = resources.files("soak.record") / "schema.sql"
LONGEST_WAIT_S = 5.0  # design: what a power cut may take of the readings
_CHECKPOINT_PAGES = 200  # judgement: a WAL of 0.8 MB, some ten minutes of a run; SQLite's own checkpoints are passive


class Store:
    """Implements soak.run.ports.Recorder. Made by `create` (a new run) or `reopen` (one that was interrupted)."""

    def __init__(self, path: Path, database: sqlite3.Connection, lock: RunLock, now: Callable[[], float]) -> None:
        self._path = path
        self._database: sqlite3.Connection | None = database
        self._lock = lock
        self._now = now
        self._waiting: list[statements.Row] = []
        self._oldest_s = self._called_s = now()
        last = database.execute("SELECT max(id) FROM action").fetchone()[0]
        self._next_action = (last or 0) + 1

    @classmethod
    def create(cls, path: Path, header: Header, now: Callable[[], float]) -> Store:
        """A new run file. `now` [s]: wall time that never jumps. Raises RecordError; never overwrites."""
        if not path.parent.is_dir():
            raise trouble.explain(OSError(errno.ENOENT, f"the folder {path.parent} does not exist"), path)
        row = statements.header_row(header)
        return cls._open(path, now, lambda: _make(path, row))

    @classmethod
    def reopen(cls, path: Path, now: Callable[[], float]) -> Store:
        """A run that died or was interrupted, to be written on. What was said to its dead loop is void, but for notes.

        Raises RecordError "run-closed" for a run that ended otherwise.
        """
        store = cls._open(path, now, lambda: open_to_write(path))
        try:
            store._take_up()
        except BaseException:
            store.leave()
            raise
        return store

    @classmethod
    def _open(cls, path: Path, now: Callable[[], float], opened: Callable[[], sqlite3.Connection]) -> Store:
        lock = RunLock.take(path)
        database = None
        try:
            database = opened()
            database.execute("PRAGMA synchronous=FULL")
            database.execute(f"PRAGMA journal_mode={'DELETE' if on_network(path) else 'WAL'}")
            database.execute(f"PRAGMA wal_autocheckpoint={_CHECKPOINT_PAGES}")
            return cls(path, database, lock, now)
        except BaseException as error:
            if database is not None:
                database.close()
            lock.release()
            if isinstance(error, sqlite3.Error):
                raise trouble.explain(error, path) from error
            raise

    def reading(self, reading: Reading) -> None:
        self._add([statements.reading_row(reading)])

    def prediction(self, time_s: float, values: Mapping[str, Any]) -> None:
        """Bands by quantity and piece: `statements.prediction_rows` names the keys."""
        self._add(statements.prediction_rows(time_s, values))

    def event(self, event: Event) -> None:
        self._add([statements.event_row(event)], urgent=True)

    def intent(self, time_s: float, action: str, value: float | None) -> int:
        number = self._next_action
        self._next_action += 1
        self._add([statements.intent_row(number, time_s, action, value)], urgent=True)
        return number

    def result(self, intent_id: int, time_s: float, outcome: str) -> None:
        self._add([statements.result_row(intent_id, time_s, outcome)], urgent=True)

    def note(self, note: Note) -> None:
        """Urgent. The same note (by `uid`) twice is kept once."""
        self._add([statements.note_row(note)], urgent=True)

    def commit(self) -> None:
        """All that waits, on the disk when the call returns."""
        self._add([], urgent=True)

    def close(self, time_s: float, ended: str, summary: Mapping[str, Any]) -> None:
        """The last word and the final profiles (`summary["pieces"][i]["profile"]`); one plain file remains.

        Raises RecordError if they cannot be written: the store is then still open, and may be closed again or left.
        """
        self._add(statements.closing_rows(time_s, ended, summary), urgent=True)
        self._finish()

    def leave(self) -> None:
        """Write what waits and let go, without a last word: the run can be taken up again. Safe to call twice."""
        if self._database is None:
            return
        try:
            self.commit()
        finally:
            self._finish()

    def _add(self, rows: list[statements.Row], urgent: bool = False) -> None:
        if self._database is None:
            raise _closed(self._path, "This store has been closed")
        now = self._now()
        if not self._waiting:
            self._oldest_s = now
        self._waiting += rows
        # If the next call comes after as long a pause as this one did, would the oldest row then wait too long?
        late = now - self._oldest_s + now - self._called_s > LONGEST_WAIT_S
        self._called_s = now
        if urgent or late:
            write(self._database, self._waiting, self._path)
            self._waiting = []

    def _take_up(self) -> None:
        assert self._database is not None
        row = self._database.execute("SELECT ended FROM closing").fetchone()
        if row is not None and row[0] != "interrupted":
            raise _closed(self._path, f"{self._path} ended ({row[0]})")
        write(self._database, [("DELETE FROM closing", ()), ("DELETE FROM profile_final", ())], self._path)
        sweep(self._database, self._path)

    def _finish(self) -> None:
        database, self._database = self._database, None
        assert database is not None
        finish(database, self._lock, self._path)


def _make(path: Path, header: statements.Row) -> sqlite3.Connection:
    if path.exists():
        raise RecordError(
            "run-exists",
            f"{path} exists already; a run file is never overwritten.",
            "Choose another name, or move the old file away.",
        )
    Inbox(path).clear()
    database = sqlite3.connect(path, isolation_level=None, timeout=BUSY_S)
    try:
        # Schema, header and marks in one transaction: after a crash the file is empty or whole.
        database.executescript("BEGIN;" + _SCHEMA.read_text("utf-8"))
        database.execute(*header)
        database.execute("COMMIT")
    except BaseException:
        database.close()
        path.unlink(missing_ok=True)  # ours, and nothing in it: the next try must not find a file in its way
        raise
    return database


def _closed(path: Path, what: str) -> RecordError:
    return RecordError(
        "run-closed",
        f"{what}; nothing more can be recorded in {path.name} but notes.",
        "Start a new run; `soak note` adds what was seen afterwards.",
    )
