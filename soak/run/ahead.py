"""What the carbon will be after the coming cool-down: the same fold, on member 0 and an ideal power-off. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from soak.job.target import Target
from soak.physics.activity import A1_K
from soak.process.advance import advance, settle
from soak.process.charge import Charge
from soak.process.outcome import reached
from soak.process.state import ZERO_C, State
from soak.run.ideal import Table, cooled
from soak.trace import Reading

LONGEST_S = 24 * 3600.0
TICK_S = 120.0
STEP_K, STEP_S = 20.0, 600.0  # coarser than the fold's own 6 K and 300 s: the hold's end stayed within a minute
SOONEST_S, LATEST_S, FIRST_S = 60.0, 7200.0, 300.0


@dataclass(frozen=True, slots=True)
class Look:
    """One look ahead: when, the carbon the slowest piece will have, when to look again, when it will be enough."""

    time_s: float
    carbon: float
    next_s: float
    enough_s: float | None = None


def after_cooling(charge: Charge, state: State, cooling: Table, target: Target) -> float:
    """Central estimate of what the target speaks of, for the slowest piece, once everything is below A1.

    Args:
        charge, state: with one member.
        cooling: the oven's power-off table (degC, degC/h).
        target: where the carbon is asked for.

    Returns: mass fraction.
    """
    charge = replace(charge, still_k=STEP_K, longest_s=STEP_S, behind_k=math.inf, watch_grain=False)
    state, _ = settle(charge, state)
    if state.window is None:
        return float(reached(charge, state, target)[0, : charge.work].min())
    time_s, oven_c = state.window.last_s, state.window.last_k - ZERO_C
    end_s = time_s + LONGEST_S
    while time_s < end_s and (state.piece_k[0].max() > A1_K.value or oven_c + ZERO_C > A1_K.value):
        time_s += TICK_S
        oven_c = cooled(cooling, oven_c, TICK_S)
        state, _ = advance(charge, state, Reading(time_s, oven_c, charge_c=oven_c))
    return float(reached(charge, state, target)[0, : charge.work].min())


def look(charge: Charge, state: State, cooling: Table, target: Target, now_s: float, last: Look | None) -> Look:
    """Look ahead now, and say when the next look is due.

    Uptake slows with time, so a straight line through the last two looks arrives too early, never too late: going nine
    tenths of the way to it and looking again closes in from below, at most LATEST_S at a time and SOONEST_S at last.
    """
    carbon = after_cooling(charge, state, cooling, target)
    if last is None or now_s <= last.time_s:
        return Look(now_s, carbon, now_s + FIRST_S)
    gain = (carbon - last.carbon) / (now_s - last.time_s)
    if gain <= 0.0:
        return Look(now_s, carbon, now_s + FIRST_S)
    left_s = max(0.0, (target.carbon - carbon) / gain)
    return Look(now_s, carbon, now_s + min(max(0.9 * left_s, SOONEST_S), LATEST_S), now_s + left_s)
