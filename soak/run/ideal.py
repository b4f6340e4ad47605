"""An oven that does what it is asked within its limits: what planning runs on. Touches only its own temperature."""

from __future__ import annotations

import math
from bisect import bisect_right

from soak.job.oven import Oven as Profile
from soak.trace import Reading

Table = tuple[tuple[float, float], ...]
ROOM_C = 20.0


def rate_at(table: Table, oven_c: float) -> float:
    """Straight line between the points of a (degC, degC/h) table, flat outside.

    >>> rate_at(((0.0, 100.0), (100.0, 200.0)), 50.0)
    150.0
    """
    i = bisect_right(table, (oven_c, math.inf))
    if i == 0:
        return table[0][1]
    if i == len(table):
        return table[-1][1]
    (x0, y0), (x1, y1) = table[i - 1], table[i]
    return y0 + (y1 - y0) * (oven_c - x0) / (x1 - x0)


def cooled(table: Table, oven_c: float, seconds: float) -> float:
    """Temperature after falling for some seconds with the power off; below the table's lowest point the rate fades
    with the distance to the room.
    """
    low_c = table[0][0]
    left = seconds
    while left > 0.0:
        dt = min(left, 60.0)
        rate = rate_at(table, oven_c)
        if oven_c < low_c:
            rate *= (oven_c - ROOM_C) / (low_c - ROOM_C)
        oven_c = max(oven_c - rate * dt / 3600.0, min(oven_c, ROOM_C))
        left -= dt
    return oven_c


class IdealOven:
    """Reaches the setpoint at the next look, or as near as the oven's ramp and cooling tables allow."""

    def __init__(self, profile: Profile, start_c: float = ROOM_C) -> None:
        self._profile = profile
        self._time_s = 0.0
        self._oven_c = start_c
        self._setpoint_c: float | None = None

    def read(self, time_s: float) -> Reading:
        dt = time_s - self._time_s
        if dt > 0.0:
            fallen = cooled(self._profile.cooling, self._oven_c, dt)
            if self._setpoint_c is None:
                self._oven_c = fallen
            else:
                risen = self._oven_c + rate_at(self._profile.ramp, self._oven_c) * dt / 3600.0
                self._oven_c = min(max(self._setpoint_c, fallen), risen)
            self._time_s = time_s
        return Reading(time_s, self._oven_c, self._setpoint_c if self._setpoint_c is not None else 0.0)

    def ask(self, setpoint_c: float) -> None:
        self._setpoint_c = setpoint_c

    def make_safe(self) -> None:
        self._setpoint_c = None
