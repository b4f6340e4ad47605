"""The write budget alone; that the oven obeys it is in test_modbus_oven."""

from __future__ import annotations

import dataclasses

import pytest
from slave import INT_TENTHS

from soak.job.controller import Controller
from soak.link.wear import Wear, over_budget, wears


def _memory(memory: str) -> Controller:
    asked = dataclasses.replace(INT_TENTHS.signals["setpoint_asked"], memory=memory)  # type: ignore[arg-type]
    return dataclasses.replace(INT_TENTHS, signals={**INT_TENTHS.signals, "setpoint_asked": asked})


@pytest.mark.parametrize(("memory", "costs"), [("ram", False), ("nonvolatile", True), ("unknown", True)])
def test_unknown_memory_counts_as_nonvolatile(memory: str, costs: bool) -> None:
    assert wears(_memory(memory)) is costs
    assert (over_budget(_memory(memory), Wear(200, 0.0), 1.0, 20.0, 20.1) is None) is not costs


def test_the_first_write_is_free() -> None:
    assert over_budget(INT_TENTHS, Wear(), 0.0, 20.0, 20.1) is None


@pytest.mark.parametrize(
    ("wear", "time_s", "setpoint_c", "why"),
    [
        (Wear(1, 0.0), 59.0, 100.0, "the last one left 59 s ago; at least 60 s must lie between"),
        (Wear(1, 0.0), 60.0, 100.0, None),
        (Wear(1, 0.0), 60.0, 50.5, "it differs by 0.5 degC; at least 1 degC is needed"),
        (Wear(1, 0.0), 60.0, 51.0, None),
        (Wear(1, 0.0), 60.0, 49.0, None),
        (Wear(199, 0.0), 60.0, 100.0, None),
        (Wear(200, 0.0), 60.0, 100.0, "200 setpoints were written in this run; at most 200 may be"),
        (Wear(200, None), 60.0, 100.0, "200 setpoints were written in this run; at most 200 may be"),
    ],
)
def test_each_rule_and_its_near_miss(wear: Wear, time_s: float, setpoint_c: float, why: str | None) -> None:
    assert over_budget(INT_TENTHS, wear, time_s, 50.0, setpoint_c) == why


def test_a_setpoint_that_is_not_known_does_not_block() -> None:
    assert over_budget(INT_TENTHS, Wear(1, 0.0), 60.0, None, 50.0) is None
