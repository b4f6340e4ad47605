"""A state told as the document other tools read: predicted carbon, pieces, canister. Pure; keys carry their unit."""

from __future__ import annotations

from typing import Any

import numpy as np

from soak.job.canister import Canister
from soak.job.target import Target
from soak.process import outcome as read
from soak.process.charge import Charge
from soak.process.outcome import Band, band
from soak.process.state import State

LEAST_WALL_M = 0.0005  # a wall thinner than this leaks (judgement, no source found)
NOT_LIMITED = 200  # more soaks than this: oxidation does not end this canister's life


def carbon(charge: Charge, state: State, target: Target, piece: int) -> dict[str, Any]:
    """What one piece has become."""
    w = state.weight

    def show(values: Any, factor: float) -> dict[str, float]:
        return band(values[:, piece], w).scaled(factor).as_dict()

    depth_for = target.carbon if target.where == "depth" else read.CASE_CARBON
    return {
        "mean_carbon_pct": show(read.mean(charge, state), 100.0),
        "surface_carbon_pct": show(read.surface(state), 100.0),
        "centre_carbon_pct": show(read.centre(state), 100.0),
        "case_depth_mm": show(read.case_depth(charge, state, depth_for), 1000.0),
        "chance_in_tolerance": round(read.chance_in_tolerance(charge, state, target, piece), 3),
    }


def pieces(charge: Charge, state: State, target: Target, profile: bool = False) -> list[dict[str, Any]]:
    """Every piece, and if asked its carbon against depth."""
    out = []
    for i, piece in enumerate(charge.pieces):
        row: dict[str, Any] = {"piece": piece.label, "where": piece.where, "count": piece.count}
        row |= carbon(charge, state, target, i)
        if profile:
            row["profile"] = [
                {"depth_mm": round(1000.0 * float(x), 4), "carbon_pct": point.scaled(100.0).as_dict()}
                for x, point in zip(charge.grid.depth[i], profile_bands(state, i), strict=True)
            ]
        out.append(row)
    return out


def profile_bands(state: State, piece: int) -> list[Band]:
    return [band(state.carbon[:, piece, n], state.weight) for n in range(state.carbon.shape[-1])]


def predicted(charge: Charge, state: State, target: Target) -> dict[str, Any]:
    """The slowest piece, by name."""
    i = read.slowest(charge, state, target)
    return {"piece": charge.pieces[i].label} | carbon(charge, state, target, i)


def canister(charge: Charge, state: State, can: Canister) -> dict[str, Any]:
    """The wall: lost in this soak, left at the thinnest spot, soaks left after this one, chance of a breach by its end.

    Reserve: 0.5 mm, or a quarter of the new wall, whichever is more; an expendable canister gives up the quarter.
    """
    w = state.weight
    lost = read.wall_lost(charge, state)
    left = read.wall_left(charge, state)
    reserve = LEAST_WALL_M if can.expendable else max(LEAST_WALL_M, 0.25 * can.wall_m)
    with np.errstate(divide="ignore"):
        soaks = np.clip(np.floor((left - reserve) / (charge.local * lost)), 0, NOT_LIMITED)
    return {
        "wall_lost_mm": band(1000.0 * lost, w).as_dict(),
        "wall_left_mm": band(1000.0 * left, w).as_dict(),
        "soaks_left": band(np.nan_to_num(soaks, nan=NOT_LIMITED), w).as_dict(0),
        "breach_chance": round(read.breach_chance(charge, state), 3),
    }
