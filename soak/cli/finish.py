"""What dry-run and run tell when they are over, and the exit code that goes with it."""

from __future__ import annotations

import signal
from collections.abc import Mapping
from typing import Any

from soak.cli import output as o
from soak.cli import plan_text
from soak.cli.output import Units

TRIPPED = 6


def code(ended: str, stopped_by: int | None) -> int:
    """0 complete, 6 tripped, 130 or 143 stopped by Ctrl-C or SIGTERM, 0 stopped by word."""
    if ended == "tripped":
        return TRIPPED
    if ended == "stopped" and stopped_by is not None:
        return 143 if stopped_by == signal.SIGTERM else 130
    return 0


def text(doc: Mapping[str, Any], plan: Mapping[str, Any], units: Units) -> list[str]:
    verdict = {
        "complete": "complete: the target was met" if doc["target_met"] else "complete, but the target was not met",
        "tripped": "A GUARD TRIPPED: the soak ended before its time",
        "stopped": "stopped by a person",
    }[doc["ended"]]
    lines = [doc["title"], "", verdict]
    for e in doc["events"]:
        if e["severity"] in ("trip", "alarm"):
            lines += o.wrapped(f"{o.duration(e['time_s'] / 3600.0)}: {e['text']}", "  ! ")
    lines += ["", *plan_text.headline({**doc, "target": plan["target"]}, units, "reached")]
    lines += ["", *plan_text.pieces(doc["pieces"], units), "", *plan_text.canister(doc["canister"], units), ""]
    rows: list[tuple[str, ...]] = [("segment", "to", "took", "ended on")]
    for s in doc["segments"]:
        rows.append((s["kind"], o.temperature(s["to_c"], units), o.duration(s["hours"]), s["ended_on"]))
    return [*lines, *o.table(rows), "", f"run file  {doc['run_file']}"]
