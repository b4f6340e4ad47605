"""From a segment and the time to the setpoint that should stand now, and whether it is worth a write. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from soak.segments import Plan, Segment

AHEAD_MOST_C = 60.0  # the setpoint never runs further ahead of the oven than this (or two coarse steps)
THERE_C = 2.0  # a ramp has arrived this close to its end


@dataclass(frozen=True, slots=True)
class Pace:
    """How often the setpoint may be written: seconds apart, degC apart. Zero seconds: at every tick, for no cost."""

    interval_s: float = 0.0
    change_c: float = 0.0

    def lead_s(self, tick_s: float) -> float:
        """How far to look ahead so that a staircase straddles the line; without spacing: to the next tick."""
        return 0.5 * self.interval_s if self.interval_s > 0.0 else tick_s


EVERY_TICK = Pace()


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


def wanted(
    segment: Segment,
    begin_c: float,
    elapsed_s: float,
    oven_c: float | None,
    pace: Pace = EVERY_TICK,
    tick_s: float = 0.0,
) -> float:
    """The setpoint for this moment [degC].

    >>> wanted(Segment("ramp", 950.0, "temperature", 3.1, 300.0), 20.0, 3600.0, None)
    320.0
    """
    if segment.kind != "ramp" or segment.rate_c_per_h is None:
        return segment.to_c
    moved = segment.rate_c_per_h * (elapsed_s + pace.lead_s(tick_s)) / 3600.0
    if segment.to_c < begin_c:
        value = max(begin_c - moved, segment.to_c)
    else:
        value = min(begin_c + moved, segment.to_c)
        if oven_c is not None:
            value = min(value, max(oven_c + max(AHEAD_MOST_C, 2.0 * pace.change_c), begin_c))
    # no step smaller than the controller is worth may remain at the end
    return segment.to_c if abs(segment.to_c - value) < pace.change_c else value


def worth_writing(pace: Pace, asked_c: float | None, asked_s: float, value_c: float, now_s: float) -> bool:
    """Whether `value_c` should be written now, `asked_c` having been written at `asked_s`."""
    if asked_c is None:
        return True
    if value_c == asked_c or now_s - asked_s < pace.interval_s:
        return False
    return abs(value_c - asked_c) >= pace.change_c


def arrived(segment: Segment, begin_c: float, oven_c: float | None) -> bool:
    """A ramp ends on temperature: the oven is there."""
    if oven_c is None:
        return False
    return oven_c >= segment.to_c - THERE_C if segment.to_c >= begin_c else oven_c <= segment.to_c + THERE_C
