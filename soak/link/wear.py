"""The write budget: how often a setpoint may go to a memory that wears out. Pure; time is that of the run.

Non-volatile cells stand 100 000 writes (seen, one class of serial EEPROM); written every second that is two runs of
12 h. A setpoint that lives in RAM is free.
"""

from __future__ import annotations

from dataclasses import dataclass

from soak.job.controller import Controller


@dataclass(frozen=True, slots=True)
class Wear:
    """Setpoint writes of this run, also failed and safety ones; last_s: when the last proven one left [s]."""

    writes: int = 0
    last_s: float | None = None


def wears(controller: Controller) -> bool:
    """Whether a setpoint write costs life. Unknown memory counts as non-volatile."""
    return controller.signals["setpoint_asked"].memory != "ram"


def over_budget(
    controller: Controller, wear: Wear, time_s: float, standing_c: float | None, setpoint_c: float
) -> str | None:
    """Why this write is over the budget, or None if it may leave.

    standing_c is the setpoint that stands in the controller [degC], None if not known.
    """
    if not wears(controller):
        return None
    if wear.writes >= controller.per_run:
        return f"{wear.writes} setpoints were written in this run; at most {controller.per_run} may be"
    if wear.last_s is None:
        return None
    since_s = time_s - wear.last_s
    if since_s < controller.min_interval_s:
        return f"the last one left {since_s:g} s ago; at least {controller.min_interval_s:g} s must lie between"
    if standing_c is not None and abs(setpoint_c - standing_c) < controller.min_change_c:
        return (
            f"it differs by {abs(setpoint_c - standing_c):g} degC; at least {controller.min_change_c:g} degC is needed"
        )
    return None
