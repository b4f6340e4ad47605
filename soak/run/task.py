"""What a run is about, and what comes out of it, as frozen data. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from soak.job.target import Target
from soak.process.charge import Charge
from soak.process.state import State
from soak.run import ahead, guards
from soak.run.follow import EVERY_TICK, Pace
from soak.run.ideal import Table
from soak.run.phases import Ended, Phase
from soak.segments import Plan, Segment
from soak.trace import Event, Reading


@dataclass(frozen=True, slots=True)
class Task:
    """What a run is about; nothing in it changes while time passes. `cooling` is the oven's power-off table."""

    charge: Charge
    plan: Plan
    target: Target
    cooling: Table
    thresholds: guards.Thresholds
    pace: Pace = EVERY_TICK
    tick_s: float = 60.0
    slow_tick_s: float | None = None  # once the power is off and the oven is below SLOW_C
    attended: bool = False


@dataclass(frozen=True, slots=True)
class Done:
    """One segment that has ended: which, when, and why."""

    segment: Segment
    begin_s: float
    end_s: float
    why: str

    @property
    def hours(self) -> float:
        return (self.end_s - self.begin_s) / 3600.0


@dataclass(frozen=True, slots=True)
class View:
    """What can be seen after a tick; `news`: what happened since the last view."""

    time_s: float
    phase: Phase
    index: int
    reading: Reading | None
    state: State
    look: ahead.Look | None
    news: tuple[Event, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """How it ended. target_met: the hold ended on carbon. at_heat_s, power_off_s: None if that never came."""

    state: State
    ended: Ended
    target_met: bool
    time_s: float
    done: tuple[Done, ...]
    events: tuple[Event, ...]
    at_heat_s: float | None
    power_off_s: float | None
