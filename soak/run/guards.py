"""Guards: what must not go on. Pure functions, one tuple; each sees every poll and keeps a small memory of its own.

This is supervision, not a safety function: it shares its sensor and its wire with the control it watches.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from soak.trace import Reading


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What the guards compare with. range_c: of the probe. over_c: plan maximum plus a margin. Seconds and degC."""

    range_c: tuple[float, float] = (-30.0, 1372.0)
    over_c: float = 1125.0
    full_pct: float = 95.0
    full_s: float = 600.0
    rise_c: float = 5.0
    silent_warn_s: float = 10.0
    silent_trip_s: float = 60.0
    silent_polls: int = 3
    ramp_grace_h: float = 1.0  # a ramp may take twice its time and this much more


@dataclass(frozen=True, slots=True)
class Look:
    """One poll as the guards see it: a reading, or None when nothing valid came back; why, if so."""

    time_s: float
    reading: Reading | None
    heating: bool
    silence: str = ""


@dataclass(frozen=True, slots=True)
class Memory:
    """How long and how often a condition has held, and where it began."""

    since_s: float | None = None
    polls: int = 0
    value: float = 0.0
    told: bool = False


@dataclass(frozen=True, slots=True)
class Finding:
    """`action` trip: to the safe end state. warn: say it once."""

    code: str
    action: Literal["warn", "trip"]
    text: str
    hint: str


Verdict = tuple[Memory, Finding | None]
Guard = Callable[[Thresholds, Memory, Look], Verdict]


def sensor(t: Thresholds, m: Memory, look: Look) -> Verdict:
    """Sensor open, or a reading outside what the probe can give: 2 polls in a row."""
    r = look.reading
    if r is None:
        return m, None
    low, high = t.range_c
    if r.sensor_open or r.oven_c is None:
        what, hint = "the controller reports an open sensor", "look at the thermocouple and its terminals"
    elif not low <= r.oven_c < high:  # an open couple may read its range's very end
        what = f"the oven reads {r.oven_c:.0f} degC, outside {low:.0f} to {high:.0f} degC"
        hint = "the thermocouple is broken, shorted or reversed: look at it and its terminals"
    else:
        return Memory(), None
    m = replace(m, polls=m.polls + 1)
    return m, Finding("sensor", "trip", what, hint) if m.polls >= 2 else None


def over_limit(t: Thresholds, m: Memory, look: Look) -> Verdict:
    """Hotter than the plan's ceiling and its margin: 5 polls in a row."""
    r = look.reading
    if r is None or r.oven_c is None:
        return m, None
    if r.oven_c <= t.over_c:
        return Memory(), None
    m = replace(m, polls=m.polls + 1)
    if m.polls < 5:
        return m, None
    text = f"the oven reads {r.oven_c:.0f} degC, above the trip at {t.over_c:.0f} degC"
    return m, Finding("over-limit", "trip", text, "a relay may be welded: cut power at the isolator if it climbs on")


def no_rise(t: Thresholds, m: Memory, look: Look) -> Verdict:
    """Full output for ten minutes and no rise, while the setpoint is still above."""
    r = look.reading
    if r is None or r.oven_c is None or r.output_pct is None:
        return m, None
    short = r.setpoint_c is not None and r.oven_c < r.setpoint_c - t.rise_c
    if not look.heating or r.output_pct < t.full_pct or not short:
        return Memory(), None
    if m.since_s is None or r.oven_c >= m.value + t.rise_c:
        return Memory(since_s=look.time_s, value=r.oven_c), None
    lasted = look.time_s - m.since_s
    if lasted < t.full_s:
        return m, None
    text = f"output {r.output_pct:.0f} % for {lasted / 60:.0f} min and the oven rose {r.oven_c - m.value:.1f} degC"
    return m, Finding("no-rise", "trip", text, "look at elements, relay, fuse and door")


def no_reply(t: Thresholds, m: Memory, look: Look) -> Verdict:
    """No valid answer from the controller: warn after 10 s and 3 polls, trip after 60 s."""
    if look.reading is not None:
        return Memory(), None
    since = look.time_s if m.since_s is None else m.since_s
    m = replace(m, since_s=since, polls=m.polls + 1)
    lasted = look.time_s - since
    hint = "cut power at the isolator; then look at plug, cable and adapter"
    if lasted >= t.silent_trip_s and m.polls >= t.silent_polls:
        text = f"no valid answer from the controller for {lasted:.0f} s: the oven cannot be made safe from here"
        return m, Finding("no-reply", "trip", text, hint)
    if lasted >= t.silent_warn_s and m.polls >= t.silent_polls and not m.told:
        text = f"no valid answer from the controller for {lasted:.0f} s ({look.silence})"
        return replace(m, told=True), Finding("no-reply", "warn", text, "look at plug, cable and adapter")
    return m, None


GUARDS: tuple[tuple[str, Guard], ...] = (
    ("sensor", sensor),
    ("over-limit", over_limit),
    ("no-rise", no_rise),
    ("no-reply", no_reply),
)
START: tuple[Memory, ...] = tuple(Memory() for _ in GUARDS)


def watch(t: Thresholds, memories: tuple[Memory, ...], look: Look) -> tuple[tuple[Memory, ...], tuple[Finding, ...]]:
    """All guards over one poll: their new memories and what they found."""
    verdicts = [guard(t, m, look) for (_, guard), m in zip(GUARDS, memories, strict=True)]
    return tuple(m for m, _ in verdicts), tuple(f for _, f in verdicts if f is not None)
