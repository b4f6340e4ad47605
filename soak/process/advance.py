"""One reading further: advance(charge, state, reading) -> (state, events). Pure: no clock, file, port or chance.

Readings are gathered and the physics is stepped on a fixed grid of 60 s, up to 300 s while the oven holds still. Every
user of the model goes through here: planning, dry run, run, resume, re-analysis.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soak.physics import energizer
from soak.physics.activity import A1_K, acm
from soak.physics.diffusion import step as diffuse
from soak.physics.diffusivity import austenite_at, austenite_coefficients
from soak.physics.scaling import rate as scaling_rate
from soak.process import boundary, gas, heat
from soak.process.charge import Charge
from soak.process.state import ARRAYS, ZERO_C, State, Window
from soak.trace import Event, Reading

Array = NDArray[np.float64]

GRID_S = 60.0


def advance(charge: Charge, state: State, reading: Reading) -> tuple[State, tuple[Event, ...]]:
    """The state after this reading, and what happened.

    Between two readings the temperature is taken as a straight line. A reading without a temperature tells nothing:
    the line goes on to the next one that has it.
    """
    measured = reading.charge_c if charge.measured == "charge" else reading.oven_c
    if measured is None:
        return state, ()
    now_s, now_k = reading.time_s, measured + ZERO_C
    window = state.window
    if window is None:
        return replace(state, window=Window(now_s, now_k, now_s, now_k)), ()
    if now_s <= window.last_s:
        return state, ()
    events: list[Event] = []
    boundary_s = (window.last_s // GRID_S + 1.0) * GRID_S
    slope = (now_k - window.last_k) / (now_s - window.last_s)
    while boundary_s <= now_s:
        window = _gather(window, boundary_s, window.last_k + slope * (boundary_s - window.last_s))
        length = window.last_s - window.begin_s
        if length >= charge.longest_s or abs(window.last_k - window.begin_k) > charge.still_k:
            state, more = _step(charge, replace(state, window=window))
            events.extend(more)
            window = Window(boundary_s, window.last_k, boundary_s, window.last_k)
        boundary_s += GRID_S
    return replace(state, window=_gather(window, now_s, now_k)), tuple(events)


def settle(charge: Charge, state: State) -> tuple[State, tuple[Event, ...]]:
    """Step over what is gathered but not yet stepped: the end of a trace."""
    w = state.window
    if w is None or w.last_s <= w.begin_s:
        return state, ()
    state, events = _step(charge, state)
    return replace(state, window=Window(w.last_s, w.last_k, w.last_s, w.last_k)), events


def _gather(window: Window, time_s: float, kelvin: float) -> Window:
    area = window.area + 0.5 * (window.last_k + kelvin) * (time_s - window.last_s)
    return Window(window.begin_s, window.begin_k, time_s, kelvin, area)


def _step(charge: Charge, state: State) -> tuple[State, tuple[Event, ...]]:
    """The physics over the gathered window. One member's NaN would poison the stacked systems of all: should anything
    go wrong the step is made again member by member, and those that stay wrong are frozen.
    """
    try:
        after = _physics(charge, state)
        sound = bool(_finite(after).all())
    except FloatingPointError:
        sound = False
    events: list[Event] = []
    if not sound:
        after, fresh = _one_by_one(charge, state)
        if fresh:
            text = f"{fresh} of {charge.members} members went wrong and were frozen; the band leaves them out"
            events.append(Event(after.time_s, "member-frozen", "warning", text))
    hottest = float(after.piece_k[0].max())
    for name, above in OUT_OF_RANGE:
        if hottest > above and name not in after.out:
            after = replace(after, out=after.out | {name})
            text = f"{name}: used above {above - ZERO_C:.0f} degC, where it was not checked"
            events.append(Event(after.time_s, "out-of-range", "warning", text))
    return after, tuple(events)


def _finite(state: State) -> NDArray[np.bool_]:
    sums = state.carbon.sum(axis=(1, 2)) + state.nodes.sum(axis=1) + state.growth + state.co + state.catalyst
    finite: NDArray[np.bool_] = np.isfinite(sums)
    return finite


def _one_by_one(charge: Charge, state: State) -> tuple[State, int]:
    """The step for each member alone. Returns the state, and how many members were frozen that were not before."""
    parts = []
    fresh = 0
    for i in range(charge.members):
        before = state.member(i)
        try:
            after = _physics(charge.member(i), before)
            good = bool(_finite(after)[0])
        except FloatingPointError:
            good = False
        if not good:
            fresh += int(before.weight[0] > 0.0)
            after = replace(before, weight=np.zeros(1))
        parts.append(after)
    merged: dict[str, Any] = {name: np.concatenate([getattr(part, name) for part in parts]) for name in ARRAYS}
    window = state.window
    assert window is not None
    return replace(state, time_s=window.last_s, **merged), fresh


def _physics(charge: Charge, state: State) -> State:
    """The laws over the gathered window, all members at once."""
    window = state.window
    assert window is not None
    dt = window.last_s - window.begin_s
    oven_k = window.area / dt + charge.offset_k
    if charge.measured == "charge":
        nodes = np.broadcast_to(oven_k[:, None], state.nodes.shape).copy()
        piece_k = np.broadcast_to(oven_k[:, None], state.piece_k.shape).copy()
        mean_k = piece_k
    else:
        nodes = heat.step(charge.heat, state.nodes, state.peak, oven_k, dt)
        piece_k = nodes @ charge.heat.at.T
        mean_k = 0.5 * (state.piece_k + piece_k)
    pack_k = nodes[:, 1:] @ charge.heat.ring_volume / charge.heat.ring_volume.sum()

    lime = np.maximum(state.lime, energizer.lime_converted(pack_k))
    volatile = np.maximum(state.volatile, gas.volatile_released(pack_k))
    made = charge.gas.lime_mol * (lime - state.lime) + charge.gas.volatile_mol * (volatile - state.volatile)
    barium = state.barium
    if charge.gas.barium_mol > 0.0:
        given = gas.barium_made(charge.gas, barium, state.co, pack_k, dt)
        barium, made = barium - given, made + given
    co = gas.step(charge.gas, state.co, made, pack_k, dt)
    decay = energizer.decay_rate(charge.energizer, pack_k)
    catalyst = np.where(state.catalyst > 1.0, 1.0 + (state.catalyst - 1.0) * np.exp(-decay * dt), state.catalyst)

    felt = 1.0 + (catalyst - 1.0) * energizer.heat_factor(charge.energizer, pack_k)

    carbon, trend, carbon_in = state.carbon, state.trend, state.carbon_in
    if mean_k.max() > A1_K.value:
        # below A1 nothing moves; carbon above the Acm line stands as cementite and does not speed up diffusion
        kelvin = mean_k[..., None]
        limit, at = acm(kelvin), austenite_coefficients(kelvin)
        speed = np.where(kelvin > A1_K.value, charge.diffusivity[:, None, None], 0.0)
        carbon, taken = diffuse(
            state.carbon,
            state.trend,
            dt,
            charge.grid,
            lambda w: speed * austenite_at(np.clip(w, 0.0, limit), at),
            boundary.close(charge, mean_k, 0.5 * (state.co + co), felt),
        )
        trend = (carbon - state.carbon) / dt
        carbon_in = state.carbon_in + taken
    growth = state.growth + scaling_rate(charge.material, nodes[:, 0]) * charge.scaling * dt

    return replace(
        state,
        time_s=window.last_s,
        carbon=carbon,
        trend=trend,
        carbon_in=carbon_in,
        nodes=nodes,
        peak=np.maximum(state.peak, nodes),
        piece_k=piece_k,
        co=co,
        lime=lime,
        volatile=volatile,
        barium=barium,
        catalyst=catalyst,
        growth=growth,
    )


# upper ends of the ranges in which the laws were checked (their own modules say the same)
OUT_OF_RANGE = (
    ("carbon activity and diffusivity", 1150.0 + ZERO_C),
    ("pack conductivity", 1100.0 + ZERO_C + 20.0),
)
