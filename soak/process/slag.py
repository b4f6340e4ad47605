"""Slag in old iron: its iron oxide burns carbon that reaches it. Pure.

FeO + C = Fe + CO. The share of the oxide that can be reduced is a drawn unknown; that share goes as fast as carbon
arrives, within about an hour (judgement; no rate was found). Carbon that is lost leaves as gas: blisters.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from soak.sources import Sourced

Array = NDArray[np.float64]

CARBON_PER_FEO = Sourced(0.1672, "kg/kg", "FeO + C = Fe + CO", "12.011 / 71.844", "computed")
TIME = Sourced(3600.0, "s", "austenite with carbon beside slag", "reaction is quick beside a soak", "judgement")


def step(carbon: Array, left: Array, active: NDArray[np.bool_], dt: float) -> tuple[Array, Array]:
    """Carbon and reducible oxide after dt.

    Args:
        carbon: mass fraction, shape (member, piece, n).
        left: FeO that can still be reduced, mass fraction, same shape.
        active: whether the piece is hot enough, broadcasts.
        dt: step [s].

    Returns: the new carbon, and the FeO reduced in this step (carbon lost is CARBON_PER_FEO times that).

    >>> c, eaten = step(np.full((1, 1, 1), 0.005), np.full((1, 1, 1), 0.01), np.ones((1, 1, 1), bool), 1e9)
    >>> round(float(c[0, 0, 0]), 4), round(float(eaten[0, 0, 0]), 4)
    (0.0033, 0.01)
    """
    want = left * (-np.expm1(-dt / TIME.value)) * active
    reduced = np.minimum(want, np.maximum(carbon, 0.0) / CARBON_PER_FEO.value)
    return carbon - CARBON_PER_FEO.value * reduced, reduced
