"""What a state says, in the words people use: carbon by place, case depth, wall, chances. Pure.

A band is (low, mid, high): the 10 % point, member 0, the 90 % point of the ensemble.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soak.job.target import Target
from soak.physics import section, spall
from soak.process.charge import Charge
from soak.process.state import ZERO_C, State

Array = NDArray[np.float64]

CASE_CARBON = 0.004  # case depth is measured to 0.40 % C unless the job says otherwise
LOW, HIGH = 0.10, 0.90


@dataclass(frozen=True, slots=True)
class Band:
    low: float
    mid: float
    high: float

    def scaled(self, factor: float) -> Band:
        return Band(self.low * factor, self.mid * factor, self.high * factor)

    def as_dict(self, digits: int = 4) -> dict[str, float]:
        # + 0.0: a rounded minus nothing is nothing
        return {k: round(getattr(self, k), digits) + 0.0 for k in ("low", "mid", "high")}


def band(values: Array, weight: Array) -> Band:
    """Band of one quantity over the members. values, weight: shape (member,).

    >>> band(np.array([2.0, 1.0, 3.0]), np.ones(3)).mid
    2.0
    """
    kept = weight > 0.0  # a frozen member would pull at the edge of the band
    if not kept.any():
        return Band(float("nan"), float("nan"), float("nan"))
    order = np.argsort(values[kept])
    known, share = values[kept][order], weight[kept][order]
    total = np.cumsum(share)
    low, high = np.interp([LOW, HIGH], (total - 0.5 * share) / total[-1], known)
    mid = float(values[0])
    return Band(min(float(low), mid), mid, max(float(high), mid))


def _placed(charge: Charge, flat: Array, bars: Array) -> Array:
    """Values of the flat pieces and of the bars, in the order of charge.pieces. Shapes (member, piece, ...)."""
    if not len(charge.bars):
        return flat
    out = np.empty((charge.members, len(charge.pieces), *flat.shape[2:]))
    out[:, charge.flat], out[:, charge.bars] = flat, bars
    return out


def mean(charge: Charge, state: State) -> Array:
    """Mean carbon of each piece, shape (member, piece)."""
    flat = np.einsum("mpn,pn->mp", state.carbon, charge.grid.weight)
    return flat if charge.section is None else _placed(charge, flat, section.mean(charge.section, state.bar))


def surface(charge: Charge, state: State) -> Array:
    """Surface carbon, of a bar the mean over its faces. Shape (member, piece)."""
    flat = state.carbon[..., 0]
    return flat if charge.section is None else _placed(charge, flat, section.surface(charge.section, state.bar))


def centre(charge: Charge, state: State) -> Array:
    return _placed(charge, state.carbon[..., -1], section.centre(state.bar))


def profiles(charge: Charge, state: State) -> Array:
    """Carbon at charge.depth, of a bar from the middle of its wide face in. Shape (member, piece, n)."""
    if charge.section is None:
        return state.carbon
    x, values = section.profile(charge.section, state.bar)
    bars = np.empty((charge.members, len(charge.bars), charge.depth.shape[-1]))
    for i, piece in enumerate(charge.bars):
        for m in range(charge.members):
            bars[m, i] = np.interp(charge.depth[piece], x[i], values[m, i])
    return _placed(charge, state.carbon, bars) if len(charge.flat) else bars


def at_depth(charge: Charge, state: State, depth_m: float) -> Array:
    """Carbon at a depth below the surface, shape (member, piece)."""
    carbon, x = profiles(charge, state), charge.depth
    out = np.empty(carbon.shape[:2])
    for p in range(carbon.shape[1]):
        j = int(np.clip(np.searchsorted(x[p], depth_m), 1, x.shape[1] - 1))
        share = min(1.0, (depth_m - x[p, j - 1]) / (x[p, j] - x[p, j - 1]))
        out[:, p] = carbon[:, p, j - 1] * (1.0 - share) + carbon[:, p, j] * share
    return out


def case_depth(charge: Charge, state: State, carbon: float = CASE_CARBON) -> Array:
    """Depth [m] at which the carbon has fallen to `carbon`; 0 if the surface is poorer, the centre if all is richer."""
    x, rows = charge.depth[None], profiles(charge, state)
    above = rows >= carbon
    inside = np.cumprod(above, axis=-1).sum(axis=-1)  # nodes from the surface that are richer
    j = np.clip(inside, 1, x.shape[-1] - 1)

    def take(a: Array, i: NDArray[np.int64]) -> Array:
        picked: Array = np.take_along_axis(np.broadcast_to(a, rows.shape), i[..., None], -1)[..., 0]
        return picked

    upper, lower = take(rows, j - 1), take(rows, j)
    fall = np.maximum(upper - lower, 1e-12)
    depth = take(x, j - 1) + np.clip((upper - carbon) / fall, 0.0, 1.0) * (take(x, j) - take(x, j - 1))
    value: Array = np.where(inside == 0, 0.0, np.where(inside == x.shape[-1], x[..., -1], depth))
    return value


def reached(charge: Charge, state: State, target: Target) -> Array:
    """The quantity the target speaks of, shape (member, piece)."""
    if target.where == "surface":
        return surface(charge, state)
    if target.where == "centre":
        return centre(charge, state)
    if target.where == "depth":
        return at_depth(charge, state, target.depth_m or 0.0)
    return mean(charge, state)


def slowest(charge: Charge, state: State, target: Target) -> int:
    """Index of the piece of work that is furthest behind, by the central estimate."""
    return int(np.argmin(reached(charge, state, target)[0, : charge.work]))


def chance_in_tolerance(charge: Charge, state: State, target: Target, piece: int) -> float:
    """Share of the ensemble that lands inside the target's tolerance, for one piece."""
    if target.where == "depth" and target.depth_tolerance_m is not None:
        off = case_depth(charge, state, target.carbon)[:, piece] - (target.depth_m or 0.0)
        inside = np.abs(off) <= target.depth_tolerance_m
    else:
        inside = np.abs(reached(charge, state, target)[:, piece] - target.carbon) <= target.tolerance
    total = state.weight.sum()
    return float((state.weight * inside).sum() / total) if total > 0 else 0.0


