"""Each guard in a whole run: a fault that trips it, at the second it must; a near miss that does not.

The true end state is read in the simulated world itself, past controller and line.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from cli_parts import Bench
from in_process import Ended, play, world_for

from hw_sim.faults import FAULTS, Fault
from soak.link import modbus
from soak.plan.choose import Planned
from soak.shop import conduct


def must_be_safe(ended: Ended) -> None:
    """Tripped, recorded, and the heat is off in truth."""
    assert ended.outcome.ended == "tripped"
    assert ended.record.closing is not None
    assert ended.record.closing.ended == "tripped"
    assert (ended.record.actions[-1].action, ended.record.actions[-1].outcome) == ("make-safe", "read back")
    assert ended.world.true()["output_pct"] == 0.0


def test_an_open_sensor_trips_at_the_second_poll(planned: Planned, tmp_path: Path) -> None:
    ended = play(planned, tmp_path, world_for("sensor-open@300s"))
    assert ended.trips == [("sensor", 305.0)]
    must_be_safe(ended)
    assert ended.record.readings[-1].sensor_open
    assert ended.record.readings[-1].oven_c is None


def test_a_sensor_at_the_very_end_of_its_range_trips_at_the_second_poll(planned: Planned, tmp_path: Path) -> None:
    ended = play(planned, tmp_path, world_for("sensor-high@1200s"))
    assert ended.trips == [("sensor", 1205.0)]
    must_be_safe(ended)


def test_a_shorted_sensor_trips_no_rise_within_a_quarter_of_an_hour(planned: Planned, tmp_path: Path) -> None:
    ended = play(planned, tmp_path, world_for("sensor-short@900s"))
    ((code, time_s),) = ended.trips
    assert code == "no-rise"
    assert 900.0 + 600.0 <= time_s <= 900.0 + 900.0
    must_be_safe(ended)


def test_a_welded_relay_trips_over_limit(planned: Planned, tmp_path: Path) -> None:
    ended = play(planned, tmp_path, world_for("relay-welded@600s"))
    ((code, time_s),) = ended.trips
    assert code == "over-limit"
    assert 1800.0 < time_s < 5000.0  # long before the plan would be as hot
    must_be_safe(ended)  # all that the controller can do; the relay itself still heats, and the event says what to do
    text = next(e.text for e in ended.record.events if e.severity == "trip")
    assert "cut power at the isolator" in text
    before_c = ended.world.true()["oven_c"]
    ended.world.advance(60.0)
    assert ended.world.true()["oven_c"] > before_c


def test_dead_elements_trip_no_rise(planned: Planned, tmp_path: Path) -> None:
    ended = play(planned, tmp_path, world_for("elements-dead@300s"))
    ((code, time_s),) = ended.trips
    assert code == "no-rise"
    assert 300.0 + 600.0 <= time_s <= 300.0 + 1200.0  # the output has to climb first
    must_be_safe(ended)


def test_a_silent_controller_trips_after_a_minute_and_a_person_must_act(planned: Planned, tmp_path: Path) -> None:
    ended = play(planned, tmp_path, world_for("silent@300s"))
    assert ended.trips == [("no-reply", 360.0), ("not-safe", 360.0)]
    assert ended.alarms == ["no-reply"]
    assert ended.outcome.ended == "tripped"
    texts = [e.text for e in ended.record.events if e.severity == "trip"]
    assert all("ut power at the isolator" in text for text in texts)
    assert "cannot be made safe from here" in texts[0]
    action = ended.record.actions[-1]
    assert action.action == "make-safe"
    assert "could not be made safe" in (action.outcome or "")
    assert ended.world.true()["output_pct"] > 0.0  # this is why a person must


# near misses: the same faults, ended a moment before they trip


def over_by(margin_c: float, seconds: float) -> Fault:
    return Fault("reads high for a while", reading=lambda c, s: c + margin_c if c is not None and s < seconds else c)


def open_for(seconds: float) -> Fault:
    return Fault("open for a while", reading=lambda c, s: None if s < seconds else c)


def dead_for(seconds: float) -> Fault:
    return Fault("no power for a while", power=lambda asked, full, s: 0.0 if s < seconds else asked)


def test_one_open_poll_is_no_trip_two_are(planned: Planned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(FAULTS, "blink", open_for(5.0))
    ended = play(planned, tmp_path, world_for("blink@300s", "sensor-open@600s"))
    assert [r.time_s for r in ended.record.readings if r.sensor_open] == [300.0, 600.0, 605.0]
    assert ended.trips == [("sensor", 605.0)]
    assert ended.record.predictions[-1].time_s >= 590.0  # the carbon was counted through the gap


def test_four_polls_over_the_limit_are_no_trip_five_are(
    planned: Planned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(FAULTS, "over-20", over_by(900.0, 20.0))
    monkeypatch.setitem(FAULTS, "over-25", over_by(900.0, 25.0))
    ended = play(planned, tmp_path, world_for("over-20@300s", "over-25@600s"))
    limit_c = planned.plan.limit_c + 25.0
    assert [r.time_s for r in ended.record.readings if (r.oven_c or 0.0) > limit_c] == [
        *(300.0 + 5.0 * n for n in range(4)),
        *(600.0 + 5.0 * n for n in range(5)),
    ]
    assert ended.trips == [("over-limit", 620.0)]


def test_power_that_comes_back_a_minute_before_is_no_trip(
    planned: Planned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(FAULTS, "lazy", dead_for(900.0))
    ended = play(planned, tmp_path, world_for("lazy@300s", "sensor-open@1800s"))
    full = [r.time_s for r in ended.record.readings if (r.output_pct or 0.0) >= 95.0 and r.time_s <= 1200.0]
    assert 480.0 <= full[-1] - full[0] < 600.0
    assert ended.trips == [("sensor", 1805.0)]


def test_fifty_five_silent_seconds_are_an_alarm_and_no_trip(planned: Planned, tmp_path: Path) -> None:
    world = world_for("sensor-open@600s")

    def answer(frame: bytes) -> bytes:
        return b"" if 300.0 <= world.time_s <= 355.0 else world.answer(frame)

    ended = play(planned, tmp_path, world, answer)
    times = [r.time_s for r in ended.record.readings]
    assert [b - a for a, b in pairwise(times) if b - a > 5.0] == [65.0]
    assert ended.alarms == ["no-reply"]
    assert ended.trips == [("sensor", 605.0)]


def test_ten_silent_seconds_are_nothing(planned: Planned, tmp_path: Path) -> None:
    world = world_for("sensor-open@600s")

    def answer(frame: bytes) -> bytes:
        return b"" if 300.0 <= world.time_s <= 305.0 else world.answer(frame)

    ended = play(planned, tmp_path, world, answer)
    assert ended.alarms == []
    assert ended.trips == [("sensor", 605.0)]


def test_a_line_lost_between_setpoint_and_start_is_no_trip(planned: Planned, tmp_path: Path) -> None:
    """The first setpoint stands, the rest is silence for 20 s, and the ramp has moved on: no write is due for 60 s."""
    world = world_for("sensor-open@600s")
    heard: list[bytes] = []

    def answer(frame: bytes) -> bytes:
        heard.append(frame)
        first = next((i for i, f in enumerate(heard) if f[1] == 16), len(heard))  # the write, then its read-back
        return b"" if len(heard) > first + 2 and world.time_s < 20.0 else world.answer(frame)

    ended = play(planned, tmp_path, world, answer)
    assert ended.trips == [("sensor", 605.0)]
    first = [a for a in ended.record.actions if a.action == "setpoint"][:6]
    assert len({a.value for a in first[:5]}) == 1  # the same again, each tick, until it is proven
    assert [a.outcome == "read back" for a in first] == [False, False, False, False, True, True]
    assert first[5].time_s - first[4].time_s >= 60.0


def test_a_sensor_that_breaks_upward_while_all_is_cold_ends_no_segment(planned: Planned, tmp_path: Path) -> None:
    """1372 degC for four polls would end the ramp, and promise carbon enough: the run would be "complete" in ten
    minutes, with the target met."""
    ended = play(planned, tmp_path, world_for("sensor-high@600s"))
    assert [e.code for e in ended.record.events] == ["segment", "sensor"]
    assert ended.trips == [("sensor", 605.0)]
    assert not ended.outcome.target_met
    must_be_safe(ended)


# and through the command line: exit code, words, run file

TRIPS = {
    "sensor-open@5min": ("sensor", 305.0, 305.0, "the controller reports an open sensor"),
    "sensor-high@5min": ("sensor", 305.0, 305.0, "the oven reads 1372 degC, outside -30 to 1372 degC"),
    "elements-dead@5min": ("no-rise", 900.0, 1500.0, "and the oven rose"),
    "silent@5min": ("no-reply", 360.0, 360.0, "cut power at the isolator"),
}


@pytest.mark.parametrize("fault", TRIPS)
def test_a_tripped_dry_run_leaves_with_6(bench: Bench, fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    code, soonest_s, latest_s, told = TRIPS[fault]
    if fault.startswith("silent"):  # each silent poll costs real time: fewer of them, asked once
        monkeypatch.setattr(conduct, "DRY_POLL_S", 30.0)
        monkeypatch.setattr(modbus, "READ_TRIES", replace(modbus.READ_TRIES, value=1))
    answer = bench("dry-run", bench.job(), "--fault", fault, "--json")
    document = answer.document()
    assert (answer.code, document["ended"], document["target_met"]) == (6, "tripped", False)
    trip = next(e for e in document["events"] if e["severity"] == "trip")
    assert trip["code"] == code
    assert soonest_s <= trip["time_s"] <= latest_s
    assert told in trip["text"]
    shown = bench("show", "last", "--json").document()
    assert shown["ended"] == "tripped"
    assert shown["summary"]["events"] == document["events"]
