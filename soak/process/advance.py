"""One reading further: advance(charge, state, reading) -> (state, events). Pure: no clock, file, port or chance.

Readings are gathered and the physics is stepped on a fixed grid of 60 s, up to 300 s while the oven holds still. Every
user of the model goes through here: planning, dry run, run, resume, re-analysis.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soak.process.charge import Charge
from soak.process.inside import parts, physics
from soak.process.outcome import breach_chance
from soak.process.state import ARRAYS, ZERO_C, State, Window
from soak.trace import Event, Reading, Severity

Array = NDArray[np.float64]

GRID_S = 60.0
HOT_K = 950.0
BREACH_TOLD = 0.10  # share of members gone through that is worth an event


def advance(charge: Charge, state: State, reading: Reading) -> tuple[State, tuple[Event, ...]]:
    """The state after this reading, and what happened.

    Between two readings the temperature is taken as a straight line. A reading without a temperature tells nothing:
    the line goes on to the next one that has it.
    """
    measured = reading.charge_c if charge.measured == "charge" else reading.oven_c
    if measured is None:
        return state, ()
    now_s, now_k = reading.time_s, measured + ZERO_C
    couple_k = reading.pack_c + ZERO_C if reading.pack_c is not None else None
    window = state.window
    if window is None:
        return replace(state, window=Window(now_s, now_k, now_s, now_k)), ()
    if now_s <= window.last_s:
        return state, ()
    events: list[Event] = []
    boundary_s = (window.last_s // GRID_S + 1.0) * GRID_S
    slope = (now_k - window.last_k) / (now_s - window.last_s)
    while boundary_s <= now_s:
        window = _gather(window, boundary_s, window.last_k + slope * (boundary_s - window.last_s), window.couple_k)
        length = window.last_s - window.begin_s
        if length >= _longest_s(charge, state, window) or abs(window.last_k - window.begin_k) > charge.still_k:
            state, more = _step(charge, replace(state, window=window))
            events.extend(more)
            window = Window(boundary_s, window.last_k, boundary_s, window.last_k, couple_k=window.couple_k)
        boundary_s += GRID_S
    return replace(state, window=_gather(window, now_s, now_k, couple_k)), tuple(events)


def _longest_s(charge: Charge, state: State, window: Window) -> float:
    """A step may be long only once the charge has followed a hot oven (by the central estimate)."""
    if charge.measured == "charge":
        return charge.longest_s
    behind_k = abs(float(state.nodes[0, -1]) - window.last_k)
    return GRID_S if window.last_k > HOT_K and behind_k > charge.behind_k else charge.longest_s


def settle(charge: Charge, state: State) -> tuple[State, tuple[Event, ...]]:
    """Step over what is gathered but not yet stepped: the end of a trace."""
    w = state.window
    if w is None or w.last_s <= w.begin_s:
        return state, ()
    state, events = _step(charge, state)
    return replace(state, window=Window(w.last_s, w.last_k, w.last_s, w.last_k)), events


def _gather(window: Window, time_s: float, kelvin: float, couple_k: float | None) -> Window:
    area = window.area + 0.5 * (window.last_k + kelvin) * (time_s - window.last_s)
    return Window(window.begin_s, window.begin_k, time_s, kelvin, area, couple_k)


def _step(charge: Charge, state: State) -> tuple[State, tuple[Event, ...]]:
    """The physics over the gathered window. One member's NaN would poison the stacked systems of all: should anything
    go wrong the step is made again member by member, and those that stay wrong are frozen.
    """
    shared = parts(charge, state)
    try:
        after = physics(charge, state, shared)
        sound = bool(_finite(after).all())
    except FloatingPointError:
        sound = False
    events: list[Event] = []
    if not sound:
        after, fresh = _one_by_one(charge, state, shared)
        if fresh:
            text = f"{fresh} of {charge.members} members went wrong and were frozen; the band leaves them out"
            events.append(Event(after.time_s, "member-frozen", "warning", text))
    after = _told(charge, after, events)
    return after, tuple(events)


def _told(charge: Charge, state: State, events: list[Event]) -> State:
    """Say once when a law leaves its range, when the canister may have gone through, when a couple taught something."""
    news: dict[str, str] = {}
    for name, value, low, high in ranges(charge, state):
        if not low <= value <= high:
            news[f"out-of-range {name}"] = (
                f"{name}: used at {value:.0f} degC, checked from {low:.0f} to {high:.0f} degC"
            )
    if state.breached[0]:
        news["breach expected"] = "by the central estimate the canister has gone through: air enters, no more carbon"
    elif state.breached.any() and breach_chance(charge, state) > BREACH_TOLD:
        chance = 100 * breach_chance(charge, state)
        news["breach possible"] = f"the canister has gone through in {chance:.0f} of 100 members: air enters there"
    for key, text in news.items():
        if key not in state.told:
            state = replace(state, told=state.told | {key})
            severity: Severity = "alarm" if key == "breach expected" else "warning"
            events.append(Event(state.time_s, key.split()[0], severity, text))
    return state


def ranges(charge: Charge, state: State) -> tuple[tuple[str, float, float, float], ...]:
    """Law, where it is used now, and the range in which it was checked [degC]; hot laws only while they count."""
    piece_c = float(state.piece_k[0].max()) - ZERO_C
    wall_c = float(state.nodes[0, 0]) - ZERO_C
    steel = charge.material == "steel"
    return (
        ("carbon activity and diffusivity", piece_c, -ZERO_C, 1150.0),
        ("pack conductance", piece_c, -ZERO_C, 1100.0),
        ("pack conductivity", piece_c, -ZERO_C, 1120.0),
        ("scaling of the canister", wall_c, -ZERO_C, 1250.0 if steel else 1200.0),
    )


def _finite(state: State) -> NDArray[np.bool_]:
    sums = state.carbon.sum(axis=(1, 2)) + state.nodes.sum(axis=1) + state.wall_square.sum(axis=1)
    sums = sums + state.co + state.catalyst + state.bar.sum(axis=(1, 2, 3))
    finite: NDArray[np.bool_] = np.isfinite(sums)
    return finite


def _one_by_one(charge: Charge, state: State, shared: int) -> tuple[State, int]:
    """The step for each member alone. Returns the state, and how many members were frozen that were not before."""
    alone = []
    fresh = 0
    for i in range(charge.members):
        before = state.member(i)
        try:
            after = physics(charge.member(i), before, shared)
            good = bool(_finite(after)[0])
        except FloatingPointError:
            good = False
        if not good:
            fresh += int(before.weight[0] > 0.0)
            after = replace(before, weight=np.zeros(1))
        alone.append(after)
    merged: dict[str, Any] = {name: np.concatenate([getattr(part, name) for part in alone]) for name in ARRAYS}
    window = state.window
    assert window is not None
    return replace(state, time_s=window.last_s, **merged), fresh
