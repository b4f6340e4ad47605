"""What happened: plan against course, events, notes. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from soak.record.rows import Record
from soak.report.show import Units, clock, duration, plain_words
from soak.report.tags import Html, Part, table, tag

MOST_EVENTS = 600  # judgement: 20 printed pages; the run file has them all
_MOOD = {"info": "soft", "warning": "warn", "alarm": "bad", "trip": "bad"}
_ENDED = re.compile(r"^\w+ (\d+) ended on (.+)$")  # as soak.run.loop says it


def segments(record: Record, units: Units) -> Html:
    """Each segment of the plan: what was asked, how long it was meant to take and took, why it ended."""
    planned = record.header.plan.get("segments")
    if not isinstance(planned, list) or not planned:
        return Html("")
    ended = {}
    for e in record.events:
        if e.code == "segment-ended" and (found := _ENDED.match(e.text)):
            ended[int(found.group(1))] = (e.time_s, found.group(2))
    rows = []
    for i, s in enumerate(planned, start=1):
        if not isinstance(s, Mapping):
            continue
        begin_s = ended[i - 1][0] if i - 1 in ended else (0.0 if i == 1 else None)
        end_s, why = ended.get(i, (None, "not ended" if begin_s is not None else "not begun"))
        took = duration(end_s - begin_s) if end_s is not None and begin_s is not None else ""
        rows.append((f"{i} {s.get('kind', '')}", _asked(s, units), _meant(s), took, why))
    heads = ("segment", "to", "planned", "took", "ended on")
    return table(heads, rows, caption="The plan, and what became of it", cls="segments")


def events(record: Record) -> Html:
    """Every event, with its time since the start."""
    rows = [
        (clock(e.time_s), tag("span", e.severity, cls=_MOOD.get(e.severity, "warn")), e.text)
        for e in record.events[:MOST_EVENTS]
    ]
    parts: list[Part] = [tag("h2", "Events")]
    if not rows:
        parts.append(tag("p", "None is recorded."))
    else:
        parts.append(table(("after", "severity", "what"), rows, cls="events"))
        parts.append(tag("p", "Events as recorded: temperatures in °C. Times in h:mm:ss since the start.", cls="soft"))
    if len(record.events) > MOST_EVENTS:
        more = len(record.events) - MOST_EVENTS
        parts.append(tag("p", f"{more} more events are in the run file: soak export gives them all."))
    parts.append(tag("p", _writes(record)))
    return tag("section", *parts, id="events")


def notes(record: Record) -> Html:
    """What people saw and weighed; nothing if nobody wrote a note."""
    if not record.notes:
        return Html("")
    rows = [(n.wall.replace("T", " ")[:16], plain_words(n.kind), _values(n.values), n.text) for n in record.notes]
    body = table(("when, UTC", "kind", "values", "what was seen"), rows, cls="notes")
    return tag("section", tag("h2", "Notes"), body, id="notes")


def _asked(s: Mapping[str, Any], units: Units) -> str:
    to_c, rate = s.get("to_c"), s.get("rate_c_per_h")
    text = units.temperature_text(to_c) if isinstance(to_c, int | float) else ""
    return f"{text} at {units.rate_text(rate)}" if isinstance(rate, int | float) else text


def _meant(s: Mapping[str, Any]) -> str:
    hours = s.get("hours")
    text = duration(3600.0 * hours) if isinstance(hours, int | float) else ""
    return f"{text}, on {s['ends_on']}" if text and "ends_on" in s else text


def _writes(record: Record) -> str:
    if not record.actions:
        return "Nothing was written to a controller."
    sure = sum(a.outcome == "read back" for a in record.actions)
    return f"{len(record.actions)} writes to the controller, {sure} of them proven by reading back."


def _values(values: Mapping[str, Any]) -> str:
    return "; ".join(f"{plain_words(str(key))}: {value}" for key, value in values.items())
