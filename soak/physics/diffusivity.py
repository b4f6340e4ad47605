"""How fast carbon moves in austenite and ferrite. Pure numbers; imports only numpy and soak.sources.

Mass fraction, kelvin, m2/s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (1000.0, 1800.0)
_R_HERE = 8.314  # the gas constant that the Arrhenius pairs below were published with
_SITES = 55.845 / 12.011  # carbon atoms per iron atom for equal masses

_AGREN = "J. Agren, Scripta Metall. 20 (1986) 1507"
D_0 = Sourced(4.53e-7, "m2/s", "Fe-C austenite, 1000-1800 K", _AGREN, "seen")
THERMO_K = Sourced(8339.9, "K", "same", _AGREN, "seen")
INV_T0 = Sourced(2.221e-4, "1/K", "same", _AGREN, "seen")
Q_0 = Sourced(17767.0, "K", "same", _AGREN, "seen")
Q_Y = Sourced(26436.0, "K", "same", _AGREN, "seen")


@dataclass(frozen=True, slots=True)
class Coefficients:
    """D = base (1 + factor y(1-y)) exp(slope y) at one temperature."""

    base: Array
    factor: Array
    slope: Array


def austenite_coefficients(T: Number) -> Coefficients:
    """What of `austenite` depends on temperature alone, so that many nodes share one exponential. T [K], any shape."""
    T = np.asarray(T, dtype=np.float64)
    inv = 1.0 / T - INV_T0.value
    return Coefficients(D_0.value * np.exp(-Q_0.value * inv), THERMO_K.value / T, Q_Y.value * inv)


def austenite_at(w: Array, at: Coefficients) -> Array:
    """`austenite` with its temperature part already worked out; w broadcasts against the coefficients."""
    y = _SITES * w / (1.0 - w)
    d = np.exp(at.slope * y)
    d *= at.base
    y *= 1.0 - y
    y *= at.factor
    y += 1.0
    d *= y
    return np.asarray(d)


def austenite(w: Number, T: Number) -> Array:
    """Diffusivity of carbon in austenite [m2/s].

    D = 4.53e-7 (1 + y(1-y) 8339.9/T) exp(-(1/T - 2.221e-4)(17767 - 26436 y)), y = carbon per iron atom.
    w [mass fraction, plain Fe-C], T [K]; broadcasts. Range 1000-1800 K, all austenite; sure to 15 % (one sigma).
    Source: Agren 1986 (seen). Other elements move it by 0-13 % in mild steel and are left out.

    >>> round(float(austenite(0.004, 927 + 273.15)) * 1e12, 1)
    13.3
    """
    at = austenite_coefficients(T)
    # a copy as an array of its own, wide enough, because austenite_at works in place
    wide = np.array(np.broadcast_to(w, np.broadcast_shapes(np.shape(w), np.shape(at.base))), dtype=np.float64)
    return austenite_at(wide, at)


def ferrite(T: Number) -> Array:
    """Diffusivity of carbon in ferrite [m2/s].

    D = 2e-6 exp(-10115/T) exp(0.5898 (1 + (2/pi) atan(1.4985 - 15309/T))). T [K]; within 35 % of tracer data at
    950-1185 K, high by a factor 2 to 3 below 700 K. Source: Agren, Acta Metall. 30 (1982) 841 (memory).

    >>> round(float(ferrite(1168.0)) * 1e10, 1)
    3.6
    """
    T = np.asarray(T)
    return 2e-6 * np.exp(-10115.0 / T + 0.5898 * (1.0 + (2.0 / np.pi) * np.arctan(1.4985 - 15309.0 / T)))


def phosphorus(T: Number) -> tuple[Array, Array]:
    """Diffusivity of phosphorus in austenite [m2/s]: the lower and the higher published figure, ten times apart.

    28.3e-4 exp(-292000/RT) (Gruzin and Mural) and 0.01e-4 exp(-182800/RT) (Seibel 1964); both memory. T [K]. Both say
    that phosphorus moves less than 0.1 mm in a soak: it may be taken as fixed.
    """
    rt = _R_HERE * np.asarray(T)
    return 28.3e-4 * np.exp(-292000.0 / rt), 0.01e-4 * np.exp(-182800.0 / rt)


def handbook_depth(T: Number, t: Number) -> Array:
    """Total case depth by the handbook rule [m], the surface saturated from the start.

    Inches: 31.6 sqrt(hours)/10^(6700/T_R), T_R = degF + 460; in metres and kelvin 0.803 sqrt(hours)/10^(3722/T).

    T [K], t [s] at temperature only; printed for 1400-1850 degF and 1-25 h. Harris, Metal Progress 44 (1943) 265
    (memory; it gives back the printed table). The depth lies where carbon is about 0.07 % above the core.

    >>> round(float(handbook_depth(927 + 273.15, 3600.0)) * 1e3, 2)
    0.64
    """
    # 460 for 459.67, as the rule was printed: the table is only met to its last figure with it
    return (31.6 * 0.0254) * np.sqrt(np.asarray(t) / 3600.0) * 10.0 ** (-6700.0 / (1.8 * np.asarray(T) + 0.33))
