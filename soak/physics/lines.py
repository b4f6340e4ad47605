"""Diffusion along many parallel lines at once, each from a surface node to a line of symmetry. Pure.

A few nodes must do, because a section has lines of them in both directions. So the scheme is compact: what a cell
holds is counted with a parabola through its node and the two beside it, and the flux across a face is put right by how
fast it changes, h^2/24 of the next derivative. On even nodes that is fourth order; 10 nodes do better than 31 without.
Nodes come first in the arrays, lines after, so that the elimination goes down all lines side by side; it goes from
the centre to the surface, so that the surface node is known as w = p + q J before anything else is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soak.physics.diffusion import GAMMA, Close

Array = NDArray[np.float64]

EXTRAPOLATE = (1.0 - GAMMA) / GAMMA  # SDIRK2: the second stage starts from the first one drawn out by this


@dataclass(frozen=True, slots=True)
class Axis:
    """Geometry along one direction of some pieces, n nodes each. Shapes (piece, n), the last three (piece, n - 1).

    depth [m] below the surface; volume [m] between the middles of the gaps beside a node; content [m]: what carbon at
    that node adds to the line (sums to the half thickness, and is what balances against the flux).
    link [1/m]: 1 / gap. inward, outward [m]: how the content of the cells before and behind a gap depends on the
    carbon across it.
    """

    depth: Array
    volume: Array
    content: Array
    link: Array
    inward: Array
    outward: Array

    @property
    def half(self) -> Array:
        """Length from the surface to the line of symmetry [m], shape (piece,)."""
        return self.depth[:, -1]


def axis(half: float, nodes: int, first: float) -> Axis:
    """Nodes whose gaps grow by one factor from the surface inward.

    Args:
        half: from the surface to the line of symmetry [m].
        nodes: how many, both ends included; at least 4.
        first: gap at the surface [m]; less if even gaps would be less than 1.25 times this.

    >>> a = axis(0.003, 10, 40e-6)
    >>> round(float(a.depth[0, 1]) * 1e6, 3), round(float(a.content.sum()) * 1e3, 12)
    (40.0, 3.0)
    """
    gap = _gaps(half, nodes - 1, first)
    depth = np.append(0.0, np.cumsum(gap))
    depth[-1] = half
    inward, outward = gap / 24.0, gap / 24.0  # the flux, put right by its own rate of change
    inward[0] += gap[0] / 8.0  # the half cell at the surface: a straight line does
    outward[-1] += gap[-1] / 24.0  # the half cell at the centre: a parabola with its top there
    before, behind = gap[:-1], gap[1:]
    tilt, bend = (behind**2 - before**2) / 8.0, (behind**3 + before**3) / 24.0
    outward[:-1] += (bend - tilt * behind) / (before * (before + behind))
    inward[1:] += (bend + tilt * before) / (behind * (before + behind))
    volume = np.append(0.5 * gap, 0.0) + np.append(0.0, 0.5 * gap)
    content = volume + np.append(0.0, inward - outward) - np.append(inward - outward, 0.0)
    return Axis(depth[None], volume[None], content[None], 1.0 / gap[None], inward[None], outward[None])


def _gaps(half: float, count: int, first: float) -> Array:
    """`count` gaps, the first `first` wide (if that can be), each wider than the last by one factor, in all `half`."""
    first = min(first, 0.8 * half / count)
    low, high = 1.0, half / first
    for _ in range(80):  # halving: the sum grows with the factor
        factor = 0.5 * (low + high)
        low, high = (factor, high) if first * (factor ** np.arange(count)).sum() < half else (low, factor)
    return np.asarray(first * low ** np.arange(count), dtype=np.float64)


def stack(axes: Sequence[Axis]) -> Axis:
    """Several pieces with equal node counts as one, shapes (piece, n)."""
    return Axis(*(np.concatenate([getattr(a, name) for a in axes]) for name in Axis.__slots__))


@dataclass(frozen=True, slots=True)
class Factors:
    """The lines' equations, eliminated once for as many stages as share them. Shapes (n or n - 1, ..., piece, line)."""

    a: float
    volume: Array
    inward: Array
    outward: Array
    up: Array
    down: Array
    pivot: Array  # its inverse
    reach: Array  # q of w_surface = p + q J


