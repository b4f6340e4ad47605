"""Takes the solver through time as the process does, for the outside checks. Touches nothing but its arguments."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from soak.physics.diffusion import Close, Grid, grid, step

Array = NDArray[np.float64]


def uniform(depth_m: float, dx_m: float) -> Grid:
    """So deep that it is as good as without end; nodes at equal distances, so that a depth asked for is a node."""
    return grid("strip", depth_m, round(depth_m / dx_m) + 1, grading=1.0)


def at(where: Grid, profile: Array, depth_m: list[float]) -> Array:
    """The profile at depths that are nodes (no interpolation, which would cost accuracy of its own)."""
    found = [int(np.argmin(np.abs(where.depth[0] - x))) for x in depth_m]
    assert np.allclose(where.depth[0][found], depth_m, rtol=1e-9)
    values: Array = profile[0][found]
    return values


def march(
    where: Grid,
    start: float | Array,
    diffusivity: Callable[[Array], Array] | float,
    close: Close,
    seconds: float,
    steps: int,
    stretch: float = 1.0,
    keep_trend: bool = True,
) -> tuple[Array, float]:
    """The profile (1, n) after `seconds` in so many steps, and the carbon that came in [m].

    stretch: times grow as (i/steps)**stretch; 1 is equal steps. The trend is kept as the process keeps it.
    """
    carbon = np.broadcast_to(np.asarray(start, dtype=float), where.depth.shape).copy()
    trend = np.zeros_like(carbon)
    came_in = 0.0
    times = seconds * np.linspace(0.0, 1.0, steps + 1) ** stretch
    law = diffusivity if callable(diffusivity) else _constant(diffusivity)
    for dt in np.diff(times):
        after, taken = step(carbon, trend, float(dt), where, law, close)
        if keep_trend:
            trend = (after - carbon) / dt
        carbon = after
        came_in += float(taken[0])
    return carbon, came_in


def _constant(value: float) -> Callable[[Array], Array]:
    return lambda w: np.full_like(w, value)
