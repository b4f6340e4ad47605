"""What is not known, as an ensemble: one row per member, one column per unknown. Pure and repeatable.

Member 0 is the central estimate (every score 0). The others come from an additive-recurrence low-discrepancy
sequence, which can be extended: the first 64 members of 256 are the same 64.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from soak.sources import How

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Unknown:
    """One thing not known: its median, its spread and what the spread means.

    ln: value = median * exp(spread * score).  sd: value = median + spread * score.  Clipped to `within`.
    """

    name: str
    median: float
    spread: float
    kind: str
    source: str
    how: How
    within: tuple[float, float] = (-np.inf, np.inf)


TEMPERATURE_SIGMA_K = 12.0

UNKNOWNS: tuple[Unknown, ...] = (
    Unknown("pack_conductance", 1.0, float(np.log(3.0)), "ln", "char kinetics and catalyst, factor 3", "judgement"),
    Unknown("lute_leakage", 1.0, float(np.log(2.5)), "ln", "width of the crack the lute leaves", "judgement"),
    Unknown("pack_conductivity", 1.0, 0.3, "ln", "hot charcoal beds, no measurement above 100 degC", "judgement"),
    Unknown("temperature_offset_k", 0.0, TEMPERATURE_SIGMA_K, "sd", "load against control couple", "judgement"),
    Unknown("diffusivity", 1.0, 0.15, "ln", "spread of five published expressions", "computed"),
    Unknown("ln_activity", 0.0, 0.06, "sd", "spread of published activity forms", "computed"),
    # databases differ by a factor of two on what phosphorus does to carbon in austenite; no solid measurement was found
    Unknown("phosphorus", 1.0, float(np.log(2.0) / 1.2816), "ln", "two open databases", "computed", (0.3, 2.5)),
    Unknown("slag_reduced", 0.5, 0.3, "sd", "share of the slag's oxide that carbon reaches", "judgement", (0.0, 1.0)),
    # kp times or divided by 2 from centre to bound; the bound is read as the 10 % and 90 % points
    Unknown("scaling_rate", 1.0, float(np.log(2.0) / 1.2816), "ln", "published rates for plain steel", "judgement"),
    Unknown(
        "local_factor", 2.0, 0.25, "ln", "edges, welds, hot spots thin 1.5 to 3 times the mean", "judgement", (1.5, 3.0)
    ),
    Unknown("wall_thickness", 1.0, 0.04, "sd", "rolling tolerance of plate and tube", "memory", (0.85, 1.15)),
)
NAMES = tuple(u.name for u in UNKNOWNS)
# one for each unknown; a new unknown goes last. Picked so that no two columns go together: correlations stay below 0.2
# among 64 members and 0.12 among 256 (the first primes reach 0.30 and 0.19; computed)
PRIMES = (2, 3, 5, 7, 11, 19, 29, 31, 53, 103, 113, 131)


@dataclass(frozen=True, slots=True)
class Draws:
    """scores: standard normal, shape (member, unknown). values: in the unknown's own unit. weights: shape (member,)."""

    names: tuple[str, ...]
    scores: Array
    values: Array
    weights: Array

    def __getitem__(self, name: str) -> Array:
        column: Array = self.values[:, self.names.index(name)]
        return column

    @property
    def members(self) -> int:
        return len(self.weights)


def draw(members: int = 64, spreads: dict[str, float] | None = None) -> Draws:
    """An ensemble of `members`, the first being the central estimate.

    Args:
        members: how many, at least 1.
        spreads: other spreads by unknown (a better-known oven temperature, say).

    Source: additive recurrence on square roots of primes (Richtmyer's sequence; memory): no root is near a simple
    fraction, so every column fills evenly.

    >>> draw(3)["diffusivity"][0]
    np.float64(1.0)
    """
    alpha = np.sqrt(np.array(PRIMES[: len(UNKNOWNS)], dtype=float))
    uniform = (0.5 + np.arange(members)[:, None] * alpha) % 1.0
    inverse = NormalDist().inv_cdf
    scores = np.array([[inverse(u) for u in row] for row in uniform.clip(1e-6, 1 - 1e-6)])
    scores[0] = 0.0
    values = np.empty_like(scores)
    for j, u in enumerate(UNKNOWNS):
        z = scores[:, j] * (spreads or {}).get(u.name, u.spread)
        values[:, j] = np.clip(u.median * np.exp(z) if u.kind == "ln" else u.median + z, *u.within)
    return Draws(NAMES, scores, values, np.full(members, 1.0 / members))