def room(size: int) -> Array:
    """Room for two sets of factors of lines with so many nodes in all. One piece: the C library gives small freed
    pieces back to the system at once, and fetching them again for every step took as long as the arithmetic."""
    return np.empty((2, 6, size))


def factor(along: Axis, d: Array, dt: float, into: Array) -> Factors:
    """Sets up and eliminates the lines' equations for steps of dt [s].

    Args:
        d: diffusivity [m2/s], shape (n, ..., piece, line).
        into: where to write, shape (6, d.size), see `room`.
    """
    a = GAMMA * dt
    volume, inward, outward, up, down, pivot = (x.reshape(d.shape) for x in into)
    inward, outward, up, down = inward[1:], outward[1:], up[1:], down[1:]
    for wide, narrow in ((volume, along.volume), (inward, along.inward), (outward, along.outward)):
        wide[:] = _first(narrow, d.ndim)  # written out in full, which the stages go over faster
    flow = _between(d)
    flow *= a * _first(along.link, d.ndim)
    np.subtract(inward, flow, out=up)
    back = outward - flow
    pivot[:] = volume
    pivot[:-1] -= up
    pivot[1:] -= back
    np.divide(1.0, pivot[-1], out=pivot[-1])
    for i in range(len(d) - 2, -1, -1):
        up[i] *= pivot[i + 1]
        np.multiply(back[i], pivot[i + 1], out=down[i])
        back[i] *= up[i]
        pivot[i] -= back[i]
        np.divide(1.0, pivot[i], out=pivot[i])
    return Factors(a, volume, inward, outward, up, down, pivot, a * pivot[0])


def march(lines: Factors, carbon: Array, close: Close) -> tuple[Array, Array]:
    """One step of every line, SDIRK2 (two stages) with the diffusivity of `lines`.

    Args:
        carbon: mass fraction, shape (n, ..., piece, line).
        close: given p, q of shape (..., piece, line) returns the flux J [m/s] with w_surface = p + q J.

    Returns: the new carbon, and what came in through the end of each line [m], shape (..., piece, line).
    """
    first, flux_1 = _stage(lines, carbon, close)
    first -= carbon
    first *= EXTRAPOLATE
    first += carbon
    last, flux_2 = _stage(lines, first, close)
    return last, lines.a * (EXTRAPOLATE * flux_1 + flux_2)


def _stage(lines: Factors, known: Array, close: Close) -> tuple[Array, Array]:
    """Solve content(w) = content(known) + a (fluxes of w + J at the surface) for w and J."""
    across = known[1:] - known[:-1]
    w = lines.volume * known
    w[:-1] += lines.inward * across
    across *= lines.outward
    w[1:] -= across
    part = np.empty_like(w[0])
    for i in range(len(w) - 2, -1, -1):
        np.multiply(lines.up[i], w[i + 1], out=part)
        w[i] -= part
    w *= lines.pivot
    flux = close(w[0], lines.reach)
    w[0] += lines.reach * flux
    for i in range(len(w) - 1):
        np.multiply(lines.down[i], w[i], out=part)
        w[i + 1] -= part
    return w, flux


def _between(d: Array) -> Array:
    """Mean of D over the carbon between neighbours, to fourth order if D grows exponentially with carbon, as it nearly
    does: the logarithmic mean of the two, d (1 - r^2/12) with d their plain mean and r their difference over it."""
    mean = d[1:] + d[:-1]
    mean *= 0.5
    apart = d[1:] - d[:-1]
    apart *= apart
    apart /= np.maximum(12.0 * mean, 1e-300)  # below A1 there is no diffusion at all
    mean -= apart
    return np.asarray(mean)


def _first(values: Array, ndim: int) -> Array:
    """From (piece, n) to (n, 1, ..., piece, 1) with ndim axes."""
    return values.T.reshape(values.shape[1], *(1,) * (ndim - 3), values.shape[0], 1)
