"""Small tasks for the loop's tests, a recorder that keeps a list, a person who says what the test says."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from soak.errors import RecordError
from soak.job.target import Target
from soak.run.follow import EVERY_TICK, Pace
from soak.run.guards import Thresholds
from soak.run.task import Task
from soak.segments import Plan, Segment
from soak.trace import Event, Reading

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import OVEN, charge, job, strip

H = 3600.0


def plan(hold_c: float = 950.0, greatest_h: float = 12.0, least_h: float = 0.0, until_c: float = 700.0) -> Plan:
    """Up at 400 degC/h, hold until the carbon is in, power off."""
    return Plan(
        (
            Segment("ramp", hold_c, "temperature", (hold_c - 20.0) / 400.0, 400.0),
            Segment("hold", hold_c, "carbon", 2.0, least_h=least_h, greatest_h=greatest_h),
            Segment("cool", until_c, "temperature", 0.0),
        ),
        hold_c + 10.0,
    )


def task(
    carbon: float = 0.004,
    of: Plan | None = None,
    *,
    members: int = 1,
    tick_s: float = 60.0,
    pace: Pace = EVERY_TICK,
    attended: bool = False,
    over_c: float = 1000.0,
) -> Task:
    small = job([strip(3.0, 2)], target=Target(carbon))
    return Task(
        charge=charge(small, members, "oven"),
        plan=of or plan(),
        target=small.target,
        cooling=OVEN.cooling,
        thresholds=Thresholds(over_c=over_c),
        pace=pace,
        tick_s=tick_s,
        attended=attended,
    )


@dataclass
class Notebook:
    """A recorder (run/ports.py) in memory. `breaks_after`: from that many rows on, every row is a RecordError."""

    breaks_after: int = 10**9
    readings: list[Reading] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    actions: list[list[Any]] = field(default_factory=list)  # [time, action, value, outcome]
    predictions: list[tuple[float, Mapping[str, Any]]] = field(default_factory=list)
    rows: int = 0

    def _row(self) -> None:
        self.rows += 1
        if self.rows > self.breaks_after:
            raise RecordError("disk-full", "the disk is full", "make room")

    def reading(self, reading: Reading) -> None:
        self._row()
        self.readings.append(reading)

    def event(self, event: Event) -> None:
        self._row()
        self.events.append(event)

    def intent(self, time_s: float, action: str, value: float | None) -> int:
        self._row()
        self.actions.append([time_s, action, value, None])
        return len(self.actions) - 1

    def result(self, intent_id: int, time_s: float, outcome: str) -> None:
        self._row()
        self.actions[intent_id][3] = outcome

    def prediction(self, time_s: float, values: Mapping[str, Any]) -> None:
        self._row()
        self.predictions.append((time_s, values))

    def close(self, time_s: float, ended: str, summary: Mapping[str, Any]) -> None:
        self._row()


@dataclass
class Somebody:
    """A person (run/ports.py). `says`: what is heard at which poll; `left_s`: since when nobody is near (run time)."""

    clock: Any
    says: dict[int, tuple[str, ...]] = field(default_factory=dict)
    left_s: float | None = None
    polls: int = 0

    def heard(self) -> tuple[str, ...]:
        self.polls += 1
        return self.says.get(self.polls, ())

    def silent_s(self) -> float:
        return 0.0 if self.left_s is None else max(0.0, self.clock.now_s() - self.left_s)


def codes(events: Any) -> list[str]:
    return [e.code for e in events]
