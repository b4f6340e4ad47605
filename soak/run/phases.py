"""The states of a run as one table. Words of IEC 61512 where they fit. Pure.

A transition that is not in the table is a bug and says so.
"""

from __future__ import annotations

from typing import Literal

Phase = Literal["idle", "running", "held", "complete", "stopped", "aborted"]
Signal = Literal["start", "hold", "go-on", "done", "stop", "trip"]
Ended = Literal["complete", "stopped", "tripped"]

TABLE: dict[tuple[Phase, Signal], Phase] = {
    ("idle", "start"): "running",
    ("idle", "stop"): "stopped",
    ("idle", "trip"): "aborted",
    ("running", "hold"): "held",
    ("running", "done"): "complete",
    ("running", "stop"): "stopped",
    ("running", "trip"): "aborted",
    ("held", "go-on"): "running",
    ("held", "stop"): "stopped",
    ("held", "trip"): "aborted",
}
ENDED: dict[Phase, Ended] = {"complete": "complete", "stopped": "stopped", "aborted": "tripped"}


def after(phase: Phase, signal: Signal) -> Phase:
    """The next state.

    >>> after("running", "trip")
    'aborted'
    """
    try:
        return TABLE[phase, signal]
    except KeyError:
        raise ValueError(f"a run that is {phase} cannot take the signal {signal}") from None
