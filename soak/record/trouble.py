"""SQLite's and the system's complaints in words a person can act on. Pure."""

from __future__ import annotations

import errno
import sqlite3
from pathlib import Path

from soak.errors import RecordError

LIST = "`soak runs` lists the run files of this shop."


def explain(error: sqlite3.Error | OSError, path: Path) -> RecordError:
    """The RecordError for what SQLite or the system said about `path`. Our own bugs are raised as they are."""
    if isinstance(error, OSError):
        if error.errno in _FULL_ERRNO:
            return _full(path, error.strerror or "no room")
        return _unwritable(path, error.strerror or str(error))
    name = getattr(error, "sqlite_errorname", None)
    if name is None:
        raise error
    said = f"{error}, {name}"
    if name.startswith("SQLITE_FULL"):
        return _full(path, said)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return busy(path)
    if name.startswith("SQLITE_NOTADB"):
        return not_a_run(path, "it is not a database file")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        return _unwritable(path, said)
    if name.startswith("SQLITE_IOERR"):
        return RecordError(
            "disk-error",
            f"{path} could not be read or written ({said}): the disk failed, was taken out, or a size limit was hit.",
            "Check the disk and its free space. Rows already acknowledged stand; later ones wait in memory.",
        )
    return RecordError(
        "run-broken",
        f"{path} is damaged or not as soak wrote it ({said}).",
        "Keep the file, and its -wal if there is one; use a copy made earlier.",
    )


_FULL_ERRNO = (errno.EFBIG, errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))


def _full(path: Path, said: str) -> RecordError:
    return RecordError(
        "disk-full",
        f"No room left to write {path} ({said}).",
        "Free some space on that disk. Rows already acknowledged stand; the others are written when there is room.",
    )


def _unwritable(path: Path, said: str) -> RecordError:
    return RecordError(
        "run-unwritable",
        f"{path} cannot be opened or written ({said}).",
        "Check that the folder exists, that you may write in it, and that the disk is not read-only.",
    )


def busy(path: Path) -> RecordError:
    return RecordError(
        "run-busy",
        f"{path} is being written by another soak.",
        "Look on with `soak watch`, add to it with `soak note`; or wait until that run ends.",
    )


def not_a_run(path: Path, why: str) -> RecordError:
    return RecordError("not-a-run", f"{path} is not a run file: {why}.", LIST)


def missing(path: Path) -> RecordError:
    return RecordError("run-missing", f"There is no run file {path}.", LIST)
