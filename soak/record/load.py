"""Run files read: the whole record, or a glance. Read-only; a run may be read while its loop writes it."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from soak.errors import RecordError
from soak.record import trouble
from soak.record.lock import held
from soak.record.opening import has_wal, open_to_read
from soak.record.rows import (
    Action,
    Band,
    ChargeEstimate,
    Closing,
    Glance,
    Header,
    Note,
    Prediction,
    ProfilePoint,
    Record,
)
from soak.record.upgrade import STEPS, Step
from soak.trace import Event, Reading

_ALONE = (
    "The file was not closed by soak and has no -wal beside it. If it was copied while the run was going, copy the "
    "-wal too: the last rows are in there."
)


def load(path: Path, steps: Mapping[int, Step] = STEPS) -> Record:
    """All that the run file holds, as one consistent moment. Raises RecordError."""
    cut_off = not has_wal(path) and not held(path)
    with closing(open_to_read(path, steps)) as database:
        try:
            database.execute("BEGIN")  # one snapshot for all tables, though the loop goes on writing
            return Record(
                header=_header(database),
                readings=tuple(_reading(r) for r in _rows(database, "reading")),
                predictions=tuple(_prediction(r) for r in _rows(database, "prediction")),
                charge=tuple(ChargeEstimate(r[0], r[1], r[2], Band(*r[3:6]), r[6]) for r in _rows(database, "charge")),
                events=tuple(Event(*r[1:]) for r in _rows(database, "event")),
                actions=tuple(Action(*r) for r in _rows(database, "action")),
                notes=_notes(database),
                profiles=tuple(ProfilePoint(r[0], r[1], Band(*r[2:])) for r in _rows(database, "profile_final")),
                closing=_closing(database),
                cautions=(_ALONE,) if cut_off and _in_wal_mode(database) else (),
            )
        except (sqlite3.Error, ValueError) as error:
            raise _explain(error, path) from error


def glance(path: Path, steps: Mapping[int, Step] = STEPS) -> Glance:
    """The run without its traces: for lists and for what the shop remembers. Raises RecordError."""
    with closing(open_to_read(path, steps)) as database:
        try:
            database.execute("BEGIN")
            last = database.execute("SELECT time_s FROM reading ORDER BY rowid DESC LIMIT 1").fetchone()
            found = _header(database), _closing(database), last[0] if last else None, _notes(database)
        except (sqlite3.Error, ValueError) as error:
            raise _explain(error, path) from error
    return Glance(*found, running=held(path))


def _rows(database: sqlite3.Connection, table: str) -> sqlite3.Cursor:
    return database.execute(f"SELECT * FROM {table} ORDER BY rowid")


def _header(database: sqlite3.Connection) -> Header:
    row = database.execute("SELECT * FROM run").fetchone()
    if row is None:
        raise ValueError("the header row is missing")
    _, soak, kind, started, job, title, text, profiles, plan, draws, link = row
    return Header(
        kind=kind,
        started=started,
        job=job,
        title=title,
        job_text=text,
        profiles=json.loads(profiles),
        plan=json.loads(plan),
        draws=json.loads(draws),
        link=None if link is None else json.loads(link),
        soak=soak,
    )


def _reading(row: tuple[Any, ...]) -> Reading:
    time_s, setpoint_c, oven_c, output_pct, charge_c, sensor_open, pack_c = row
    return Reading(time_s, oven_c, setpoint_c, output_pct, charge_c, bool(sensor_open), pack_c)


def _prediction(row: tuple[Any, ...]) -> Prediction:
    return Prediction(row[0], row[1], Band(*row[2:5]), Band(*row[5:8]), Band(*row[8:11]), Band(*row[11:14]))


def _notes(database: sqlite3.Connection) -> tuple[Note, ...]:
    return tuple(
        Note(wall=wall, kind=kind, values=json.loads(values), text=text, time_s=time_s, uid=uid)
        for _, uid, wall, time_s, kind, values, text in _rows(database, "note")
    )


def _closing(database: sqlite3.Connection) -> Closing | None:
    row = database.execute("SELECT time_s, ended, summary FROM closing").fetchone()
    return None if row is None else Closing(row[0], row[1], json.loads(row[2]))


def _in_wal_mode(database: sqlite3.Connection) -> bool:
    return bool(database.execute("PRAGMA journal_mode").fetchone()[0] == "wal")


def _explain(error: sqlite3.Error | ValueError, path: Path) -> RecordError:
    if isinstance(error, sqlite3.Error):
        return trouble.explain(error, path)
    return RecordError(
        "run-broken",
        f"{path} is damaged: {error}.",
        "Keep the file, and its -wal if there is one; use a copy made earlier.",
    )
