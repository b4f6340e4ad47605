"""The gas over charcoal: CO and CO2 in balance with carbon. Pure numbers; imports only numpy and soak.sources.

Pressures are in bar, temperatures in kelvin. The gas constant lives here because every law here needs it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

R = 8.314462618  # J/mol/K, exact by the definition of the SI
ATM = 1.01325  # bar in one standard atmosphere, exact by definition
VALID_K = (
    1073.0,
    1423.0,
)  # where the straight line below is within 0.5 % in K; 923 K still within 3 points of CO share

DG_0 = Sourced(168130.0, "J/mol", "850-1100 degC, within 40 J", "straight line through NASA polynomials", "computed")
DG_T = Sourced(173.09, "J/mol/K", "850-1100 degC", "straight line through NASA polynomials", "computed")
SEALED_AIR_CO = Sourced(
    0.35,
    "bar",
    "air shut in over charcoal above 850 degC at 1 bar",
    "O2 + 2 C = 2 CO: 0.21 O2 and 0.79 N2 become 0.42 CO and 0.79 N2, that is 0.347; rounded",
    "computed",
)


def ln_boudouard_k(T: Number) -> Array:
    """ln of the constant of C + CO2 = 2 CO (bar): -(168130 - 173.09 T)/(R T). T [K], any shape."""
    return (DG_T.value - DG_0.value / np.asarray(T)) / R


def boudouard_k(T: Number) -> Array:
    """Constant of C(graphite) + CO2 = 2 CO: K = pCO^2/pCO2 at carbon activity 1 [bar].

    K = exp(-(168130 - 173.09 T)/(R T)). T [K], any shape. Range 850-1100 degC, 0.4 % in K; outside it the line goes on.
    Source: fit to NASA polynomials (computed).

    >>> round(float(boudouard_k(1050 + 273.15)), 1)
    253.5
    """
    return np.exp(ln_boudouard_k(T))


def co_share(T: Number, a: Number = 1.0, p: Number = 1.0) -> Array:
    """Share of CO in a gas of CO and CO2 alone, in balance with carbon of activity `a` at `p` = pCO + pCO2 [bar].

    pCO = (-K a + sqrt((K a)^2 + 4 K a p))/2; share = pCO/p. T [K]; broadcasts. Range as `boudouard_k`.

    >>> round(100 * (1 - float(co_share(900 + 273.15, p=ATM))), 2)
    2.67
    """
    ka = boudouard_k(T) * a
    # 2 p/(ka + sqrt(...)) is the same root written so that nothing cancels when K is large
    return 2.0 * ka / (ka + np.sqrt(ka * (ka + 4.0 * np.asarray(p))))


def carbon_activity(T: Number, pco: Number, pco2: Number) -> Array:
    """Carbon activity of a gas, graphite = 1: a = pCO^2/(K pCO2). T [K]; pressures [bar]; broadcasts."""
    return np.asarray(pco) ** 2 / (boudouard_k(T) * pco2)


def sealed_air_co(oxygen: Number = 0.21) -> Array:
    """Share of CO in air shut in over hot charcoal: 2 x/(1 + x), x the share of oxygen in the air.

    >>> round(float(sealed_air_co()), 3)
    0.347
    """
    x = np.asarray(oxygen)
    return 2.0 * x / (1.0 + x)


def co_ppm(mol: Number, room_m3: Number, T: Number = 293.15) -> Array:
    """Carbon monoxide in a closed room [ppm by volume] when `mol` of it escapes unburnt; 1 atm, T [K] of the room.

    >>> round(float(co_ppm(12.9 / 28.01, 30.0)), -1)  # a litre of pack with 10 % CaCO3
    370.0
    """
    return 1e6 * np.asarray(mol) * R * T / (ATM * 1e5) / room_m3
