"""Carbon moving through the wall of a hollow round, a tube: from outside only, or from the bore as well. Pure.

Plugged, it is a `diffusion.Grid` like any other. Open, it has two surfaces, each closed by the same kind of law.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soak.physics.diffusion import GAMMA, Close, Diffusivity, Grid
from soak.physics.tridiagonal import solve

Array = NDArray[np.float64]

SETTLED = 1e-13  # of the carbon at the surfaces, when each waits for the other's flux


@dataclass(frozen=True, slots=True)
class Tube:
    """Open tubes: a grid per unit of their whole surface, and the share of it that is outside and in the bore.

    Shapes (piece, n), the shares (piece,). The first node is the outside, the last the bore.
    """

    grid: Grid
    outside: Array
    bore: Array


def tube_grid(outer: float, wall: float, nodes: int = 31, grading: float = 1.5) -> Grid:
    """A plugged tube, for `diffusion.step`: carbon enters from outside only, nodes crowd there.

    Args:
        outer: outer radius [m].
        wall: thickness of the wall [m], less than the radius.
        nodes: both faces of the wall included.
        grading: depth = wall * (i/(n-1))**grading.

    >>> round(float(tube_grid(0.010, 0.002).volume.sum()) * 1e3, 6)  # (10^2 - 8^2)/(2 x 10)
    1.8
    """
    return _grid(outer, wall, wall * np.linspace(0.0, 1.0, nodes) ** grading, outer)


def open_tube(outer: float, wall: float, nodes: int = 41, grading: float = 1.5) -> Tube:
    """A tube with pack in its bore, for `step` below: nodes crowd toward both faces. Arguments as `tube_grid`.

    >>> round(float(open_tube(0.010, 0.002).grid.volume.sum()) * 1e3, 6)  # half the wall
    1.0
    """
    even = np.linspace(-1.0, 1.0, nodes)
    depth = 0.5 * wall * (1.0 + np.sign(even) * (1.0 - (1.0 - np.abs(even)) ** grading))
    bore = outer - wall
    grid = _grid(outer, wall, depth, outer + bore)
    share = np.array([outer / (outer + bore)])
    return Tube(grid, share, 1.0 - share)


def _grid(outer: float, wall: float, depth: Array, per: float) -> Grid:
    """Cells between the middles of the gaps, per unit of a surface whose radius is `per`."""
    if not 0.0 < wall < outer:
        raise ValueError(
            f"tube: wall {1e3 * wall:g} mm must be more than 0 and less than the outer radius, {1e3 * outer:g} mm; "
            "a bar without a bore is a round"
        )
    face = outer - np.concatenate(([0.0], 0.5 * (depth[1:] + depth[:-1]), [wall]))
    volume = (face[:-1] ** 2 - face[1:] ** 2) / (2.0 * per)
    link = np.append(face[1:-1] / per / np.diff(depth), 0.0)
    return Grid(depth[None], volume[None], link[None])


def step(
    carbon: Array, trend: Array, dt: float, tube: Tube, diffusivity: Diffusivity, close: Close
) -> tuple[Array, Array]:
    """One time step in the wall of every open tube, as `diffusion.step` but for the second surface.

    Args:
        carbon, trend: shape (..., piece, n); dt [s]; diffusivity: D [m2/s] of an array of carbon.
        close: given p, q of shape (..., piece, 2), outside and bore, returns the flux J [m/s] with w = p + q J.

    Returns: the new profiles, and the carbon that came in per unit of the whole surface [m], shape (..., piece).
    Raises: FloatingPointError where the two surfaces do not settle, which takes a step longer than 10 wall^2/D (a week
        for 1 mm at heat), or a non-finite entry.
    """
    a = GAMMA * dt
    first, flux_1 = _stage(carbon, carbon + a * trend, a, tube, diffusivity, close)
    base = carbon + ((1.0 - GAMMA) / GAMMA) * (first - carbon)
    last, flux_2 = _stage(base, carbon + dt * trend, a, tube, diffusivity, close)
    return last, (dt - a) * flux_1 + a * flux_2


def _stage(
    known: Array, guess: Array, a: float, tube: Tube, diffusivity: Diffusivity, close: Close
) -> tuple[Array, Array]:
    """Solve w = known + a * (div(D(guess) grad w) + J at both surfaces) for w; the flux per unit of whole surface."""
    d, grid = diffusivity(guess), tube.grid
    off = np.zeros_like(known)
    np.add(d[..., :-1], d[..., 1:], out=off[..., :-1])
    off *= (-0.5 * a) * grid.link
    diagonal = grid.volume - off
    diagonal[..., 1:] -= off[..., :-1]
    right = np.zeros((3, *known.shape))
    np.multiply(grid.volume, known, out=right[0])
    right[1, ..., 0], right[2, ..., -1] = a * tube.outside, a * tube.bore
    p, outside, bore = solve(diagonal, off, right)
    ends = (..., [0, -1])
    own = np.stack([outside[..., 0], bore[..., -1]], axis=-1)
    other = np.stack([bore[..., 0], outside[..., -1]], axis=-1)  # what the flux of the far surface does at this one
    flux = close(p[ends], own)
    for _ in range(200):  # through a wall that the step does not cross the far flux is nothing, and once is enough
        before, flux = flux, close(p[ends] + other * flux[..., ::-1], own)
        if np.abs(own * (flux - before)).max() < SETTLED:
            break
    else:
        raise FloatingPointError("tube: outside and bore do not settle; the step is too long for so thin a wall")
    w = p + outside * flux[..., :1] + bore * flux[..., 1:]
    return w, flux[..., 0] * tube.outside + flux[..., 1] * tube.bore
