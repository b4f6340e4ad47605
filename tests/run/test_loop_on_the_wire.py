"""The loop with the real Modbus oven on the simulated world, in process: every reading and setpoint is a frame."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import pytest
from loops import H, Notebook, Somebody, codes, plan, task

from hw_sim.world import World
from soak.link.modbus import Wire
from soak.link.oven import ModbusOven
from soak.process.state import cold
from soak.run.follow import Pace
from soak.run.loop import run
from soak.run.task import Outcome, Task

sys.path.insert(0, str(Path(__file__).parents[1] / "link"))
from slave import INT_TENTHS, InProcess, Slave

CONTROLLER = dataclasses.replace(INT_TENTHS, min_interval_s=60.0, min_change_c=1.0, per_run=200)
PACE = Pace(60.0, 6.0)


class WorldClock:
    """Lets the simulated world's time pass."""

    def __init__(self, world: World) -> None:
        self._world = world

    def now_s(self) -> float:
        return self._world.time_s

    def sleep_until(self, time_s: float) -> None:
        self._world.advance(max(0.0, time_s - self._world.time_s))


def go(of: Task, *faults: str, book: Notebook | None = None, says: dict[int, tuple[str, ...]] | None = None) -> Outcome:
    world = World(oven="small", seed=1, faults=faults)
    oven = ModbusOven(Wire(InProcess(world.answer), 1, worst_reply_s=0.001), CONTROLLER, of.plan.limit_c)
    clock = WorldClock(world)
    return run(of, oven, clock, book, cold(of.charge), Somebody(clock, says or {}))


def short(carbon: float = 0.0010, **more: object) -> Task:
    """To 850 degC and little carbon, on polls of 20 s."""
    return task(carbon, plan(850.0, until_c=700.0), tick_s=20.0, pace=PACE, **more)  # type: ignore[arg-type]


def test_a_whole_run() -> None:
    book = Notebook()
    done = go(short(), book=book)
    assert (done.ended, done.target_met) == ("complete", True)
    assert [d.why for d in done.done] == ["temperature", "carbon", "temperature"]
    assert all(outcome == "read back" for *_, outcome in book.actions)
    setpoints = [v for _, a, v, _ in book.actions if a == "setpoint"]
    assert max(setpoints) == 850.0
    assert len(setpoints) <= 200
    assert max(r.oven_c for r in book.readings if r.oven_c is not None) < 865.0


@pytest.mark.parametrize(
    ("fault", "code", "says"),
    [
        ("sensor-open@1h", "sensor", "the controller reports an open sensor; look at the thermocouple"),
        (
            "relay-welded@1h",
            "over-limit",
            "above the trip at 900 degC; a relay may be welded: cut power at the isolator",
        ),
        ("elements-dead@1h", "no-rise", "and the oven rose"),
        # an open couple may read its range's very end: counted as broken, in two polls
        ("sensor-high@1h", "sensor", "the oven reads 1372 degC, outside -30 to 1372 degC"),
        ("silent@1h", "no-reply", "the oven cannot be made safe from here; cut power at the isolator"),
    ],
)
def test_each_fault_trips_its_guard(fault: str, code: str, says: str) -> None:
    book = Notebook()
    done = go(short(0.004, over_c=900.0), fault, book=book)
    trips = [e for e in done.events if e.severity == "trip"]
    assert (done.ended, done.target_met) == ("tripped", False)
    assert trips[0].code == code
    assert says in trips[0].text
    assert H < trips[0].time_s < 3 * H
    assert book.actions[-1][1] == "make-safe"
    assert done.power_off_s == trips[0].time_s


def test_a_silent_controller_warns_first_and_the_failed_end_says_what_to_do() -> None:
    book = Notebook()
    done = go(short(), "silent@1h", book=book)
    assert [(e.code, e.severity) for e in done.events[-3:]] == [
        ("no-reply", "alarm"),
        ("no-reply", "trip"),
        ("not-safe", "trip"),
    ]
    warned, tripped, unsafe = done.events[-3:]
    assert warned.text.startswith("no valid answer from the controller for 40 s (The controller at address 1")
    assert 60.0 <= tripped.time_s - H <= 80.0
    assert "The oven could not be made safe." in unsafe.text
    assert "Cut power at the isolator now, and stay until the oven falls." in unsafe.text
    assert "does not answer" in book.actions[-1][3]


def test_a_setpoint_that_fails_in_the_silence_is_recorded_as_such() -> None:
    book = Notebook()
    go(short(), "silent@1h", book=book)
    failed = [(t, a, o) for t, a, _, o in book.actions if o != "read back"]
    assert {a for _, a, _ in failed} <= {"setpoint", "make-safe"}
    assert all(t >= H for t, _, _ in failed)


def test_a_controller_that_keeps_its_own_setpoint_is_refused() -> None:
    """Local mode: the register answers the write and keeps its value. The loop stops at once."""
    slave = Slave()
    slave.stuck = {2}
    of = short()
    oven = ModbusOven(Wire(InProcess(slave.answer), 1, worst_reply_s=0.001), CONTROLLER, of.plan.limit_c)
    book, world = Notebook(), World(oven="small")
    done = run(of, oven, WorldClock(world), book, cold(of.charge))
    assert done.ended == "tripped"
    trip = next(e for e in done.events if e.code == "setpoint-refused")
    assert trip.severity == "trip"
    assert "the controller did not take 23.4 degC" in trip.text
    assert "but 0.0 degC stands" in trip.text


def test_a_person_stops_it_on_the_wire() -> None:
    book = Notebook()
    done = go(short(), book=book, says={100: ("safe",)})
    assert (done.ended, done.time_s) == ("stopped", 2000.0)
    assert book.actions[-1][1:] == ["make-safe", None, "read back"]
    assert codes(done.events)[-1] == "stopped"
