"""A plan as whole degrees and whole minutes for a front panel that somebody types in. Pure.

A typed program ends on the clock, not on carbon: what it will give is predicted for just these numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from soak.errors import UsageError
from soak.segments import Plan, Segment

Unit = Literal["degC", "degF"]


@dataclass(frozen=True, slots=True)
class Line:
    """One segment as typed: where to, how fast (degrees an hour; None for a hold), how long (minutes)."""

    kind: str
    level: int
    rate: int | None
    minutes: int


def in_unit(celsius: float, unit: Unit) -> float:
    return celsius if unit == "degC" else 1.8 * celsius + 32.0


def type_in(plan: Plan, segments: int, unit: Unit) -> tuple[Line, ...]:
    """The program, last line power off.

    Raises UsageError when the panel has too few segments.
    """
    heated = [s for s in plan.segments if s.kind != "cool"]
    if len(heated) + 1 > segments:
        text = f"this plan needs {len(heated) + 1} segments, the panel has {segments}"
        raise UsageError(
            "too-few-segments",
            text,
            "dry the lute beforehand and say lute_dry = true in the canister: two segments fewer",
        )
    lines = []
    at = round(in_unit(20.0, unit))
    for s in heated:
        level = round(in_unit(s.to_c, unit))
        if s.kind == "ramp" and s.rate_c_per_h:
            rate = max(1, round(s.rate_c_per_h * (1.0 if unit == "degC" else 1.8)))
            lines.append(Line("ramp", level, rate, math.ceil(60.0 * abs(level - at) / rate)))
        else:
            lines.append(Line("hold", level, None, math.ceil(60.0 * s.hours - 1e-9)))
        at = level
    return (*lines, Line("off", 0, None, 0))


def as_typed(plan: Plan, lines: tuple[Line, ...], unit: Unit) -> Plan:
    """The plan that the typed program makes: whole degrees and minutes, every hold ended by the clock."""
    out: list[Segment] = []
    for s, line in zip(plan.segments, lines, strict=True):
        if s.kind == "cool":
            out.append(s)
            continue
        to_c = float(line.level) if unit == "degC" else (line.level - 32.0) / 1.8
        hours = line.minutes / 60.0
        if s.kind == "ramp" and line.rate:
            out.append(replace(s, to_c=to_c, rate_c_per_h=line.rate / (1.0 if unit == "degC" else 1.8), hours=hours))
        else:
            out.append(replace(s, to_c=to_c, ends_on="time", hours=hours, least_h=hours, greatest_h=hours))
    return Plan(tuple(out), max(plan.limit_c, *(s.to_c for s in out)))
