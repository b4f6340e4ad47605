"""What a thermocouple may be wrong by when new, and how late a sheathed one is. Pure numbers, kelvin."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from soak.physics.heat import SIGMA
from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array
Kind = Literal["K", "N", "S", "R"]
Grade = Literal["1", "2", "standard", "special"]

_BASE: Final[dict[tuple[str, str], tuple[float, float, float, float]]] = {  # K, share of degC, lowest, highest degC
    ("base", "1"): (1.5, 0.004, -40.0, 1000.0),
    ("base", "2"): (2.5, 0.0075, -40.0, 1200.0),
    ("base", "standard"): (2.2, 0.0075, 0.0, 1260.0),
    ("base", "special"): (1.1, 0.004, 0.0, 1260.0),
    ("noble", "1"): (1.0, 0.0, 0.0, 1600.0),
    ("noble", "2"): (1.5, 0.0025, 0.0, 1600.0),
    ("noble", "standard"): (1.5, 0.0025, 0.0, 1480.0),
    ("noble", "special"): (0.6, 0.001, 0.0, 1480.0),
}
SOURCE = "IEC 60584-1 (1, 2) and ASTM E230 (standard, special), as printed in product tables; new wire only (seen)"
VALID_K = (233.15, 1873.15)
CERAMIC_HEAT = Sourced(3.16e6, "J/m3/K", "alumina sheath, filled", "material tables", "computed")
METAL_HEAT = Sourced(4.37e6, "J/m3/K", "mineral-insulated metal sheath", "material tables", "computed")


def _row(kind: Kind, grade: Grade) -> tuple[float, float, float, float]:
    family = {"K": "base", "N": "base", "S": "noble", "R": "noble"}.get(kind)
    if family is None or (family, grade) not in _BASE:
        raise ValueError(
            f"thermocouple type {kind!r}, class {grade!r}: write K, N, S or R and 1, 2, standard or special"
        )
    return _BASE[(family, grade)]


def tolerance(kind: Kind, grade: Grade, T: Number) -> Array:
    """What a new thermocouple may be wrong by, either way [K].

    The greater of a fixed figure and a share of the temperature in degC; S and R class 1: 1 + 0.003 (t - 1100) above
    1100 degC. T [K]; outside the standard's range (`valid_k`) the same rule goes on. Source: see SOURCE.

    >>> round(float(tolerance("K", "2", 1050 + 273.15)), 1)
    7.9
    """
    fixed, share, _, _ = _row(kind, grade)
    t = np.asarray(T) - 273.15
    if kind in ("S", "R") and grade == "1":
        return np.maximum(1.0, 1.0 + 0.003 * (t - 1100.0))
    return np.maximum(fixed, share * np.abs(t))


def valid_k(kind: Kind, grade: Grade) -> tuple[float, float]:
    """Range [K] in which the standard states a tolerance.

    >>> round(valid_k("K", "1")[1] - 273.15)
    1000
    """
    _, _, low, high = _row(kind, grade)
    return low + 273.15, high + 273.15


def sheath_lag(T: Number, d: Number, sheath: Literal["ceramic", "metal"] = "ceramic") -> Array:
    """Time constant of a sheathed thermocouple in still oven gas, tau = rho c d/(4 h) [s], h = 3.2 sigma T^3 + 10.

    T [K] 100-1100 degC, d [m] 0.003-0.015; broadcasts. In a ramp it reads rate x tau behind. Computed.

    >>> round(float(sheath_lag(1050 + 273.15, 0.008)))
    15
    """
    T = np.asarray(T)
    heat = CERAMIC_HEAT.value if sheath == "ceramic" else METAL_HEAT.value
    return heat * np.asarray(d) / (4.0 * (3.2 * SIGMA * T**3 + 10.0))
