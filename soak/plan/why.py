"""What causes the band, and which measurement would narrow it most. Pure; uses the ensemble that is there already.

The carbon of the slowest piece is fitted by a plane in the members' scores. The scores are nearly uncorrelated, so each
unknown's squared slope is its share of the variance; what the plane leaves is curvature and interplay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from soak.plan.choose import Planned
from soak.process.outcome import reached, slowest

# what is left of an unknown's spread once the measurement is in hand (judgement, but for the temperature: 12 to 5 K)
MEASUREMENTS: dict[str, dict[str, float]] = {
    "a coupon of clean mild steel beside the work, weighed before and after": {
        "pack_conductance": 0.35,
        "lute_leakage": 0.5,
    },
    "a thermocouple in the pack, once": {"pack_conductivity": 0.33, "temperature_offset_k": 5.0 / 12.0},
    "a melting witness wire in the pack": {"temperature_offset_k": 5.0 / 12.0},
    "a laboratory's carbon profile of one piece": {"diffusivity": 0.5, "ln_activity": 0.5, "pack_conductance": 0.35},
    "a laboratory sheet of the iron": {"phosphorus": 0.4, "slag_reduced": 0.6},
}
WORDS = {
    "pack_conductance": "how fast the pack delivers carbon",
    "lute_leakage": "how the lute leaks",
    "pack_conductivity": "how the pack conducts heat",
    "temperature_offset_k": "the iron's true temperature",
    "diffusivity": "how fast carbon moves in the iron",
    "ln_activity": "how the iron holds carbon",
    "phosphorus": "what phosphorus does",
    "slag_reduced": "how much slag eats",
    "scaling_rate": "how fast the canister scales",
    "local_factor": "how unevenly the canister thins",
    "wall_thickness": "the canister's true wall",
}
LEAST_SHARE = 0.005


@dataclass(frozen=True, slots=True)
class Cause:
    """One unknown: its share of the variance, and how far its one sigma moves the carbon (mass fraction)."""

    name: str
    words: str
    share: float
    moves: float


@dataclass(frozen=True, slots=True)
class Remedy:
    """One measurement, and the width of the band with it, as a share of the width without."""

    what: str
    left: float


@dataclass(frozen=True, slots=True)
class Why:
    """Causes by size, what the plane leaves unexplained, remedies by what they save."""

    causes: tuple[Cause, ...]
    rest: float
    remedies: tuple[Remedy, ...]


def why(planned: Planned) -> Why:
    """Shares of the band of what the target speaks of, for the slowest piece."""
    state, target = planned.outcome.state, planned.job.target
    piece = slowest(planned.charge, state, target)
    kept = state.weight > 0.0
    y = reached(planned.charge, state, target)[kept, piece]
    scores = planned.draws.scores[kept]
    z = scores - scores.mean(axis=0)
    moving = np.ptp(z, axis=0) > 0.0
    slopes = np.zeros(z.shape[1])
    spread = y - y.mean()
    variance = float(spread @ spread)
    if variance <= 0.0:
        return Why((), 0.0, ())
    slopes[moving] = np.linalg.lstsq(z[:, moving], spread, rcond=None)[0]
    shares = slopes**2 * (z**2).sum(axis=0) / variance
    causes = [
        Cause(name, WORDS.get(name, name), float(share), float(slope))
        for name, share, slope in zip(planned.draws.names, shares, slopes, strict=True)
        if share >= LEAST_SHARE
    ]
    causes.sort(key=lambda c: -c.share)
    by_name = dict(zip(planned.draws.names, shares, strict=True))
    remedies = [
        Remedy(
            what,
            float(np.sqrt(max(0.0, 1.0 - sum(by_name.get(n, 0.0) * (1.0 - left**2) for n, left in helps.items())))),
        )
        for what, helps in MEASUREMENTS.items()
    ]
    remedies.sort(key=lambda r: r.left)
    return Why(tuple(causes), max(0.0, 1.0 - float(shares.sum())), tuple(r for r in remedies if r.left < 0.995))
