"""The shape of every soak, and how fast it may climb."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import pytest
from plans import QUICK, small

from soak.plan.segments import heating_h, ramp_rate, shape

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import PIPE


def test_the_rate_is_the_slowest_of_habit_oven_and_canister() -> None:
    assert ramp_rate(small(), 900.0) == 400.0  # habit: the oven could 500
    lame = dataclasses.replace(QUICK, ramp=((20.0, 900.0), (800.0, 300.0), (1000.0, 200.0)))
    assert ramp_rate(small(oven=lame), 900.0) == 225.0  # nine tenths of 250
    assert ramp_rate(small(oven=lame), 1000.0) == 180.0
    assert ramp_rate(small(canister=dataclasses.replace(PIPE, ramp_max_c_per_h=100.0)), 900.0) == 100.0


def test_an_oven_whose_table_dips_is_held_to_the_dip() -> None:
    dip = dataclasses.replace(QUICK, ramp=((20.0, 500.0), (600.0, 100.0), (1000.0, 500.0)))
    assert ramp_rate(small(oven=dip), 950.0) == 90.0


def test_a_dry_lute_needs_no_drying_hold() -> None:
    dry = shape(small(), 950.0, 3.0, 0.5, 6.0)
    assert [(s.kind, s.to_c) for s in dry.segments] == [("ramp", 950.0), ("hold", 950.0), ("cool", 60.0)]
    hold = dry.segments[1]
    assert (hold.ends_on, hold.hours, hold.least_h, hold.greatest_h) == ("carbon", 3.0, 0.5, 6.0)
    assert dry.limit_c == 950.0  # the hold is the hottest point, and the ceiling of every setpoint


def test_hours_before_the_carbon_hold() -> None:
    damp = shape(small(canister=dataclasses.replace(PIPE, lute_dry=False)), 950.0, 3.0, 0.0, 6.0)
    assert heating_h(damp) == pytest.approx(100 / 400 + 1.0 + 830 / 400)
    assert damp.heat_on_h == pytest.approx(heating_h(damp) + 3.0)
