"""What can go wrong in this world, by name. Pure. To add a fault, add a row to FAULTS.

A row may bend three things, each given the seconds since the fault began:
  reading   what the sensor tells the controller [degC], None for an open circuit
  power     what reaches the element [W], from what the controller asked and what full power would be
  hears     False: the controller neither hears nor answers the line any more
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from hw_sim.errors import WrongInput

Bend = Callable[[float | None, float], float | None]  # (reading degC, seconds since) -> reading degC
Gate = Callable[[float, float, float], float]  # (asked W, full W, seconds since) -> W

SHORT_C = 35.0  # a couple shorted at its head reads the head's own temperature [judgement]
HIGH_C = 1372.0  # the end of a type K table: an input that runs up-scale when its wire breaks [memory]
SLIP_C, SLIP_S = 100.0, 60.0  # a tip that slips out of the chamber: this much, over this time [judgement]


@dataclass(frozen=True, slots=True)
class Fault:
    """One kind of fault: a line for people, and what it bends."""

    text: str
    reading: Bend | None = None
    power: Gate | None = None
    hears: bool = True


def _slipped(reading_c: float | None, since_s: float) -> float | None:
    return None if reading_c is None else reading_c - SLIP_C * min(1.0, since_s / SLIP_S)


FAULTS: dict[str, Fault] = {
    "sensor-open": Fault("the thermocouple is broken, and the controller notices", reading=lambda c, s: None),
    "sensor-short": Fault("the thermocouple is shorted at its head: reads 35 degC", reading=lambda c, s: SHORT_C),
    "sensor-high": Fault("the thermocouple is broken, reads 1372 degC, no alarm bit", reading=lambda c, s: HIGH_C),
    "slip-100": Fault("the thermocouple slips out: reads 100 degC low after 60 s", reading=_slipped),
    "elements-dead": Fault("no power reaches the elements", power=lambda asked, full, s: 0.0),
    "relay-welded": Fault("full power whatever the controller asks", power=lambda asked, full, s: full),
    "silent": Fault("the controller hears and answers nothing any more", hears=False),
}


@dataclass(frozen=True, slots=True)
class Started:
    """A fault and the world's time at which it begins [s]. It does not end."""

    name: str
    at_s: float

    def __post_init__(self) -> None:
        if self.name not in FAULTS:
            raise WrongInput(f"fault {self.name!r} is not known here: write one of {', '.join(FAULTS)}")
        if not 0.0 <= self.at_s <= 1e9:
            raise WrongInput(f"fault {self.name} at {self.at_s:g} s: write a time from 0 on, as {self.name}@6h30")


_UNITS = {"h": 3600.0, "min": 60.0, "s": 1.0}
_NUMBER = r"\d+(?:\.\d+)?"


def read_time_s(text: str) -> float:
    """Seconds from "6h30", "6h", "1.5h", "90min", "3600s" or "3600". Raises WrongInput."""
    clock = re.fullmatch(r"(\d+)h([0-5]?\d)(?:min)?", text)
    if clock:
        return 3600.0 * int(clock[1]) + 60.0 * int(clock[2])
    plain = re.fullmatch(rf"({_NUMBER})(h|min|s)?", text)
    if plain:
        return float(plain[1]) * _UNITS[plain[2] or "s"]
    raise WrongInput(f"time {text!r} is not read here: write 6h30, 90min, 3600s or 3600 (seconds)")


def read_fault(text: str) -> Started:
    """A fault with its start from "sensor-open@6h30". Raises WrongInput."""
    name, at, time = text.partition("@")
    if not at:
        raise WrongInput(f"fault {text!r} has no start: write NAME@TIME, as {name or 'sensor-open'}@6h30")
    return Started(name, read_time_s(time))


class Faults:
    """The faults of one world, in the order in which they were given; each bends what the one before left."""

    def __init__(self, started: tuple[Started, ...] = ()) -> None:
        self._all = list(started)

    def add(self, fault: Started) -> None:
        """One more."""
        self._all.append(fault)

    def next_start_s(self, now_s: float) -> float | None:
        """The first start after now, so that no step runs across it."""
        return min((f.at_s for f in self._all if f.at_s > now_s), default=None)

    def active(self, now_s: float) -> tuple[str, ...]:
        """Names of those that have begun."""
        return tuple(f.name for f in self._all if f.at_s <= now_s)

    def reading(self, true_c: float, now_s: float) -> float | None:
        """What the sensor tells [degC], None when open."""
        told: float | None = true_c
        for f in self._all:
            bend = FAULTS[f.name].reading
            if bend is not None and f.at_s <= now_s:
                told = bend(told, now_s - f.at_s)
        return told

    def power_w(self, asked_w: float, full_w: float, now_s: float) -> float:
        """What reaches the element [W]."""
        given = asked_w
        for f in self._all:
            gate = FAULTS[f.name].power
            if gate is not None and f.at_s <= now_s:
                given = gate(given, full_w, now_s - f.at_s)
        return given

    def hears(self, now_s: float) -> bool:
        """Whether the controller hears the line."""
        return all(FAULTS[f.name].hears for f in self._all if f.at_s <= now_s)
