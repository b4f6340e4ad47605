"""A record as CSV tables and as one JSON document. Pure: text out, nothing written.

Lines end in one line feed, so that text files opened in any mode stay right on every platform.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from soak import __version__
from soak.record.jsontext import plain, to_text
from soak.record.rows import QUANTITIES, Band, ChargeEstimate, Prediction, Record

FORMAT = 1
_ENDS = ("low", "mid", "high")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would run a cell that begins so


def csv_tables(record: Record) -> dict[str, str]:
    """CSV text by table: temperature, carbon, events, notes. Times [s], temperatures [degC], carbon [mass %], [mm].

    An empty cell: no number. Text that begins like a formula gets a leading apostrophe. Numbers are exact: read
    back, they give the same run.
    """
    return {
        "temperature": _table(TEMPERATURE, _temperature(record)),
        "carbon": _table(CARBON, _carbon(record)),
        "events": _table(
            ("time_s", "code", "severity", "text"),
            ((e.time_s, _safe(e.code), _safe(e.severity), _safe(e.text)) for e in record.events),
        ),
        "notes": _table(
            ("wall_utc", "time_s", "kind", "values", "text"),
            ((_safe(n.wall), n.time_s, _safe(n.kind), to_text(n.values), _safe(n.text)) for n in record.notes),
        ),
    }


TEMPERATURE = ("time_s", "setpoint_c", "oven_c", "output_pct", "charge_core_c", "charge_wall_c")
CARBON = ("time_s", "piece", *(f"{q}_{end}" for q in (*QUANTITIES, "wall_left_mm") for end in _ENDS))


def json_document(record: Record) -> dict[str, Any]:
    """The record as one JSON document. `soak` is the version that writes it; header.soak the one that ran it."""
    header = asdict(record.header)
    plan = header.pop("plan")
    document = {
        "format": FORMAT,
        "soak": __version__,
        "header": header,
        "plan": plan,
        "readings": [asdict(r) for r in record.readings],
        "carbon": [asdict(p) for p in record.predictions],
        "charge": [asdict(c) for c in record.charge],
        "events": [asdict(e) for e in record.events],
        "actions": [asdict(a) for a in record.actions],
        "notes": [asdict(n) for n in record.notes],
        "profiles": [asdict(p) for p in record.profiles],
        "ended": record.closing.ended if record.closing else None,
        "ended_time_s": record.closing.time_s if record.closing else None,
        "summary": record.closing.summary if record.closing else None,
        "cautions": list(record.cautions),
    }
    strict: dict[str, Any] = plain(document)
    return strict


def _temperature(record: Record) -> Iterable[Sequence[Any]]:
    """Each reading with the latest estimate of the charge at or before it."""
    latest: ChargeEstimate | None = None
    coming = 0
    for r in record.readings:
        while coming < len(record.charge) and record.charge[coming].time_s <= r.time_s:
            latest = record.charge[coming]
            coming += 1
        core, wall = (latest.core_c, latest.wall_c) if latest else (None, None)
        yield (r.time_s, r.setpoint_c, r.oven_c, r.output_pct, core, wall)


def _carbon(record: Record) -> Iterable[Sequence[Any]]:
    wall_left = {c.time_s: c.wall_left_mm for c in record.charge}
    for p in record.predictions:
        bands = [*_bands(p), wall_left.get(p.time_s, Band())]
        yield (p.time_s, _safe(p.piece), *(getattr(band, end) for band in bands for end in _ENDS))


def _bands(p: Prediction) -> list[Band]:
    return [getattr(p, quantity) for quantity in QUANTITIES]


def _table(names: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(names)
    writer.writerows(rows)  # None becomes an empty cell; floats are written so that they read back exactly
    return text.getvalue()


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) else text
