"""Heat from the oven through the canister's wall and the pack to the pieces: a cylinder of rings. Pure.

The steel is smeared over the rings (more heat to carry, better conduction). One implicit step serves all members.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soak.job.job import Job
from soak.job.layout import inside_m
from soak.job.packing import Fit
from soak.physics import heat as law
from soak.physics.diffusion import GAMMA
from soak.physics.tridiagonal import solve

Array = NDArray[np.float64]

RINGS = 10
LONGEST_S = 120.0  # over a longer step a cold canister in a hot oven would overshoot it: 1 K at 150 s, 50 K at 300 s
BEHIND_K = 5.0  # ... by a seventh of how far it was behind; closer than this that does not matter
TABLE_K = np.arange(250.0, 1701.0, 2.0)
WALL_DENSITY = 7800.0
BRICK_DENSITY = 2000.0  # fireclay, memory
BRICK_HEAT = 1000.0


@dataclass(frozen=True, slots=True)
class HeatModel:
    """Geometry per metre of cylinder and radian; properties as tables over TABLE_K.

    capacity: dry pack and steel, J/m3K. sink: what drying and calcining add on first heating, J/m3K.
    wall_capacity: J/m2K of wall by temperature. conductivity W/mK (before the drawn multiplier, shape (member,)).
    at: shape (piece, RINGS + 1): weights that pick each piece's temperature out of [wall, outer ring ... centre].
    """

    radius_m: float
    wall_gain: float
    capacity: Array
    sink: Array
    wall_capacity: Array
    conductivity: Array
    multiplier: Array
    emissivity: float
    at: Array
    ring_volume: Array
    ring_face: Array

    def member(self, index: int) -> HeatModel:
        return replace(self, multiplier=self.multiplier[index : index + 1])


def heat_model(job: Job, fit: Fit, multiplier: Array, pieces_where: tuple[str, ...]) -> HeatModel:
    """The canister as an equivalent round one (pack_heat shape rule), with its true wall area kept."""
    can, pack = job.canister, job.pack
    width, height, length = inside_m(can)
    a, b, c = 0.5 * width, 0.5 * height, 0.5 * length
    if can.form == "pipe":
        radius = float((a**-2.0 + law.equivalent_radius(c) ** -2.0) ** -0.5)
        surface_over_volume = 2.0 / a + 1.0 / c
    else:
        radius = float(law.equivalent_radius(a, b, c))
        surface_over_volume = 1.0 / a + 1.0 / b + 1.0 / c
    phi = fit.steel_fraction
    lime = pack.energizer.get("CaCO3", 0.0) * (1.0 - pack.reuse)
    capacity = (1.0 - phi) * pack.density * law.charcoal_heat(TABLE_K) + phi * 7800.0 * law.steel_heat(TABLE_K)
    sink = (1.0 - phi) * pack.density * (lime * law.lime_sink(TABLE_K) + pack.moisture * law.water_sink(TABLE_K))
    if can.material == "fireclay":
        wall_capacity = np.full_like(TABLE_K, can.wall_m * BRICK_DENSITY * BRICK_HEAT)
    else:
        wall_capacity = can.wall_m * WALL_DENSITY * law.steel_heat(TABLE_K)
    edges = np.linspace(radius, 0.0, RINGS + 1)
    middles = 0.5 * (edges[1:] + edges[:-1])
    depth = np.concatenate(([0.0], radius - middles))
    at = np.array(
        [_pick(min(job.packing.cover_m, 0.8 * radius) if w == "wall" else radius, depth) for w in pieces_where]
    )
    return HeatModel(
        radius_m=radius,
        wall_gain=surface_over_volume * radius / 2.0,
        capacity=capacity,
        sink=sink,
        wall_capacity=wall_capacity,
        conductivity=law.pack_conductivity(TABLE_K, pack.grain_m) * (1.0 + phi) / (1.0 - phi),
        multiplier=multiplier,
        emissivity=0.8,
        at=at,
        ring_volume=middles * (radius / RINGS),
        ring_face=edges[:-1] / np.where(np.arange(RINGS) == 0, 0.5 * radius / RINGS, radius / RINGS),
    )


def _pick(target: float, depth: Array) -> Array:
    """Weights that interpolate linearly at `target` depth below the wall; beyond the last ring: the last ring."""
    weights = np.zeros(len(depth))
    j = int(np.clip(np.searchsorted(depth, target), 1, len(depth) - 1))
    share = float(np.clip((target - depth[j - 1]) / (depth[j] - depth[j - 1]), 0.0, 1.0))
    weights[j - 1], weights[j] = 1.0 - share, share
    return weights


def _table(values: Array, kelvin: Array) -> Array:
    """Linear interpolation over TABLE_K, flat outside."""
    looked: Array = np.interp(kelvin, TABLE_K, values)
    return looked


def parts_for(nodes: Array, oven_k: Array, dt: float) -> int:
    """In how many equal parts to step: more than one while the core is far behind the oven. One number for all members,
    by the central one, lest members influence each other. nodes (member, RINGS + 1) K, oven_k (member,) K, dt [s]."""
    return math.ceil(dt / LONGEST_S) if abs(oven_k[0] - nodes[0, -1]) > BEHIND_K else 1


def step(
    model: HeatModel,
    nodes: Array,
    peak: Array,
    oven_k: Array,
    dt: float,
    multiplier: Array | None = None,
    parts: int | None = None,
) -> Array:
    """Temperatures of [wall, rings from outside in] after dt, SDIRK2 as in diffusion. Shapes (member, RINGS + 1), K.

    Properties are those of the start of each stage. `peak` is the highest temperature each node has seen: water and
    lime take their heat once. `multiplier`: of the pack's conductivity, shape (member,); the model's own if None.
    `parts`: see parts_for, which is asked if None.
    """
    factor = model.multiplier if multiplier is None else multiplier
    parts = parts_for(nodes, oven_k, dt) if parts is None else parts
    a = GAMMA * dt / parts
    for _ in range(parts):
        first = _stage(model, nodes, nodes, peak, oven_k, a, factor)
        base = nodes + ((1.0 - GAMMA) / GAMMA) * (first - nodes)
        nodes = _stage(model, base, first, peak, oven_k, a, factor)
        peak = np.maximum(peak, nodes)
    return nodes


def _stage(
    model: HeatModel, known: Array, at: Array, peak: Array, oven_k: Array, dt: float, multiplier: Array
) -> Array:
    """Solve T = known + dt f(T) with the properties of temperatures `at`."""
    conductivity = _table(model.conductivity, at[:, 1:]) * multiplier[:, None]
    face = conductivity * model.ring_face
    face[:, 1:] = 0.5 * (conductivity[:, 1:] + conductivity[:, :-1]) * model.ring_face[1:]
    heat = _table(model.capacity, at[:, 1:])
    heat += np.where(at[:, 1:] >= peak[:, 1:] - 0.5, _table(model.sink, at[:, 1:]), 0.0)
    storage = np.empty_like(known)
    gain = model.radius_m * model.wall_gain
    storage[:, 0] = _table(model.wall_capacity, at[:, 0]) * (gain / dt)
    storage[:, 1:] = heat * (model.ring_volume / dt)
    exchange = law.wall_exchange(oven_k, at[:, 0], model.emissivity) * gain
    off = np.zeros_like(known)
    np.negative(face, out=off[:, :-1])
    diagonal = storage - off
    diagonal[:, 1:] -= off[:, :-1]
    diagonal[:, 0] += exchange
    right = storage * known
    right[:, 0] += exchange * oven_k
    after: Array = solve(diagonal, off, right[None])[0]
    return after
