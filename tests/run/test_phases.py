"""Every pair of state and signal: legal, or it says what is wrong."""

from __future__ import annotations

from typing import get_args

import pytest

from soak.run.phases import ENDED, TABLE, Phase, Signal, after

LEGAL = {
    "idle": {"start": "running", "stop": "stopped", "trip": "aborted"},
    "running": {"hold": "held", "done": "complete", "stop": "stopped", "trip": "aborted"},
    "held": {"go-on": "running", "stop": "stopped", "trip": "aborted"},
    "complete": {},
    "stopped": {},
    "aborted": {},
}
PAIRS = [(p, s) for p in get_args(Phase) for s in get_args(Signal)]


@pytest.mark.parametrize(("phase", "signal"), PAIRS)
def test_every_pair(phase: Phase, signal: Signal) -> None:
    if signal in LEGAL[phase]:
        assert after(phase, signal) == LEGAL[phase][signal]
    else:
        with pytest.raises(ValueError, match=f"a run that is {phase} cannot take the signal {signal}"):
            after(phase, signal)


def test_the_table_has_nothing_else() -> None:
    assert len(TABLE) == sum(len(row) for row in LEGAL.values())


def test_what_has_ended_stays_ended_and_can_be_told() -> None:
    ends = {p for p in get_args(Phase) if not LEGAL[p]}
    assert set(ENDED) == ends
    assert ENDED["aborted"] == "tripped"
