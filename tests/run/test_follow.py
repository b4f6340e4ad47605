"""From segment and time to setpoint; and the staircase that spares a controller's memory."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soak.run.follow import AHEAD_MOST_C, EVERY_TICK, Pace, arrived, pace_for, wanted, worth_writing
from soak.segments import Plan, Segment

RAMP = Segment("ramp", 950.0, "temperature", 3.1, 300.0)
TICK_S = 15.0
HOLD = Segment("hold", 950.0, "carbon", 4.0, greatest_h=8.0)
COOL = Segment("cool", 60.0, "temperature", 10.0)
DOWN = Segment("ramp", 700.0, "temperature", 1.0, 250.0)


def test_a_hold_stands() -> None:
    assert wanted(HOLD, 20.0, 1234.0, 300.0) == 950.0


def test_a_ramp_climbs_at_its_rate_and_stops_at_its_end() -> None:
    assert wanted(RAMP, 20.0, 0.0, None) == 20.0
    assert wanted(RAMP, 20.0, 3600.0, None) == 320.0
    assert wanted(RAMP, 20.0, 1e6, None) == 950.0


def test_without_spacing_it_looks_one_tick_ahead_else_half_a_step() -> None:
    # so that the oven is where the line is when the tick is over, and a staircase straddles the line
    assert wanted(RAMP, 20.0, 0.0, None, EVERY_TICK, tick_s=60.0) == 25.0
    assert wanted(RAMP, 20.0, 0.0, None, Pace(interval_s=120.0), tick_s=60.0) == 25.0


def test_a_ramp_down() -> None:
    assert wanted(DOWN, 950.0, 3600.0, None) == 700.0
    assert wanted(DOWN, 950.0, 1800.0, 940.0) == 825.0


def test_never_far_ahead_of_an_oven_that_cannot_follow() -> None:
    assert wanted(RAMP, 20.0, 7200.0, 300.0) == 300.0 + AHEAD_MOST_C
    assert wanted(RAMP, 400.0, 0.0, 20.0) == 400.0  # but never below where the ramp began


def test_the_end_is_snapped_to() -> None:
    """No step smaller than the controller is worth may remain: else the last one would never be written."""
    pace = Pace(60.0, 5.0)
    assert wanted(RAMP, 20.0, (926.0 / 300.0) * 3600.0, None, pace) == 950.0
    assert wanted(RAMP, 20.0, (880.0 / 300.0) * 3600.0, None, pace) < 910.0


ovens = st.one_of(st.none(), st.floats(-20.0, 1200.0))


@settings(deadline=None)
@given(st.floats(20, 1100), st.floats(20, 1000), st.floats(10, 1500), st.floats(0, 1e5), ovens, st.floats(0, 600))
def test_never_above_to_c_never_more_than_sixty_ahead(
    to_c: float, begin_c: float, rate: float, elapsed_s: float, oven_c: float | None, interval_s: float
) -> None:
    pace = Pace(interval_s, 1.0)
    ramp = Segment("ramp", to_c, "temperature", 1.0, rate)
    value = wanted(ramp, begin_c, elapsed_s, oven_c, pace, 5.0)
    assert min(begin_c, to_c) <= value <= max(begin_c, to_c)
    if to_c >= begin_c:
        assert value <= to_c
        if oven_c is not None:  # the snap at the end may add less than one step
            assert value <= max(oven_c + AHEAD_MOST_C, begin_c) + pace.change_c


def test_what_is_worth_a_write() -> None:
    pace = Pace(60.0, 2.0)
    assert worth_writing(pace, None, 0.0, 25.0, 0.0)  # nothing asked yet
    assert not worth_writing(pace, 25.0, 0.0, 25.0, 600.0)  # stands already
    assert not worth_writing(pace, 25.0, 0.0, 30.0, 59.0)  # too soon
    assert worth_writing(pace, 25.0, 0.0, 30.0, 60.0)
    assert not worth_writing(pace, 25.0, 0.0, 26.9, 600.0)  # too little
    assert worth_writing(pace, 25.0, 0.0, 27.0, 600.0)
    assert worth_writing(EVERY_TICK, 25.0, 0.0, 25.01, 0.0)


def test_pace_coarsens_only_when_the_budget_asks() -> None:
    plan = Plan((RAMP, HOLD, COOL), 1000.0)
    assert pace_for(plan, 60.0, 1.0, 100_000) == Pace(60.0, 1.0)
    tight = pace_for(plan, 60.0, 1.0, 100)
    assert tight.change_c == pytest.approx(930.0 / 80.0)


@settings(deadline=None, max_examples=10)
@given(st.integers(30, 400), st.floats(100, 600), st.sampled_from([30.0, 60.0, 300.0]), st.floats(900, 1100))
def test_the_staircase_of_a_whole_plan_stays_within_the_budget(
    per_run: int, rate: float, interval_s: float, top_c: float
) -> None:
    """Dry, ramp, hold, on an oven that follows at once: fewer writes than allowed, and the line is kept to a step."""
    segments = (
        Segment("ramp", 120.0, "temperature", 1.0, rate),
        Segment("hold", 120.0, "time", 1.0),
        Segment("ramp", top_c, "temperature", 3.0, rate),
        Segment("hold", top_c, "carbon", 1.0),
    )
    pace = pace_for(Plan((*segments, COOL), top_c), interval_s, 1.0, per_run)
    writes, asked, asked_s, now, begin_c = 0, None, 0.0, 0.0, 20.0
    for s in segments:
        begin_s = now
        while True:
            value = wanted(s, begin_c, now - begin_s, asked, pace, TICK_S)
            if worth_writing(pace, asked, asked_s, value, now):
                if s.kind == "ramp":
                    on_line = min(begin_c + rate * (now - begin_s) / 3600.0, s.to_c)
                    step = pace.change_c + rate * (interval_s + TICK_S) / 3600.0
                    assert abs(value - on_line) <= step + 1e-6
                asked, asked_s, writes = value, now, writes + 1
            now += TICK_S
            assert now < 40 * 3600.0, "the setpoint stands still"
            over = arrived(s, begin_c, asked) if s.kind == "ramp" else now - begin_s >= 3600.0
            if over:
                break
        begin_c = s.to_c
    assert writes <= per_run
    assert asked == top_c  # the last step was not forgotten


def test_a_budget_of_twenty_writes_still_climbs() -> None:
    """20 writes for 930 degC make steps of 58 degC; 15 make 78, so it may run two such steps ahead."""
    pace = pace_for(Plan((RAMP, HOLD, COOL), 1000.0), 60.0, 1.0, 15)
    value = wanted(RAMP, 20.0, 1e6, 20.0, pace, TICK_S)
    assert worth_writing(pace, 20.0, 0.0, value, 1e6)


def test_a_ramp_has_arrived_two_degrees_short_of_its_end() -> None:
    assert not arrived(RAMP, 20.0, 947.9)
    assert arrived(RAMP, 20.0, 948.0)
    assert not arrived(DOWN, 950.0, 702.1)
    assert arrived(DOWN, 950.0, 702.0)
    assert not arrived(RAMP, 20.0, None)
    assert math.isclose(AHEAD_MOST_C, 60.0)
