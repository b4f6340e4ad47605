"""Reads a temperature record logged by any means: CSV with a time and a temperature column. Touches one file."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import Literal

from soak.errors import JobError
from soak.trace import Reading

Measured = Literal["oven", "charge"]
COLUMNS: dict[Measured, tuple[str, ...]] = {
    "oven": ("temperature_c", "temperature_f", "oven_c"),
    "charge": ("temperature_c", "temperature_f", "charge_c", "charge_core_c"),
}
RANGE_C = (-50.0, 1400.0)
HOT_C = 700.0
LONGEST_S = 500 * 3600.0  # a longer record is no soak, but milliseconds or many soaks in one file (judgement)
WORST_K = 100.0  # a guess between two readings is never taken to be worse than this (judgement)
DENSE_S, GAP_S = 600.0, 3600.0  # readings closer than this need no extra doubt; further apart than this: said aloud


@dataclass(frozen=True, slots=True)
class TraceFile:
    """The readings, and what interpolating between them adds to the doubt of the temperature (one sigma, K)."""

    readings: tuple[Reading, ...]
    doubt_k: float
    gaps: tuple[str, ...]


def read_trace(path: Path, measured: Measured) -> TraceFile:
    """Raises JobError: unreadable, wrong columns, a bad number, time that does not go forward, too few rows."""
    rows, columns = _rows(path)
    time_column = _one(columns, ("time_s", "time"), path)
    value_column = _one(columns, COLUMNS[measured], path)
    pack_column = "pack_c" if "pack_c" in columns and measured == "oven" else None
    readings: list[Reading] = []
    zero: datetime | float | None = None
    for line, row in rows:
        where = f"{path}, line {line}"
        time_s, zero = _time(row[time_column], time_column, zero, where)
        raw = row[value_column].strip()
        if not raw and value_column in ("oven_c", "charge_c", "charge_core_c"):
            continue  # our own export leaves a cell empty where there was no reading
        celsius = _number(raw, value_column, where)
        if value_column == "temperature_f":
            celsius = (celsius - 32.0) / 1.8
        if not RANGE_C[0] <= celsius <= RANGE_C[1]:
            raise JobError(
                "trace-value", f"{where}: {raw} in {value_column} is no oven's temperature", _expect(value_column)
            )
        if readings and time_s <= readings[-1].time_s:
            what = "stands still" if time_s == readings[-1].time_s else "runs backwards"
            raise JobError(
                "trace-time", f"{where}: time {what} ({row[time_column]})", "put the rows in order, one per time"
            )
        pack_c = None
        if pack_column is not None and row[pack_column].strip():
            pack_c = _number(row[pack_column], pack_column, where)
        readings.append(Reading(time_s, celsius, charge_c=celsius, pack_c=pack_c))
    if len(readings) < 2:
        raise JobError(
            "trace-short", f"{path}: {len(readings)} readings; at least 2 are needed", "log the whole soak, cooling too"
        )
    if readings[-1].time_s - readings[0].time_s > LONGEST_S:
        hours = (readings[-1].time_s - readings[0].time_s) / 3600.0
        text = f"{path}: the readings run over {hours:.0f} h; {LONGEST_S / 3600.0:.0f} h is the most"
        raise JobError("trace-long", text, "time_s is in seconds; keep to one soak a file")
    return TraceFile(tuple(readings), _doubt_k(readings), _gaps(readings))


def _rows(path: Path) -> tuple[list[tuple[int, dict[str, str]]], Sequence[str]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise JobError("trace-unreadable", f"{path} is not a text file", "export the log as CSV (UTF-8)") from None
    except OSError as error:
        raise JobError("trace-unreadable", f"cannot read {path}: {error.strerror}", "check name and rights") from None
    columns: list[str] = []
    rows = []
    for i, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        cells = _cells(line, f"{path}, line {i}")
        if not columns:
            columns = [c.strip() for c in cells]
            continue
        while len(cells) > len(columns) and not cells[-1].strip():
            cells.pop()  # some loggers end every row with a comma
        if len(cells) != len(columns):
            what = "fewer" if len(cells) < len(columns) else "more"
            hint = f"columns: {', '.join(columns)}" + ("; a decimal comma? write a point" if what == "more" else "")
            raise JobError("trace-row", f"{path}, line {i}: {what} cells than columns", hint)
        rows.append((i, dict(zip(columns, cells, strict=True))))
    return rows, columns


def _cells(line: str, where: str) -> list[str]:
    try:
        return next(csv.reader([line]))
    except csv.Error as error:
        raise JobError("trace-unreadable", f"{where}: is no CSV ({error})", "export the log as CSV (UTF-8)") from None


def _one(columns: Sequence[str], wanted: Sequence[str], path: Path) -> str:
    found = [c for c in wanted if c in columns]
    if found:
        return found[0]
    raise JobError(
        "trace-columns",
        f"{path} has the columns {', '.join(columns) or 'none'}; one of {', '.join(wanted)} is missing",
        "name the columns time_s (seconds) or time (ISO 8601), and temperature_c or temperature_f",
    )


def _time(raw: str, column: str, zero: datetime | float | None, where: str) -> tuple[float, datetime | float]:
    if column == "time_s":
        value = _number(raw, column, where)
        return value, value if zero is None else zero
    try:
        then = datetime.fromisoformat(raw.strip())
    except ValueError:
        raise JobError("trace-time", f"{where}: {raw!r} is not an ISO time", "write 2026-11-25T19:00:00") from None
    if zero is None:
        return 0.0, then
    assert isinstance(zero, datetime)
    try:
        return (then - zero).total_seconds(), zero
    except TypeError:
        raise JobError(
            "trace-time", f"{where}: some times have a zone and some have none", "write all with it or none"
        ) from None


def _number(raw: str, column: str, where: str) -> float:
    try:
        value = float(raw)
    except ValueError:
        raise JobError(
            "trace-value", f"{where}: {raw.strip()!r} in {column} is not a number", _expect(column)
        ) from None
    if not math.isfinite(value):
        raise JobError("trace-value", f"{where}: {raw.strip()} in {column} is no reading", "leave the row out")
    return value


def _expect(column: str) -> str:
    return (
        "seconds, as 3600"
        if column == "time_s"
        else "a plain number in the unit of the column's name, or leave the row out"
    )


def _doubt_k(readings: Sequence[Reading]) -> float:
    """Root mean square over the hot time of what a straight line between two readings may miss (judgement):
    3 K at 10 minutes apart, growing as the root of the time, and a tenth of the step between them."""
    total = weight = 0.0
    for a, b in pairwise(readings):
        assert a.oven_c is not None
        assert b.oven_c is not None
        apart = b.time_s - a.time_s
        if max(a.oven_c, b.oven_c) < HOT_C:
            continue
        miss = 3.0 * math.sqrt(apart / DENSE_S) + 0.1 * abs(b.oven_c - a.oven_c) if apart > DENSE_S else 0.0
        miss = min(miss, WORST_K)
        total += miss * miss * apart
        weight += apart
    return math.sqrt(total / weight) if weight else 0.0


def _gaps(readings: Sequence[Reading]) -> tuple[str, ...]:
    told = []
    for a, b in pairwise(readings):
        assert a.oven_c is not None
        assert b.oven_c is not None
        if b.time_s - a.time_s > GAP_S and max(a.oven_c, b.oven_c) >= HOT_C:
            hours = (b.time_s - a.time_s) / 3600.0
            told.append(
                f"no reading for {hours:.1f} h from {a.time_s:.0f} s on: a straight line was assumed, the band is wider"
            )
    return tuple(told)
