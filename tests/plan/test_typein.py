"""Whole degrees and whole minutes for a front panel."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.errors import UsageError
from soak.plan.typein import Line, as_typed, in_unit, type_in
from soak.segments import Plan, Segment

PLAN = Plan(
    (
        Segment("ramp", 120.0, "temperature", 100 / 350, 350.0),
        Segment("hold", 120.0, "time", 1.0, least_h=1.0, greatest_h=1.0),
        Segment("ramp", 1020.0, "temperature", 900 / 350, 350.0),
        Segment("hold", 1020.0, "carbon", 7.6333, greatest_h=8.5),
        Segment("cool", 60.0, "temperature", 30.0),
    ),
    1025.0,
)


def test_in_degrees_celsius() -> None:
    assert type_in(PLAN, 8, "degC") == (
        Line("ramp", 120, 350, 18),  # 100 degC at 350 an hour are 17.1 min: up to the next
        Line("hold", 120, None, 60),
        Line("ramp", 1020, 350, 155),
        Line("hold", 1020, None, 458),
        Line("off", 0, None, 0),
    )


def test_in_degrees_fahrenheit() -> None:
    lines = type_in(PLAN, 5, "degF")
    assert [line.level for line in lines] == [248, 248, 1868, 1868, 0]
    assert lines[0] == Line("ramp", 248, 630, 18)  # 180 degF at 630 an hour


def test_temperatures_in_either_unit() -> None:
    assert in_unit(1000.0, "degF") == 1832.0
    assert in_unit(1000.0, "degC") == 1000.0


def test_a_panel_with_too_few_segments() -> None:
    with pytest.raises(UsageError, match="this plan needs 5 segments, the panel has 4") as caught:
        type_in(PLAN, 4, "degC")
    assert (caught.value.code, caught.value.exit_code) == ("too-few-segments", 2)
    assert "lute_dry = true" in caught.value.hint
    assert "two segments fewer" in caught.value.hint
    assert len(type_in(PLAN, 5, "degC")) == 5


def test_a_whole_hour_is_not_an_hour_and_a_minute() -> None:
    exact = Plan((Segment("hold", 900.0, "time", 4.0), Segment("cool", 60.0, "temperature", 1.0)), 900.0)
    assert type_in(exact, 2, "degC")[0].minutes == 240


def test_what_was_typed_is_a_plan_again() -> None:
    """Whole degrees and minutes, every hold ended by the clock; the cool-down as it was."""
    for unit in ("degC", "degF"):
        lines = type_in(PLAN, 8, unit)  # type: ignore[arg-type]
        typed = as_typed(PLAN, lines, unit)  # type: ignore[arg-type]
        assert [s.kind for s in typed.segments] == [s.kind for s in PLAN.segments]
        hold = typed.segments[3]
        assert (hold.ends_on, hold.hours, hold.least_h, hold.greatest_h) == ("time", 458 / 60, 458 / 60, 458 / 60)
        assert hold.to_c == pytest.approx(1020.0, abs=0.28)
        assert typed.segments[2].rate_c_per_h == pytest.approx(350.0, abs=0.3)
        assert typed.segments[-1] == PLAN.segments[-1]
        assert typed.limit_c >= max(s.to_c for s in typed.segments)


@given(st.floats(850, 1099), st.floats(20, 900), st.floats(0.1, 20), st.sampled_from(["degC", "degF"]))
def test_nothing_typed_is_shorter_or_far_off(top: float, rate: float, hours: float, unit: str) -> None:
    plan = Plan(
        (
            Segment("ramp", top, "temperature", (top - 20) / rate, rate),
            Segment("hold", top, "carbon", hours),
            Segment("cool", 60.0, "temperature", 5.0),
        ),
        1100.0,
    )
    lines = type_in(plan, 3, unit)  # type: ignore[arg-type]
    typed = as_typed(plan, lines, unit)  # type: ignore[arg-type]
    assert typed.segments[0].to_c == pytest.approx(top, abs=0.51)
    assert hours - 1e-6 <= typed.segments[1].hours <= hours + 1 / 60 + 1e-6
    assert all(isinstance(line.level, int) and isinstance(line.minutes, int) for line in lines)
    assert lines[-1] == Line("off", 0, None, 0)


def test_an_absurdly_slow_ramp_is_typed_as_one_degree_an_hour() -> None:
    slow = Plan((Segment("ramp", 100.0, "temperature", 200.0, 0.4), Segment("cool", 60.0, "temperature", 1.0)), 100.0)
    assert type_in(slow, 2, "degC")[0].rate == 1
