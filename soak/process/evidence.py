"""What was found afterwards speaks for some members and against others. Pure: it only changes weights.

A melting witness (a wire, a cone) beside the work says whether the charge's core passed a temperature.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from soak.process.charge import Charge
from soak.process.outcome import Band
from soak.process.state import ZERO_C, State
from soak.sources import Sourced

Array = NDArray[np.float64]

WITNESS_SIGMA = Sourced(
    4.0, "K", "wire or cone read by eye", "purity, place in the pack, how it was looked at", "judgement"
)
# ITS-90 fixed points (memory)
WIRES_C = {"silver": 961.78, "gold": 1064.18, "copper": 1084.62}


@dataclass(frozen=True, slots=True)
class Witness:
    """It melts at melts_c [degC]; it was found molten, or not."""

    melts_c: float
    melted: bool


def weigh(charge: Charge, state: State, witnesses: tuple[Witness, ...]) -> State:
    """The state with each member weighted by how well its hottest core agrees with the witnesses.

    Weights of a state whose members all disagree come out as they were: the evidence then contradicts the model.
    """
    hottest_c = state.peak[:, -1] - ZERO_C
    weight = state.weight.copy()
    normal = NormalDist()
    for w in witnesses:
        over = np.array([normal.cdf(z) for z in (hottest_c - w.melts_c) / WITNESS_SIGMA.value])
        weight = weight * (over if w.melted else 1.0 - over)
    total = float(weight.sum())
    return replace(state, weight=weight / total) if total > 1e-6 else state


def agreed(state: State, weighed: State) -> bool:
    """Whether the evidence left anything standing."""
    return weighed is not state


def posterior(values: Array, weight: Array) -> Band:
    """10 %, 50 % and 90 % points of weighted members: with evidence the centre moves too. Shapes (member,)."""
    kept = weight > 0.0
    order = np.argsort(values[kept])
    known, share = values[kept][order], weight[kept][order]
    middle = (np.cumsum(share) - 0.5 * share) / share.sum()
    low, mid, high = np.interp([0.10, 0.50, 0.90], middle, known)
    return Band(float(low), float(mid), float(high))


def temperature_doubt_k(charge: Charge, state: State) -> float:
    """One sigma of the drawn temperature offset under the weights [K]."""
    w = state.weight / state.weight.sum()
    mean = float((w * charge.offset_k).sum())
    return float(np.sqrt((w * (charge.offset_k - mean) ** 2).sum()))
