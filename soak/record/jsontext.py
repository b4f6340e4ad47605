"""Values as strict JSON text and back, and a plan as JSON. Pure.

Numbers that are not finite become null: JSON has no word for them.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

from soak.errors import RecordError
from soak.segments import Plan, Segment


def plain(value: Any, where: str = "value") -> Any:
    """`value` as what JSON knows: mappings, lists, text, numbers, true, false, null. Arrays become lists."""
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): plain(inner, f"{where}.{key}") for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner, f"{where}[{index}]") for index, inner in enumerate(value)]
    if hasattr(value, "tolist"):  # arrays and their scalars, without importing numpy for it
        return plain(value.tolist(), where)
    raise RecordError(
        "not-json",
        f"{where} is a {type(value).__name__}; a run file keeps text, numbers, lists and tables.",
        "Turn it into text or numbers before it is recorded.",
    )


def to_text(value: Any, where: str = "value") -> str:
    """`value` as compact JSON."""
    return json.dumps(plain(value, where), allow_nan=False, separators=(",", ":"))


def plan_as_json(plan: Plan) -> dict[str, Any]:
    """A plan as JSON: `limit_c` and `segments` by the names of soak.segments; no upper bound of a hold is null."""
    return {
        "limit_c": plan.limit_c,
        "segments": [
            {
                "kind": s.kind,
                "to_c": s.to_c,
                "ends_on": s.ends_on,
                "hours": s.hours,
                "rate_c_per_h": s.rate_c_per_h,
                "least_h": s.least_h,
                "greatest_h": s.greatest_h if math.isfinite(s.greatest_h) else None,
            }
            for s in plan.segments
        ],
    }


def plan_from_json(document: Mapping[str, Any]) -> Plan:
    """The plan that `plan_as_json` wrote; other keys beside it are left alone. Raises RecordError where keys miss."""
    try:
        segments = tuple(
            Segment(
                kind=s["kind"],
                to_c=s["to_c"],
                ends_on=s["ends_on"],
                hours=s["hours"],
                rate_c_per_h=s["rate_c_per_h"],
                least_h=s["least_h"],
                greatest_h=math.inf if s["greatest_h"] is None else s["greatest_h"],
            )
            for s in document["segments"]
        )
        return Plan(segments, document["limit_c"])
    except (KeyError, TypeError) as error:
        raise RecordError(
            "run-broken",
            f"The plan kept with this run cannot be read: {error} is missing or not a table.",
            "Plan the job again from the job text, which the run file holds too.",
        ) from error
