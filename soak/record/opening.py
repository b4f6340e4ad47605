"""Opening a run file: is it there, is it one, is it of a version we know. Touches the file through SQLite only.

Only SQLite may open the file: POSIX drops a process's locks on a file as soon as it closes *any* descriptor of it,
and a loop may be writing this very file in this very process.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

from soak.errors import RecordError
from soak.record import trouble
from soak.record.upgrade import APPLICATION_ID, STEPS, VERSION, Step, upgrade, version_of

BUSY_S = 5.0  # judgement: a commit or a reader is done in milliseconds, a slow card may stall for a second


def open_to_read(path: Path, steps: Mapping[int, Step] = STEPS) -> sqlite3.Connection:
    """A read-only connection to a run of today's schema: an older file is upgraded in memory, the file untouched."""
    _must_exist(path)
    try:
        database = _connect(path, "mode=ro")
    except RecordError as error:
        if error.code != "run-unwritable" or has_wal(path):
            raise
        # A folder we may not write to. With no -wal beside, the file is whole as it lies and nobody writes to it.
        database = _connect(path, "mode=ro&immutable=1")
    if version_of(database) == VERSION:
        return database
    with closing(database):
        copy = sqlite3.connect(":memory:", isolation_level=None)
        database.backup(copy)
    try:
        upgrade(copy, path, steps)
    except BaseException:
        copy.close()
        raise
    return copy


def open_to_write(path: Path, steps: Mapping[int, Step] = STEPS) -> sqlite3.Connection:
    """A connection that may write to an existing run; an older file is upgraded. The caller holds the run's lock."""
    _must_exist(path)
    database = _connect(path, "mode=rw")
    try:
        database.execute("PRAGMA synchronous=FULL")
        upgrade(database, path, steps)
    except sqlite3.Error as error:
        database.close()
        raise trouble.explain(error, path) from error
    except BaseException:
        database.close()
        raise
    return database


def _must_exist(path: Path) -> None:
    if path.is_dir():
        raise trouble.not_a_run(path, "it is a folder")
    if not path.exists():
        raise trouble.missing(path)


def _connect(path: Path, how: str) -> sqlite3.Connection:
    database = None
    try:
        database = sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, isolation_level=None, timeout=BUSY_S)
        application = database.execute("PRAGMA application_id").fetchone()[0]
        pages = database.execute("PRAGMA page_count").fetchone()[0]
        version = version_of(database)
        if application == APPLICATION_ID and version <= VERSION:
            return database
    except sqlite3.Error as error:
        if database is not None:
            database.close()
        raise _explain_opening(error, path) from error
    database.close()
    if pages == 0:
        raise trouble.not_a_run(path, "it is empty (a run that died before its first row leaves such a file)")
    if application != APPLICATION_ID:
        raise trouble.not_a_run(path, "it is a database of something else")
    raise RecordError(
        "run-newer",
        f"{path} was written by a newer soak (schema {version}; this one knows schema {VERSION}).",
        "Upgrade soak, then open it again.",
    )


def _explain_opening(error: sqlite3.Error, path: Path) -> RecordError:
    explained = trouble.explain(error, path)
    if explained.code == "run-unwritable" and has_wal(path):
        return RecordError(
            "run-unwritable",
            f"{path} has rows in {path.name}-wal, and the folder is read-only, so the two cannot be joined.",
            f"Copy {path.name} and {path.name}-wal together into a folder you may write in, and open it there.",
        )
    return explained


def has_wal(path: Path) -> bool:
    """Whether rows wait in a -wal beside the run file."""
    wal = path.with_name(path.name + "-wal")
    return wal.exists() and wal.stat().st_size > 0