def wall_lost(charge: Charge, state: State) -> Array:
    """Mean metal lost from the outside of the wall in this soak [m], shape (member,)."""
    lost: Array = spall.mean_loss(wall_of(state)) - charge.wall_lost_m
    return lost


def wall_of(state: State) -> spall.Wall:
    return spall.Wall(state.wall_area, state.wall_square, state.wall_gone, state.wall_hot)


def wall_left(charge: Charge, state: State) -> Array:
    """Wall left at the thinnest spot [m], shape (member,): the loss so far times the local factor."""
    left: Array = charge.wall_m - charge.local * spall.thickest_loss(wall_of(state))
    return left


def breach_chance(charge: Charge, state: State) -> float:
    """Share of the ensemble whose thinnest spot has gone through."""
    total = state.weight.sum()
    return float((state.weight * state.breached).sum() / total) if total > 0 else 0.0


def numbers(charge: Charge, state: State) -> dict[str, Any]:
    """One line of the carbon trace: bands per piece, charge temperatures, wall, CO. As the run file keeps it."""
    w = state.weight
    quantities = {
        "mean_carbon_pct": 100.0 * mean(charge, state),
        "surface_carbon_pct": 100.0 * surface(charge, state),
        "centre_carbon_pct": 100.0 * centre(charge, state),
        "case_depth_mm": 1000.0 * case_depth(charge, state),
    }
    core, wall = charge_c(state)
    return {
        "pieces": [
            {"piece": piece.label} | {name: band(value[:, i], w).as_dict(5) for name, value in quantities.items()}
            for i, piece in enumerate(charge.pieces)
        ],
        "charge_core_c": round(core, 2),
        "charge_wall_c": round(wall, 2),
        "wall_left_mm": band(1000.0 * wall_left(charge, state), w).as_dict(4),
        "pco": round(float(state.co[0]), 4),
    }


def charge_c(state: State) -> tuple[float, float]:
    """Central estimate of the charge's core and of its part next to the wall [degC]."""
    return float(state.nodes[0, -1]) - ZERO_C, float(state.nodes[0, 1]) - ZERO_C
