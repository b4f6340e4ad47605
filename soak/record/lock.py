"""One writer a run: a lock that goes when its holder dies, even by kill -9. Touches RUN.lock beside the run.

The lock is SQLite's own exclusive file lock on an empty sidecar database: the same on every platform. Only SQLite
may open that file: POSIX drops a process's locks on a file as soon as it closes *any* descriptor of it.
"""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from pathlib import Path

from soak.errors import RecordError
from soak.record import trouble

_TRIES = 10  # judgement: each try is lost only if another soak ended its run in that very instant


def _beside(run: Path) -> Path:
    return run.with_name(run.name + ".lock")


class RunLock:
    """Held from `take` to `release`."""

    def __init__(self, file: Path, connection: sqlite3.Connection) -> None:
        self._file = file
        self._connection = connection
        self._gone = False

    @classmethod
    def take(cls, run: Path) -> RunLock:
        """The lock of `run`, or RecordError "run-busy"."""
        file = _beside(run)
        for _ in range(_TRIES):
            before = _identity(file)
            connection = _grip(file, run)
            # The last holder may have unlinked the file between our opening and our locking it: what we hold then
            # has no name any more, and would keep nobody out.
            if before is not None and before == _identity(file):
                return cls(file, connection)
            connection.close()
        raise trouble.busy(run)

    def withdraw(self) -> None:
        """Let no one knock any more: `held` says no from here. What they left behind can now be read to the end."""
        if not self._gone:
            with suppress(OSError):  # where an open file cannot be removed, `release` removes it
                self._file.unlink(missing_ok=True)
                self._gone = True

    def release(self) -> None:
        self.withdraw()
        self._connection.close()
        self.withdraw()


def held(run: Path) -> bool:
    """Whether a living soak is writing `run`."""
    if not _beside(run).exists():
        return False
    try:
        RunLock.take(run).release()
    except RecordError as error:
        return error.code == "run-busy"
    return False


def _grip(file: Path, run: Path) -> sqlite3.Connection:
    connection = None
    try:
        connection = sqlite3.connect(file, timeout=0, isolation_level=None)
        connection.execute("PRAGMA journal_mode=OFF")  # else SQLite lays a journal beside the empty file
        connection.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as error:
        if connection is not None:
            connection.close()
        raise trouble.explain(error, run) from error
    return connection


def _identity(file: Path) -> tuple[int, int] | None:
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
