"""What has happened inside the canister so far, as arrays. Pure data; `advance` makes the next one.

Leading axis: member. The state is a fold over readings, so plan, run, resume and re-analysis share it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soak.physics import grain, spall
from soak.physics.gas import SEALED_AIR_CO
from soak.process.charge import Charge
from soak.process.heat import RINGS

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

ZERO_C = 273.15
ARRAYS = (
    *("carbon", "trend", "bar", "bar_trend", "bar_slag", "carbon_in", "nodes", "peak", "piece_k"),
    *("co", "lime", "volatile", "barium", "catalyst", "k_mult", "slag", "eaten", "weight"),
    *("wall_area", "wall_square", "wall_gone", "wall_hot", "broken", "breached", "grain"),
)


@dataclass(frozen=True, slots=True)
class Window:
    """Readings gathered since the last process step: where it began, the last one, the area between (K s).

    couple_k: what the couple in the pack says, where there is one.
    """

    begin_s: float
    begin_k: float
    last_s: float
    last_k: float
    area: float = 0.0
    couple_k: float | None = None


@dataclass(frozen=True, slots=True)
class State:
    """Shapes: member m, piece p (all), flat and bars (the two kinds), node n or x and y, heat node r = [wall, rings].

    carbon (m, flat, n) mass fraction; trend the same, 1/s; bar (m, bars, x, y) and bar_trend: whole sections.
    carbon_in (m, p) m: taken up, mass fraction times volume over surface; eaten (m, p) m: what slag took of it.
    slag (m, flat, n) and bar_slag (m, bars, x, y): FeO that carbon can still reduce, mass fraction.
    nodes, peak (m, r) K: temperatures now and the highest so far. piece_k (m, p): the iron's own temperature.
    co (m,): share of CO in the gas. lime, volatile (m,): share already turned to gas. barium (m,): gas left, mol.
    catalyst (m,): factor now. k_mult (m,): the pack's conductivity over its law, which a couple in the pack corrects.
    wall_area, wall_square, wall_gone (m, k) and wall_hot (m,): see spall.Wall. broken, breached (m,): an 18-8 wall that
    scales without protection; a canister that has gone through.
    grain (m, p, 3) m: austenite grain by each of three laws; it starts afresh when a piece is heated through A1.
    weight (m,): 0 where a member was frozen because it went wrong. told: what was said already.
    """

    time_s: float
    window: Window | None
    carbon: Array
    trend: Array
    bar: Array
    bar_trend: Array
    carbon_in: Array
    nodes: Array
    peak: Array
    piece_k: Array
    co: Array
    lime: Array
    volatile: Array
    barium: Array
    catalyst: Array
    k_mult: Array
    slag: Array
    bar_slag: Array
    eaten: Array
    wall_area: Array
    wall_square: Array
    wall_gone: Array
    wall_hot: Bools
    broken: Bools
    breached: Bools
    grain: Array
    weight: Array
    told: frozenset[str] = frozenset()

    def member(self, index: int) -> State:
        """The same state with one member only."""
        i = slice(index, index + 1)
        return replace(self, **{name: getattr(self, name)[i] for name in ARRAYS})


def cold(charge: Charge, start_c: float = 20.0) -> State:
    """Before anything happened: air in the pack, counted as what it becomes over hot charcoal; one temperature."""
    m, p, n = charge.members, len(charge.pieces), charge.grid.depth.shape[-1]
    carbon = np.broadcast_to(charge.start[charge.flat, None], (m, len(charge.flat), n)).copy()
    shape = (m, len(charge.bars), *(charge.section.weight.shape[1:] if charge.section is not None else (1, 1)))
    bar = np.broadcast_to(charge.start[charge.bars, None, None], shape).copy()
    kelvin = np.full((m, RINGS + 1), start_c + ZERO_C)
    one = np.ones(m)
    wall = spall.bare(m, charge.wall_lost_m)
    return State(
        time_s=0.0,
        window=None,
        carbon=carbon,
        trend=np.zeros_like(carbon),
        bar=bar,
        bar_trend=np.zeros_like(bar),
        bar_slag=np.broadcast_to(charge.slag[:, charge.bars, None, None], shape).copy(),
        carbon_in=np.zeros((m, p)),
        nodes=kelvin,
        peak=kelvin.copy(),
        piece_k=np.full((m, p), start_c + ZERO_C),
        co=np.full(m, SEALED_AIR_CO.value),
        lime=np.zeros(m),
        volatile=np.zeros(m),
        barium=one * charge.gas.barium_mol,
        catalyst=one * charge.catalyst,
        k_mult=charge.heat.multiplier,
        slag=np.broadcast_to(charge.slag[:, charge.flat, None], carbon.shape).copy(),
        eaten=np.zeros((m, p)),
        wall_area=wall.area,
        wall_square=wall.square,
        wall_gone=wall.gone,
        wall_hot=wall.hot,
        broken=np.zeros(m, dtype=np.bool_),
        breached=np.zeros(m, dtype=np.bool_),
        grain=grain.fresh((m, p)),
        weight=charge.weights,
    )
