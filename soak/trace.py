"""What happened, as data: readings and events. Pure; imports nothing but the standard library."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["info", "warning", "alarm", "trip"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One look at the oven. None means: no reading, never a guess.

    time_s      seconds since the run began, monotonic
    oven_c      control thermocouple, degC
    setpoint_c  the temperature asked, as the controller reports it, degC
    output_pct  heater output, 0 to 100
    charge_c    the iron's own temperature, where something measures it (a pyrometer in a forge), degC
    pack_c      a couple in the middle of the pack, where there is one: it teaches how the pack conducts, degC
    sensor_open the controller says that its sensor is open
    """

    time_s: float
    oven_c: float | None
    setpoint_c: float | None = None
    output_pct: float | None = None
    charge_c: float | None = None
    sensor_open: bool = False
    pack_c: float | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """Something worth remembering: when, which (kebab-case `code`), how bad, and a line for people."""

    time_s: float
    code: str
    severity: Severity
    text: str
