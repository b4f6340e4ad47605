"""Readings, events, predictions and the rest as SQL rows. Pure: values in, (statement, parameters) out.

All that enters is made plain here, so that no odd value can spoil a batch later.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from soak.errors import RecordError
from soak.record.jsontext import to_text
from soak.record.rows import QUANTITIES, Header, Note
from soak.trace import Event, Reading

Row = tuple[str, tuple[Any, ...]]


def header_row(header: Header) -> Row:
    values = (
        1,
        header.soak,
        header.kind,
        header.started,
        _text(header.job),
        _text(header.title),
        _text(header.job_text),
        to_text(header.profiles, "profiles"),
        to_text(header.plan, "plan"),
        to_text(header.draws, "draws"),
        None if header.link is None else to_text(header.link, "link"),
    )
    return _insert("run", values)


def reading_row(r: Reading) -> Row:
    numbers = (_number(r.setpoint_c), _number(r.oven_c), _number(r.output_pct), _number(r.charge_c))
    return _insert("reading", (_time(r.time_s, "reading"), *numbers, int(r.sensor_open), _number(r.pack_c)))


def event_row(e: Event) -> Row:
    return _insert("event", (None, _time(e.time_s, "event"), _text(e.code), _text(e.severity), _text(e.text)))


def intent_row(number: int, time_s: float, action: str, value: float | None) -> Row:
    values = (number, _time(time_s, "intent"), _text(action), _number(value), None, None)
    return _insert("action", values, "OR IGNORE")


def result_row(number: int, time_s: float, outcome: str) -> Row:
    statement = "UPDATE action SET result_time_s = ?, outcome = ? WHERE id = ?"
    return statement, (_time(time_s, "result"), _text(outcome), number)


def note_row(n: Note) -> Row:
    words = _text(n.kind), to_text(n.values, "note"), _text(n.text)
    return _insert("note", (None, n.uid, _text(n.wall), _number(n.time_s), *words), "OR IGNORE")


def prediction_rows(time_s: float, values: Mapping[str, Any]) -> list[Row]:
    """One row a piece and one for the charge, from the mapping the loop gives:

    {"pieces": [{"piece", "mean_carbon_pct", "surface_carbon_pct", "centre_carbon_pct", "case_depth_mm"}],
    "charge_core_c", "charge_wall_c", "wall_left_mm", "pco"}; a band is {"low", "mid", "high"} or None.
    """
    try:
        time = _time(time_s, "prediction")
        rows = [
            _insert("prediction", (time, _text(p["piece"]), *(x for q in QUANTITIES for x in _band(p[q]))))
            for p in values["pieces"]
        ]
        temperatures = _number(values["charge_core_c"]), _number(values["charge_wall_c"])
        rows.append(_insert("charge", (time, *temperatures, *_band(values["wall_left_mm"]), _number(values["pco"]))))
    except (KeyError, TypeError, ValueError) as error:
        raise RecordError(
            "bad-prediction",
            f"The prediction at {time_s} s does not have the expected form ({type(error).__name__}: {error}).",
            "See prediction_rows in soak/record/statements.py for the keys.",
        ) from error
    return rows


def closing_rows(time_s: float, ended: str, summary: Mapping[str, Any]) -> list[Row]:
    """The closing row, and the profiles that the summary's `pieces` hold, in place of earlier ones."""
    values = (1, _time(time_s, "closing"), _text(ended), to_text(summary, "summary"))
    try:
        profiles = [_insert("profile_final", point) for point in _profiles(summary)]
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise RecordError(
            "bad-summary",
            f"The summary's profiles do not have the expected form ({type(error).__name__}: {error}).",
            'Each of `pieces` may have `profile`: a list of {"depth_mm", "carbon_pct"}.',
        ) from error
    return [_insert("closing", values, "OR REPLACE"), ("DELETE FROM profile_final", ()), *profiles]


def _profiles(summary: Mapping[str, Any]) -> Iterator[tuple[Any, ...]]:
    for index, piece in enumerate(summary.get("pieces") or ()):
        name = piece.get("piece") or f"{index + 1} {piece.get('where', '')}".strip()
        for point in piece.get("profile") or ():
            carbon = point["carbon_pct"]
            band = _band(carbon) if isinstance(carbon, Mapping) else (None, _number(carbon), None)
            yield (_text(name), _number(point["depth_mm"]), *band)


def _insert(table: str, values: tuple[Any, ...], conflict: str = "") -> Row:
    return f"INSERT {conflict} INTO {table} VALUES ({', '.join('?' * len(values))})", values


def _band(band: Mapping[str, Any] | None) -> tuple[float | None, float | None, float | None]:
    if band is None:
        return None, None, None
    return _number(band["low"]), _number(band["mid"]), _number(band["high"])


def _number(value: Any) -> float | None:
    if value is None:
        return None
    number = float(value)
    return number if math.isfinite(number) else None


def _time(value: float, what: str) -> float:
    time_s = float(value)
    if not math.isfinite(time_s):
        raise RecordError("bad-time", f"A {what} came with the time {value}; a time is a number of seconds.")
    return time_s


def _text(value: str) -> str:
    # Words from a terminal may hold bytes that are not text; they are kept visible instead of refused.
    return str(value).encode("utf-8", "backslashreplace").decode("utf-8")
