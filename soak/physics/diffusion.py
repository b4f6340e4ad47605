"""Carbon moving through a piece: nodes from the surface to the centre, second order in time. Pure.

Finite volumes with a node on the surface; SDIRK2 in time with the diffusivity extrapolated from the last two profiles.
The surface is closed by whoever calls: each stage answers with the surface node as a linear function of the flux,
w_surface = p + q J, and `close(p, q)` returns the J that its law wants. So the law is met exactly, however stiff.
Carbon is a mass fraction; J is a flux divided by density: mass fraction times metres a second.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from soak.physics.tridiagonal import solve

Array = NDArray[np.float64]
Close = Callable[[Array, Array], Array]
Diffusivity = Callable[[Array], Array]

GAMMA = 1.0 - 0.5 * 2.0**0.5  # SDIRK2, L-stable (Alexander 1977, SIAM J. Numer. Anal. 14, 1006; memory)


@dataclass(frozen=True, slots=True)
class Grid:
    """Geometry of some pieces, each with n nodes, all per unit of their surface. Shapes (piece, n).

    depth [m] of each node below the surface; volume [m] of its cell (their sum is volume / surface);
    link [1/m] face area / distance toward the next node; the last is 0.
    """

    depth: Array
    volume: Array
    link: Array

    @property
    def weight(self) -> Array:
        """Share of the piece's volume in each cell; sums to 1. Shape (piece, n)."""
        share: Array = self.volume / self.volume.sum(axis=-1, keepdims=True)
        return share


def grid(shape: Literal["strip", "round"], half: float, nodes: int = 31, grading: float = 1.5) -> Grid:
    """Nodes for one piece, crowded toward the surface.

    Args:
        shape: strip (two faces, half its thickness) or round (radius).
        half: half thickness or radius [m].
        nodes: number of nodes, surface and centre included.
        grading: depth = half * (i/(n-1))**grading; 1 is uniform.

    >>> round(float(grid("round", 0.003).volume.sum()) * 1e3, 6)  # radius / 2
    1.5
    """
    depth = half * np.linspace(0.0, 1.0, nodes) ** grading
    face = np.concatenate(([0.0], 0.5 * (depth[1:] + depth[:-1]), [half]))
    if shape == "strip":
        volume = np.diff(face)
        area = np.ones(nodes - 1)
    else:
        radius = half - face
        volume = (radius[:-1] ** 2 - radius[1:] ** 2) / (2.0 * half)
        area = radius[1:-1] / half
    link = np.append(area / np.diff(depth), 0.0)
    return Grid(depth[None], volume[None], link[None])


def stack(grids: tuple[Grid, ...]) -> Grid:
    """Several pieces with equal node counts as one grid, shapes (piece, n)."""
    if not grids:
        return Grid(*(np.zeros((0, 1)) for _ in range(3)))
    return Grid(*(np.concatenate([getattr(g, a) for g in grids]) for a in ("depth", "volume", "link")))


def step(
    carbon: Array, trend: Array, dt: float, grid: Grid, diffusivity: Diffusivity, close: Close
) -> tuple[Array, Array]:
    """One time step of dw/dt = div(D(w) grad w) in every profile.

    Args:
        carbon: mass fraction now, shape (..., piece, n).
        trend: its recent rate of change [1/s], used to extrapolate D; same shape (zeros: D lags by one stage).
        dt: step [s].
        grid: geometry, broadcast over leading axes.
        diffusivity: D [m2/s] of a profile array.
        close: given p, q of shape (..., piece) returns the flux J >= or <= 0 [m/s] with w_surface = p + q J.

    Returns: the new profiles, and the carbon that came in [m, mass fraction times depth], shape (..., piece).
        The rise of sum(volume * carbon) equals the carbon that came in, to rounding.
    """
    a = GAMMA * dt
    first, flux_1 = _stage(carbon, carbon + a * trend, a, grid, diffusivity, close)
    base = carbon + ((1.0 - GAMMA) / GAMMA) * (first - carbon)
    last, flux_2 = _stage(base, carbon + dt * trend, a, grid, diffusivity, close)
    return last, (dt - a) * flux_1 + a * flux_2


def _stage(
    known: Array, guess: Array, a: float, grid: Grid, diffusivity: Diffusivity, close: Close
) -> tuple[Array, Array]:
    """Solve w = known + a * (div(D(guess) grad w) + J at the surface) for w and J."""
    d = diffusivity(guess)
    off = np.zeros_like(known)
    np.add(d[..., :-1], d[..., 1:], out=off[..., :-1])
    off *= (-0.5 * a) * grid.link
    diagonal = grid.volume - off
    diagonal[..., 1:] -= off[..., :-1]
    right = np.empty((2, *known.shape))
    np.multiply(grid.volume, known, out=right[0])
    right[1] = 0.0
    right[1, ..., 0] = a
    p, q = solve(diagonal, off, right)
    flux = close(p[..., 0], q[..., 0])
    q *= flux[..., None]
    p += q
    return p, flux


def hold_surface(carbon: Array | float) -> Close:
    """The surface stands at this carbon (mass fraction) at once."""
    return lambda p, q: (carbon - p) / q


def constant_flux(flux: Array | float) -> Close:
    """The same flux J [m/s] whatever the surface does."""
    return lambda p, q: np.broadcast_to(np.asarray(flux, dtype=float), p.shape)


def transfer(potential: Array | float, beta: Array | float) -> Close:
    """J = beta (potential - w_surface), beta in m/s: the simple law of gas carburizing."""
    return lambda p, q: beta * (potential - p) / (1.0 + beta * q)
