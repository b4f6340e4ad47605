"""How heat reaches the middle of the charge: the pack's conductivity, heats, sinks, the wall's exchange, shape.

Pure numbers; imports only numpy and soak.sources. SI, kelvin.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (293.0, 1423.0)
VALID_GRAIN_M = (0.001, 0.010)
SIGMA = 5.670374e-8  # W/m2/K4, exact by the SI

K_MULT_SIGMA = Sourced(0.3, "1", "prior of ln k, median 0", "bed model against few measurements", "judgement")
LIME_HEAT = Sourced(
    3.39e6, "J/kg", "CaCO3 + C = CaO + 2 CO, per kg CaCO3, about 810 degC", "NASA polynomials", "computed"
)
LIME_CENTRE_K, LIME_WIDTH_K = 1083.0, 25.0  # judgement, the same as in energizer
WATER_HEAT = Sourced(2.26e6, "J/kg", "drying at 100 degC", "steam tables", "memory")
WATER_CENTRE_K, WATER_WIDTH_K = 373.15, 15.0  # boiling; the width is judgement, so that no step misses it
EMISSIVITY = Sourced(
    0.8, "1", "scaled steel and alloy; 0.6 bright stainless in its first heat", "emissivity tables", "seen"
)
OVEN_EMISSIVITY = Sourced(0.8, "1", "brick and fibre", "emissivity tables", "judgement")
CONVECTION = Sourced(6.0, "W/m2/K", "still air in an oven", "usual figure", "judgement")

# K, J/kg/K. Graphite by NASA polynomials (computed), lifted at room temperature toward measured charcoal (seen).
_CHARCOAL = np.array([[298.0, 500.0, 700.0, 900.0, 1100.0, 1323.0], [850.0, 1215.0, 1545.0, 1731.0, 1846.0, 1931.0]])
# Mild steel, mean 700 J/kg/K from 20 to 1050 degC; the peak is the change to austenite (memory, mean computed).
_STEEL = np.array(
    [
        [20.0, 200.0, 400.0, 600.0, 700.0, 727.0, 760.0, 800.0, 850.0, 900.0, 1100.0],
        [450.0, 520.0, 610.0, 760.0, 950.0, 1400.0, 1100.0, 820.0, 720.0, 620.0, 640.0],
    ]
)
_STEEL[0] += 273.15


def pack_conductivity(T: Number, grain_m: Number = 0.004) -> Array:
    """Conductivity of a bed of charcoal grains [W/m/K], before the learnable multiplier.

    (0.0649 + 2.566e-4 t + 2.901e-7 t^2)(d/4)^m, m = 0.144 + 4.36e-4 t - 1.81e-7 t^2, t degC, d mm. T [K] 20-1100 degC,
    grain_m [m] 0.001-0.010; broadcasts. True to 40 %. Source: Zehner-Bauer-Schluender model, fitted (computed).

    >>> round(float(pack_conductivity(1050 + 273.15)), 3)
    0.654
    """
    t = np.asarray(T) - 273.15
    m = 0.144 + t * (4.36e-4 - t * 1.81e-7)
    return np.asarray((0.0649 + t * (2.566e-4 + t * 2.901e-7)) * (np.asarray(grain_m) / 0.004) ** m)


def charcoal_heat(T: Number) -> Array:
    """Heat capacity of charcoal [J/kg/K], straight between points. T [K] 298-1323; held outside."""
    return np.asarray(np.interp(T, _CHARCOAL[0], _CHARCOAL[1]))


def steel_heat(T: Number) -> Array:
    """Heat capacity of mild steel with the change to austenite in it [J/kg/K]. T [K] 20-1100 degC; held outside."""
    return np.asarray(np.interp(T, _STEEL[0], _STEEL[1]))


def _hump(T: Number, area: float, centre: float, width: float) -> Array:
    z = (np.asarray(T) - centre) / width
    return np.asarray(area / (width * np.sqrt(2.0 * np.pi)) * np.exp(-0.5 * z * z))


def lime_sink(T: Number) -> Array:
    """Heat capacity that CaCO3 adds while it turns to lime on carbon, per kg CaCO3 [J/kg/K]: Gaussian about 810 degC.

    T [K]. On first heating only: the caller leaves it out once that share is spent and on cooling.
    """
    return _hump(T, LIME_HEAT.value, LIME_CENTRE_K, LIME_WIDTH_K)


def water_sink(T: Number) -> Array:
    """Heat capacity that moisture adds while it boils off, per kg water [J/kg/K]: Gaussian about 100 degC. T [K]."""
    return _hump(T, WATER_HEAT.value, WATER_CENTRE_K, WATER_WIDTH_K)


def wall_exchange(
    T_oven: Number,
    T_wall: Number,
    emissivity: Number = EMISSIVITY.value,
    oven_emissivity: Number = OVEN_EMISSIVITY.value,
    area_ratio: Number = 0.3,
) -> Array:
    """Exchange between oven and canister, h of q = h (T_oven - T_wall) [W/m2/K].

    h = sigma (To^2 + Tw^2)(To + Tw)/(1/e_w + (A_w/A_o)(1/e_o - 1)) + 6. Kelvin; emissivities and area ratio [-].
    Source: grey surfaces, one inside the other (textbook).

    >>> round(50e-3 * float(wall_exchange(1323.15, 1273.15)), 1)  # kW/m2
    19.0
    """
    To, Tw = np.asarray(T_oven), np.asarray(T_wall)
    resistance = 1.0 / np.asarray(emissivity) + np.asarray(area_ratio) * (1.0 / np.asarray(oven_emissivity) - 1.0)
    return np.asarray(SIGMA * (To * To + Tw * Tw) * (To + Tw) / resistance + CONVECTION.value)


def equivalent_radius(*half_widths: Number) -> Array:
    """Radius of the long round that heats as slowly as a box of these half widths [m]; leave a long axis out.

    1/R^2 = 0.4267 sum 1/a^2. Within 7 % of two- and three-dimensional runs. A round of radius r: just r.

    >>> round(float(equivalent_radius(0.05, 0.05)) / 0.05, 2)
    1.08
    """
    if not half_widths:
        raise ValueError("equivalent_radius: give one to three half widths in metres")
    total = sum(np.asarray(a) ** -2.0 for a in half_widths)
    return np.asarray((0.4267 * total) ** -0.5)


_AIR: dict[str, tuple[float, float]] = {  # J per mol of O atoms taken; mol O atoms per mol C or Fe
    "carbon to CO2": (393.5e3 / 2.0, 2.0),
    "carbon to CO": (110.5e3, 1.0),
    "iron to FeO": (265e3, 1.0),
}
_O_PER_M3_AIR = 2.0 * 0.2095 / 0.022414  # mol of O atoms in a cubic metre of air at 0 degC and 1 atm


def air_heat(reaction: Literal["carbon to CO2", "carbon to CO", "iron to FeO"]) -> float:
    """Heat of one cubic metre (STP) of air leaking in and used up [J/m3]. Heats of formation (computed).

    >>> round(air_heat("carbon to CO2") / 1000 / 60)  # W for a litre a minute
    61
    """
    return _AIR[reaction][0] * _O_PER_M3_AIR


def air_for_carbon(reaction: Literal["carbon to CO2", "carbon to CO"]) -> float:
    """Air that a kilogram of carbon needs [m3 at STP]."""
    return _AIR[reaction][1] / 0.012011 / _O_PER_M3_AIR
