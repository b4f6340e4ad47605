"""The laws at work over one process step: heat, gas, carbon, slag, the canister's wall. Pure.

Called by `advance` with a closed window of readings; all members at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soak.physics import diffusion, energizer, grain, scaling, section, spall
from soak.physics.activity import A1_K, acm
from soak.physics.diffusivity import austenite_at, austenite_coefficients
from soak.process import boundary, gas, heat, slag
from soak.process.charge import Charge
from soak.process.outcome import mean
from soak.process.state import State

Array = NDArray[np.float64]

LEARN_PER_S = 0.02 / 60.0  # how fast a couple in the pack moves the pack's conductivity (judgement)
LEARN_SCALE_K = 100.0
LEARN_STILL_K_PER_S = 20.0 / 3600.0  # below this nothing about conduction can be learnt


def parts(charge: Charge, state: State) -> int:
    """In how many parts heat is stepped over the window: the same for a member alone as for all."""
    window = state.window
    assert window is not None
    dt = window.last_s - window.begin_s
    return heat.parts_for(state.nodes, window.area / dt + charge.offset_k, dt)


def physics(charge: Charge, state: State, parts: int) -> State:
    """The state after the window that `state.window` holds, heat stepped in so many `parts`."""
    window = state.window
    assert window is not None
    dt = window.last_s - window.begin_s
    oven_k = window.area / dt + charge.offset_k
    if charge.measured == "charge":
        nodes = np.broadcast_to(oven_k[:, None], state.nodes.shape).copy()
        piece_k = np.broadcast_to(oven_k[:, None], state.piece_k.shape).copy()
        mean_k, k_mult = piece_k, state.k_mult
    else:
        nodes = heat.step(charge.heat, state.nodes, state.peak, oven_k, dt, state.k_mult, parts)
        piece_k = nodes @ charge.heat.at.T
        mean_k = 0.5 * (state.piece_k + piece_k)
        k_mult = _observed(state, nodes, window.couple_k, dt)
    return replace(
        state,
        time_s=window.last_s,
        nodes=nodes,
        peak=np.maximum(state.peak, nodes),
        piece_k=piece_k,
        k_mult=k_mult,
        grain=_grain(charge, state, mean_k, dt),
        **_carbon(charge, state, nodes, mean_k, dt),
        **_wall(charge, state, nodes[:, 0], dt),
    )


def _observed(state: State, nodes: Array, couple_k: float | None, dt: float) -> Array:
    """Let a couple in the middle of the pack correct the conductivity of every member: the states follow.

    Warmer than thought while heating means a better conductor, while cooling a worse one; nothing while still.
    """
    if couple_k is None:
        return state.k_mult
    moving = (nodes[:, -1] - state.nodes[:, -1]) / dt
    way = np.where(np.abs(moving) > LEARN_STILL_K_PER_S, np.sign(moving), 0.0)
    off = np.clip((couple_k - nodes[:, -1]) / LEARN_SCALE_K, -1.0, 1.0)
    learnt: Array = np.clip(state.k_mult * np.exp(LEARN_PER_S * dt * way * off), 0.2, 5.0)
    return learnt


def _carbon(charge: Charge, state: State, nodes: Array, mean_k: Array, dt: float) -> dict[str, Any]:
    """Gas, catalyst, carbon and slag after the step."""
    pack_k = nodes[:, 1:] @ charge.heat.ring_volume / charge.heat.ring_volume.sum()
    before_k = state.nodes[:, 1:] @ charge.heat.ring_volume / charge.heat.ring_volume.sum()
    lime = np.maximum(state.lime, energizer.lime_converted(pack_k))
    volatile = np.maximum(state.volatile, gas.volatile_released(pack_k))
    made = charge.gas.lime_mol * (lime - state.lime) + charge.gas.volatile_mol * (volatile - state.volatile)
    barium = state.barium
    if charge.gas.barium_mol > 0.0:
        given = gas.barium_made(charge.gas, barium, state.co, pack_k, dt)
        barium, made = barium - given, made + given
    co = gas.step(charge.gas, state.co, made, before_k, pack_k, dt)
    decay = energizer.decay_rate(charge.energizer, pack_k)
    catalyst = np.where(state.catalyst > 1.0, 1.0 + (state.catalyst - 1.0) * np.exp(-decay * dt), state.catalyst)
    out: dict[str, Any] = {"co": co, "lime": lime, "volatile": volatile, "barium": barium, "catalyst": catalyst}
    if mean_k.max() <= A1_K.value:
        return out
    felt = 1.0 + (catalyst - 1.0) * energizer.heat_factor(charge.energizer, pack_k)
    supply = boundary.Supply(mean_k, 0.5 * (state.co + co), felt, state.breached)
    out["carbon_in"], out["eaten"] = state.carbon_in.copy(), state.eaten.copy()
    if len(charge.flat):
        out |= _flat(charge, state, supply, dt, out)
    if charge.section is not None:
        out |= _bars(charge, state, supply, dt, out)
    return out


def _diffusivity(charge: Charge, kelvin: Array) -> Callable[[Array], Array]:
    """D of a carbon array. Below A1 nothing moves; carbon above Acm stands as cementite and speeds nothing up."""
    limit, at = acm(kelvin), austenite_coefficients(kelvin)
    draw = charge.diffusivity.reshape(-1, *(1,) * (kelvin.ndim - 1))
    speed = np.where(kelvin > A1_K.value, draw, 0.0)
    return lambda w: speed * austenite_at(np.clip(w, 0.0, limit), at)


def _flat(charge: Charge, state: State, supply: boundary.Supply, dt: float, sums: dict[str, Any]) -> dict[str, Any]:
    """Pieces that carburize through one depth."""
    kelvin = supply.piece_k[:, charge.flat, None]
    close = boundary.close(charge, supply, charge.flat)
    carbon, taken = diffusion.step(state.carbon, state.trend, dt, charge.grid, _diffusivity(charge, kelvin), close)
    sums["carbon_in"][:, charge.flat] += taken
    out: dict[str, Any] = {"carbon": carbon, "trend": (carbon - state.carbon) / dt}
    if charge.slag[:, charge.flat].any():
        out["carbon"], reduced = slag.step(carbon, state.slag, kelvin > A1_K.value, dt)
        out["slag"] = state.slag - reduced
        sums["eaten"][:, charge.flat] += slag.CARBON_PER_FEO.value * (reduced * charge.grid.volume).sum(axis=-1)
    return out


def _bars(charge: Charge, state: State, supply: boundary.Supply, dt: float, sums: dict[str, Any]) -> dict[str, Any]:
    """Bars and narrow strips: whole sections, corners first."""
    assert charge.section is not None
    kelvin = supply.piece_k[:, charge.bars, None, None]
    close = boundary.close(charge, supply, charge.bars, lines=True)
    carbon, taken = section.step(state.bar, state.bar_trend, dt, charge.section, _diffusivity(charge, kelvin), close)
    sums["carbon_in"][:, charge.bars] += taken
    out: dict[str, Any] = {"bar": carbon, "bar_trend": (carbon - state.bar) / dt}
    if charge.slag[:, charge.bars].any():
        out["bar"], reduced = slag.step(carbon, state.bar_slag, kelvin > A1_K.value, dt)
        out["bar_slag"] = state.bar_slag - reduced
        lost = slag.CARBON_PER_FEO.value * (reduced * charge.section.volume).sum(axis=(-2, -1))
        sums["eaten"][:, charge.bars] += lost
    return out


def _grain(charge: Charge, state: State, mean_k: Array, dt: float) -> Array:
    """Grain after the step. It does not turn back to carbon: nothing else depends on it."""
    if not charge.watch_grain or mean_k.max() <= A1_K.value:
        return state.grain
    anew = (mean_k > A1_K.value) & (state.piece_k <= A1_K.value)
    start = np.where(anew[..., None], grain.START.value, state.grain)
    return grain.step(start, mean_k, dt, mean(charge, state))


def _wall(charge: Charge, state: State, wall_k: Array, dt: float) -> dict[str, Any]:
    """The canister's wall: scale grows, and falls when it cools; a member whose thinnest spot is gone has breached."""
    rate = scaling.rate(charge.material, wall_k) * charge.scaling
    broken = state.broken
    if charge.material == "304":
        broken = broken | (wall_k > charge.breakaway_k)
        rate = rate * spall.breakaway_factor(wall_k, broken)
    if charge.wet:
        rate = rate * scaling.wet_factor(wall_k)
    before = spall.Wall(state.wall_area, state.wall_square, state.wall_gone, state.wall_hot)
    wall = spall.step(before, wall_k, rate, dt)
    left = charge.wall_m - charge.local * spall.thickest_loss(wall)
    return {
        "wall_area": wall.area,
        "wall_square": wall.square,
        "wall_gone": wall.gone,
        "wall_hot": wall.hot,
        "broken": broken,
        "breached": state.breached | (left <= 0.0),
    }
