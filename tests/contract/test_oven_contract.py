"""What every Oven of run/ports.py must do, whatever stands behind it. A new oven is one line in OVENS."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from hw_sim.world import World
from soak.errors import Refused, SoakError
from soak.job.oven import Oven as Profile
from soak.link.modbus import Wire
from soak.link.oven import ModbusOven
from soak.run.ideal import IdealOven
from soak.run.playback import PlaybackOven
from soak.run.ports import Oven
from soak.trace import Reading

sys.path.insert(0, str(Path(__file__).parents[1] / "link"))  # the in-process line and its register layout
from slave import INT_TENTHS, InProcess

STEP_S = 60.0  # looks fall on multiples of this
LIMIT_C = 1000.0


@dataclass
class Rig:
    """An oven and how to let its world's time pass."""

    oven: Oven
    pass_time: Callable[[float], None]


def _modbus() -> Rig:
    world = World(oven="small", seed=1)
    wire = Wire(InProcess(world.answer), 1, worst_reply_s=0.001)
    return Rig(ModbusOven(wire, INT_TENTHS, LIMIT_C), world.advance)


def _ideal() -> Rig:
    profile = Profile("x", "x", 1200.0, 3000.0, (0.2, 0.2, 0.3), ramp=((20.0, 600.0),), cooling=((20.0, 100.0),))
    return Rig(IdealOven(profile), lambda seconds: None)


def _playback() -> Rig:
    readings = [Reading(n * STEP_S, 20.0 + n, 100.0, 50.0) for n in range(200)]
    return Rig(PlaybackOven(readings), lambda seconds: None)


@dataclass(frozen=True)
class Case:
    """One oven: does it take setpoints, and was it given LIMIT_C to keep to?"""

    name: str
    build: Callable[[], Rig]
    obeys: bool
    limited: bool


OVENS = (
    Case("modbus", _modbus, obeys=True, limited=True),
    Case("ideal", _ideal, obeys=True, limited=False),  # the plan it runs on has the limit
    Case("playback", _playback, obeys=False, limited=False),
)


def _name(case: Case) -> str:
    return case.name


@pytest.fixture(params=OVENS, ids=_name)
def rig(request: pytest.FixtureRequest) -> Rig:
    return request.param.build()


@pytest.fixture(params=[c for c in OVENS if c.obeys], ids=_name)
def obeying(request: pytest.FixtureRequest) -> Rig:
    return request.param.build()


@pytest.fixture(params=[c for c in OVENS if c.limited], ids=_name)
def limited(request: pytest.FixtureRequest) -> Rig:
    return request.param.build()


@pytest.fixture(params=[c for c in OVENS if not c.obeys], ids=_name)
def deaf(request: pytest.FixtureRequest) -> Rig:
    return request.param.build()


def _after(rig: Rig, begin_s: float, seconds: float) -> Reading:
    """Looks every STEP_S from begin_s (not included) for so long; the last one."""
    reading = None
    for n in range(1, round(seconds / STEP_S) + 1):
        rig.pass_time(STEP_S)
        reading = rig.oven.read(begin_s + n * STEP_S)
    assert reading is not None
    return reading


def test_a_look_carries_the_time_it_was_given_and_sane_values(rig: Rig) -> None:
    for n in range(5):
        reading = rig.oven.read(n * STEP_S)
        assert reading.time_s == n * STEP_S
        assert reading.oven_c is None or math.isfinite(reading.oven_c)
        assert reading.setpoint_c is None or math.isfinite(reading.setpoint_c)
        assert reading.output_pct is None or 0.0 <= reading.output_pct <= 100.0
        assert reading.oven_c is not None or reading.sensor_open
        rig.pass_time(STEP_S)


def test_looking_twice_changes_nothing(rig: Rig) -> None:
    assert rig.oven.read(0.0) == rig.oven.read(0.0)
    first = _after(rig, 0.0, 2 * STEP_S)
    assert rig.oven.read(first.time_s) == first


def test_the_safe_end_may_be_asked_for_at_any_time_and_twice(rig: Rig) -> None:
    rig.oven.make_safe()
    rig.oven.read(0.0)
    rig.oven.make_safe()
    rig.oven.make_safe()
    assert _after(rig, 0.0, STEP_S).time_s == STEP_S


def test_a_setpoint_stands_at_the_next_look(obeying: Rig) -> None:
    obeying.oven.read(0.0)
    obeying.oven.ask(412.3)
    assert obeying.oven.read(0.0).setpoint_c == 412.3


def test_an_oven_that_is_asked_heats_and_stays_near_what_was_asked(obeying: Rig) -> None:
    start_c = obeying.oven.read(0.0).oven_c
    obeying.oven.ask(300.0)
    warmer_c = _after(obeying, 0.0, 600.0).oven_c
    there_c = _after(obeying, 600.0, 3 * 3600.0).oven_c
    assert start_c is not None
    assert warmer_c is not None
    assert there_c is not None
    assert warmer_c > start_c + 5.0
    assert there_c == pytest.approx(300.0, abs=10.0)


def test_the_safe_end_lowers_the_setpoint_and_the_oven_falls(obeying: Rig) -> None:
    obeying.oven.read(0.0)
    obeying.oven.ask(300.0)
    hot_c = _after(obeying, 0.0, 3600.0).oven_c
    obeying.oven.make_safe()
    assert obeying.oven.read(3600.0).setpoint_c == 0.0
    later = _after(obeying, 3600.0, 3600.0)
    assert hot_c is not None
    assert later.oven_c is not None
    assert later.oven_c < hot_c
    assert later.setpoint_c == 0.0


def test_heat_may_return_after_the_safe_end(obeying: Rig) -> None:
    obeying.oven.read(0.0)
    obeying.oven.ask(300.0)
    obeying.oven.make_safe()
    cold_c = _after(obeying, 0.0, STEP_S).oven_c
    obeying.oven.ask(300.0)
    warm_c = _after(obeying, STEP_S, 1200.0).oven_c
    assert cold_c is not None
    assert warm_c is not None
    assert warm_c > cold_c + 5.0


@pytest.mark.parametrize("over_c", [0.1, 500.0, math.inf, math.nan])
def test_what_is_over_the_limit_is_refused_and_the_old_setpoint_stands(limited: Rig, over_c: float) -> None:
    limited.oven.read(0.0)
    limited.oven.ask(200.0)
    with pytest.raises(Refused):
        limited.oven.ask(LIMIT_C + over_c)
    assert limited.oven.read(0.0).setpoint_c == 200.0


def test_what_takes_no_setpoint_says_so(deaf: Rig) -> None:
    with pytest.raises(SoakError):
        deaf.oven.ask(300.0)
