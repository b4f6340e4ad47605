"""Run files of older schemas brought to this one, one numbered step after the other. Touches the open database."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from pathlib import Path

from soak.errors import RecordError

APPLICATION_ID = 0x736F616B  # the letters "soak"; the same number stands in schema.sql
VERSION = 1

Step = Callable[[sqlite3.Connection], None]

# STEPS[n] turns a file of version n into one of version n + 1. It runs inside a transaction and must not end it.
STEPS: Mapping[int, Step] = {}


def version_of(database: sqlite3.Connection) -> int:
    return int(database.execute("PRAGMA user_version").fetchone()[0])


def upgrade(database: sqlite3.Connection, path: Path, steps: Mapping[int, Step] = STEPS) -> None:
    """All steps from the file's version to VERSION, or none of them. Raises RecordError when a step does not exist."""
    if version_of(database) == VERSION:
        return
    database.execute("BEGIN IMMEDIATE")
    try:
        for version in range(version_of(database), VERSION):
            if version not in steps:
                raise RecordError(
                    "run-too-old",
                    f"{path} is of schema {version}; this soak reads schemas back to {min(steps, default=VERSION)}.",
                    "Open it with the soak that wrote it, or with one in between, and export it there.",
                )
            steps[version](database)
            database.execute(f"PRAGMA user_version = {version + 1}")
    except BaseException:
        database.rollback()
        raise
    database.execute("COMMIT")
