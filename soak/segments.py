"""The plan as data: ramp, hold and cool segments. Pure; imports nothing but the standard library.

Temperatures are those of the oven, in degC; times in hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["ramp", "hold", "cool"]
EndsOn = Literal["time", "temperature", "carbon"]


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of the soak.

    ramp: the setpoint climbs (or falls) to `to_c` at `rate_c_per_h`; ends on temperature (the oven is there).
    hold: the setpoint stays at `to_c`; ends on time (`hours`) or on carbon, never before `least_h`, never after
          `greatest_h`. `hours` is what the central estimate expects.
    cool: power off (setpoint at its lowest); ends on temperature: the estimated core of the charge is below `to_c`.
    """

    kind: Kind
    to_c: float
    ends_on: EndsOn
    hours: float
    rate_c_per_h: float | None = None
    least_h: float = 0.0
    greatest_h: float = float("inf")


@dataclass(frozen=True, slots=True)
class Plan:
    """What the loop executes, and the ceiling no setpoint may pass."""

    segments: tuple[Segment, ...]
    limit_c: float

    @property
    def hours_total(self) -> float:
        return sum(s.hours for s in self.segments)

    @property
    def heat_on_h(self) -> float:
        """Hours from power on to power off."""
        return sum(s.hours for s in self.segments if s.kind != "cool")
