"""What has happened inside the canister so far, as arrays. Pure data; `advance` makes the next one.

Leading axis: member. The state is a fold over readings, so plan, run, resume and re-analysis share it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soak.physics.gas import SEALED_AIR_CO
from soak.process.charge import Charge
from soak.process.heat import RINGS

Array = NDArray[np.float64]

ZERO_C = 273.15
ARRAYS = (
    *("carbon", "trend", "carbon_in", "nodes", "peak", "piece_k"),
    *("co", "lime", "volatile", "barium", "catalyst", "growth", "weight"),
)


@dataclass(frozen=True, slots=True)
class Window:
    """Readings gathered since the last process step: where it began, the last reading, and the area between, K s."""

    begin_s: float
    begin_k: float
    last_s: float
    last_k: float
    area: float = 0.0


@dataclass(frozen=True, slots=True)
class State:
    """Shapes: member m, piece p, node n, heat node r = [wall, rings].

    carbon (m, p, n) mass fraction; trend (m, p, n) 1/s; carbon_in (m, p) m: taken up, mass fraction times depth.
    nodes, peak (m, r) K: temperatures now and the highest so far. piece_k (m, p): the iron's own temperature.
    co (m,): share of CO in the gas. lime, volatile (m,): share already turned to gas. barium (m,): gas left, mol.
    catalyst (m,): factor now. growth (m,) m2: square of the metal lost on the bare wall.
    weight (m,): 0 where a member was frozen because it went wrong. out: laws called outside their range so far.
    """

    time_s: float
    window: Window | None
    carbon: Array
    trend: Array
    carbon_in: Array
    nodes: Array
    peak: Array
    piece_k: Array
    co: Array
    lime: Array
    volatile: Array
    barium: Array
    catalyst: Array
    growth: Array
    weight: Array
    out: frozenset[str] = frozenset()

    def member(self, index: int) -> State:
        """The same state with one member only."""
        i = slice(index, index + 1)
        return replace(self, **{name: getattr(self, name)[i] for name in ARRAYS})


def cold(charge: Charge, start_c: float = 20.0) -> State:
    """Before anything happened: air in the pack, counted as what it becomes over hot charcoal; one temperature."""
    m, p, n = charge.members, len(charge.pieces), charge.grid.depth.shape[-1]
    carbon = np.broadcast_to(charge.start[:, None], (m, p, n)).copy()
    kelvin = np.full((m, RINGS + 1), start_c + ZERO_C)
    one = np.ones(m)
    return State(
        time_s=0.0,
        window=None,
        carbon=carbon,
        trend=np.zeros_like(carbon),
        carbon_in=np.zeros((m, p)),
        nodes=kelvin,
        peak=kelvin.copy(),
        piece_k=np.full((m, p), start_c + ZERO_C),
        co=np.full(m, SEALED_AIR_CO.value),
        lime=np.zeros(m),
        volatile=np.zeros(m),
        barium=one * charge.gas.barium_mol,
        catalyst=one * charge.catalyst,
        growth=np.zeros(m),
        weight=charge.weights,
    )
