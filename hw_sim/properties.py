"""Heat properties of steel, charcoal pack and oven parts, as laws of temperature and as tables to look up. Pure.

Each number is marked [seen], [memory], [computed] or [judgement]. They are this world's own.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

SIGMA = 5.670374e-8  # W/m2K4, radiation constant [computed from the SI's fixed constants]
ZERO_C = 273.15  # K
STEP_K = 2.0  # K, spacing of the tables [judgement: all laws below are smooth over 10 K or more]
TOP_K = 2200.0  # K, end of the tables; hotter is read as this

STEEL_DENSITY = 7800.0  # kg/m3 [memory]
# degC, J/kgK: carbon steel, the peak at 727 degC is the change to austenite [memory; mean 20-1050 about 700]
STEEL_CP = (
    (20.0, 450.0), (200.0, 520.0), (400.0, 610.0), (600.0, 760.0), (700.0, 950.0), (727.0, 1400.0), (760.0, 1100.0),
    (800.0, 820.0), (850.0, 720.0), (900.0, 620.0), (1100.0, 640.0),
)  # fmt: skip
# degC, J/kgK: charcoal taken as graphite, lifted at room temperature [computed from graphite's polynomial; judgement]
CHAR_CP = (
    (25.0, 850.0), (227.0, 1215.0), (427.0, 1545.0), (627.0, 1731.0), (827.0, 1846.0), (1050.0, 1931.0),
)  # fmt: skip

LIME_HEAT = 3.39e6  # J/kg CaCO3, with charcoal to CaO and CO [computed]
LIME_CENTRE_C, LIME_WIDTH_K = 810.0, 25.0  # [judgement: between the 787 degC of 1 atm CO and finite rate]
WATER_HEAT = 2.26e6  # J/kg [memory]
WATER_CENTRE_C, WATER_WIDTH_K = 100.0, 12.0  # [judgement]
GRAIN_MM = 4.0  # the pack's grain in this world [judgement]

ELEMENT_CP = (460.0, 0.25)  # J/kgK at 20 degC, per K: iron-chromium-aluminium wire [seen 460; slope memory]
CERAMIC_CP = (800.0, 0.35)  # J/kgK at 20 degC, per K: dense alumina-silicate [memory]


def between(points: tuple[tuple[float, float], ...], x: float) -> float:
    """Straight lines through points; flat beyond both ends."""
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]


def bell(t_c: float, centre_c: float, width_k: float) -> float:
    """A Gaussian of unit area [1/K]: how a sink of heat is spread over temperature."""
    z = (t_c - centre_c) / width_k
    return math.exp(-0.5 * z * z) / (width_k * math.sqrt(2.0 * math.pi))


def pack_k(t_c: float, grain_mm: float = GRAIN_MM) -> float:
    """Conductivity of a charcoal bed [W/mK], k4 (d/4)^m with k4 = 0.0649 + 2.566e-4 t + 2.901e-7 t^2.

    t 20-1100 degC, grain 1-10 mm; computed with a packed-bed law (porosity 0.45, emissivity 0.9), good to 40 %.
    Outside the range of t the nearest end is used, up to 1300 degC.
    """
    t = min(max(t_c, 20.0), 1300.0)
    m = 0.144 + 4.36e-4 * t - 1.81e-7 * t * t
    return (0.0649 + 2.566e-4 * t + 2.901e-7 * t * t) * math.pow(grain_mm / 4.0, m)


def resistance_factor(t_k: float) -> float:
    """Resistance of an iron-chromium-aluminium element over that at 20 degC [-]: 1.02 at 600, 1.04 at 1000 degC.

    Rises by 0.04 in the first 1000 K, flat after (a wire data sheet, seen: 1.02, 1.04 to 1300 degC).
    """
    return 1.0 + 0.04 * min(max((t_k - 293.15) / 1000.0, 0.0), 1.0)


def table(law: Callable[[float], float]) -> list[float]:
    """The law of t [degC] on a grid of absolute temperature: entry i stands for i STEP_K to (i + 1) STEP_K."""
    return [law((i + 0.5) * STEP_K - ZERO_C) for i in range(int(TOP_K / STEP_K) + 1)]
