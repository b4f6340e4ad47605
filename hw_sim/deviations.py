"""How far this one world is from the book: drawn from a seed, so that the same seed is the same world. Pure."""

from __future__ import annotations

import random
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Deviations:
    """Factors on the book's values, and what is wrong with the sensor and the mains. The defaults are the book itself.

    offset_c: what the sensor reads too much; noise_c: its scatter, root mean square; mains: the swing of the supply
    voltage, as a fraction, over mains_period_s.
    """

    pack_k: float = 1.0
    lining_k: float = 1.0
    element: float = 1.0  # resistance over that of a new element
    emissivity: float = 0.8  # canister's wall [seen: oxidised iron 0.78-0.82]
    offset_c: float = 0.0
    noise_c: float = 0.0
    mains: float = 0.0
    mains_period_s: float = 2400.0


BOOK = Deviations()

# Seed 0: modest and likely [judgement]; 2 degC is within what a new class 2 couple may be wrong at 1000 degC.
MODEST = Deviations(pack_k=0.9, lining_k=1.04, element=1.02, emissivity=0.85, offset_c=2.0, noise_c=0.17, mains=0.01)


def draw(seed: int) -> Deviations:
    """The world of that seed. 0 is the modest one; any other is drawn, wider but still an oven that works."""
    if seed == 0:
        return MODEST
    chance = random.Random(seed)
    return Deviations(
        pack_k=chance.lognormvariate(0.0, 0.2),
        lining_k=chance.uniform(0.9, 1.15),
        element=chance.uniform(0.98, 1.12),
        emissivity=chance.uniform(0.65, 0.95),
        offset_c=max(-6.0, min(6.0, chance.gauss(0.0, 2.5))),
        noise_c=chance.uniform(0.15, 0.20),
        mains=chance.uniform(0.003, 0.01),
        mains_period_s=chance.uniform(900.0, 7200.0),
    )
