"""Rows into an open run file, what waits in its inbox too, and letting go of it. Touches file, lock and inbox."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from soak.record import statements, trouble
from soak.record.inbox import Inbox, note_of
from soak.record.lock import RunLock


def write(database: sqlite3.Connection, rows: Iterable[statements.Row], path: Path) -> None:
    """All rows in one transaction, on the disk when the call returns; or RecordError and none of them."""
    try:
        database.execute("BEGIN IMMEDIATE")
        for statement, values in rows:
            database.execute(statement, values)
        database.execute("COMMIT")
    except BaseException as error:  # a Ctrl-C too must not leave half a transaction open
        with suppress(sqlite3.Error):
            database.rollback()
        if isinstance(error, sqlite3.Error):
            raise trouble.explain(error, path) from error
        raise


def sweep(database: sqlite3.Connection, path: Path) -> None:
    """Notes still in the inbox into the run file, and the inbox away."""
    inbox = Inbox(path)
    notes = [note for note in map(note_of, inbox.take()) if note is not None]
    if notes:
        write(database, [statements.note_row(note) for note in notes], path)
    inbox.clear()


def finish(database: sqlite3.Connection, lock: RunLock, path: Path) -> None:
    """Let go of a run file: no lock, no inbox, no -wal remain."""
    try:
        lock.withdraw()  # from here no one writes to the inbox who would not look again: see `put`
        sweep(database, path)
        with suppress(sqlite3.Error):  # somebody is reading just now: the file is sound, it only keeps its -wal
            database.execute("PRAGMA journal_mode=DELETE")
    finally:
        database.close()
        lock.release()
