"""The control thermocouple: what it sees and how slowly it follows. Pure."""

from __future__ import annotations

import math

from hw_sim.properties import SIGMA, ZERO_C

SEES_ELEMENT = 0.07  # share of the element in what the tip sees; the rest is the hot face [judgement]
SHEATH_HEAT = 3.2e6  # J/m3K, density times heat capacity of a ceramic sheath with its wires [computed]
SHEATH_EMISSIVITY = 0.8  # [memory]
STILL_AIR = 10.0  # W/m2K [memory]
SHEATH_M = 0.008  # outer diameter in all our ovens [judgement]


def seen_k(face_k: float, element_k: float) -> float:
    """Temperature [K] that a bare, slow tip would come to: fourth-power mean of hot face and element."""
    return math.sqrt(math.sqrt((1.0 - SEES_ELEMENT) * face_k**4 + SEES_ELEMENT * element_k**4))


def lag_s(t_k: float, sheath_m: float = SHEATH_M) -> float:
    """Time constant [s] of the sheath: rho c d / (4 h), h = 4 sigma e T^3 + 10.

    8 mm: 15 s at 1050 degC, 143 s at 300 degC.
    """
    return SHEATH_HEAT * sheath_m / (4.0 * (4.0 * SIGMA * SHEATH_EMISSIVITY * t_k**3 + STILL_AIR))


def follow(tip_k: float, sees_k: float, dt_s: float) -> float:
    """The tip after dt_s of seeing sees_k."""
    return sees_k + (tip_k - sees_k) * math.exp(-dt_s / lag_s(sees_k))


def celsius(t_k: float) -> float:
    """K to degC."""
    return t_k - ZERO_C
