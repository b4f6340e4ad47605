"""From a segment and the time to the setpoint that should stand now, and whether it is worth a write. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from soak.segments import Plan, Segment

AHEAD_MOST_C = 60.0  # the setpoint never runs further ahead of the oven than this
THERE_C = 2.0  # a ramp has arrived this close to its end


@dataclass(frozen=True, slots=True)
class Pace:
    """How often the setpoint may be written: seconds apart, degC apart. Zero seconds: at every tick, for no cost."""

    interval_s: float = 0.0
    change_c: float = 0.0


def pace_for(plan: Plan, interval_s: float, change_c: float, per_run: int) -> Pace:
    """Coarsen the steps so that all ramps of the plan fit in four fifths of the writes allowed."""
    rises = 0.0
    at_c = 20.0
    for s in plan.segments:
        if s.kind == "ramp":
            rises += abs(s.to_c - at_c)
        if s.kind != "cool":
            at_c = s.to_c
    return Pace(interval_s, max(change_c, rises / (0.8 * per_run)))


def wanted(segment: Segment, begin_c: float, elapsed_s: float, lead_s: float, oven_c: float | None) -> float:
    """The setpoint for this moment [degC]; `lead_s` looks ahead so that a staircase straddles the line.

    >>> wanted(Segment("ramp", 950.0, "temperature", 3.1, 300.0), 20.0, 3600.0, 0.0, None)
    320.0
    """
    if segment.kind != "ramp" or segment.rate_c_per_h is None:
        return segment.to_c
    moved = segment.rate_c_per_h * (elapsed_s + lead_s) / 3600.0
    if segment.to_c >= begin_c:
        value = min(begin_c + moved, segment.to_c)
        return value if oven_c is None else min(value, max(oven_c + AHEAD_MOST_C, begin_c))
    return max(begin_c - moved, segment.to_c)


def worth_writing(pace: Pace, asked_c: float | None, asked_s: float, value_c: float, now_s: float, last: bool) -> bool:
    """Whether `value_c` should be written now. `last`: it is where the segment ends, so small steps count too."""
    if asked_c is None:
        return True
    if value_c == asked_c or now_s - asked_s < pace.interval_s:
        return False
    return last or abs(value_c - asked_c) >= pace.change_c


def arrived(segment: Segment, begin_c: float, oven_c: float | None) -> bool:
    """A ramp ends on temperature: the oven is there."""
    if oven_c is None:
        return False
    return oven_c >= segment.to_c - THERE_C if segment.to_c >= begin_c else oven_c <= segment.to_c + THERE_C
