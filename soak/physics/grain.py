"""How coarse the grain grows in a long soak, by three laws, and what normalising it needs. Pure numbers; SI.

Last axis: law, in the order of LAWS. The laws were fitted to minutes or an hour; long soaks are beyond them, which a
growth exponent of 1/7 to 1/10 makes mild. Steel killed with aluminium stays finer up to about 1000 degC and then
coarsens unevenly; slag strings hold grains across the fibre: none of the laws knows either.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from soak.physics.activity import A1_K, PURE_A3_K, a3, acm
from soak.physics.gas import R
from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (1173.0, 1373.0)
LAWS: Final = ("Hodgson and Gibbs 1992", "Sellars and Whiteman 1979", "Lee and Lee 2008")
START = Sourced(20e-6, "m", "grain that forms on heating, 10-40 um", "usual for wrought and mild strip", "judgement")

_HODGSON = "Hodgson and Gibbs, ISIJ Int. 32 (1992) 1329, C-Mn steel"
_SELLARS = "Sellars and Whiteman, Met. Sci. 13 (1979) 187, C-Mn steel"
_LEE = "Lee and Lee, Mater. Des. 29 (2008) 1840, 16 low-alloy steels"
G1_K = Sourced(1.45e27, "um7/s", "no Ti or Nb", _HODGSON, "memory")
G1_Q = Sourced(400e3, "J/mol", "no Ti or Nb", _HODGSON, "memory")
G2_K = Sourced(3.87e32, "um10/s", "above 1273 K", _SELLARS, "memory")
G2_Q = Sourced(400e3, "J/mol", "above 1273 K", _SELLARS, "memory")
G2_K_COOL = Sourced(5.02e53, "um10/s", "below 1273 K", _SELLARS, "memory")
G2_Q_COOL = Sourced(914e3, "J/mol", "below 1273 K", _SELLARS, "memory")
G3_D = Sourced(76671.0, "um", "d = D exp(-Q/RT) t^m", _LEE, "memory")
G3_M = Sourced(0.211, "1", "d = D exp(-Q/RT) t^m", _LEE, "memory")
G3_Q = Sourced(89098.0, "J/mol", "d = D exp(-Q/RT) t^m", _LEE, "memory")
G3_SHIFT: Final = {"C": 3581.0, "Ni": 1211.0, "Cr": 1443.0}  # J/mol per % by mass; _LEE, memory
EXPONENTS: Final = np.array([7.0, 10.0, 1.0 / G3_M.value])
# K per % by mass: Andrews, JISI 203 (1965) 721, signs as in the original (memory); for Acm none is known, +-12 K
SHIFT_MOST_K = 80.0  # the sum is from low-alloy steels; old irons with much phosphorus lie far outside (judgement)
A3_SHIFT: Final = {"Si": 44.7, "P": 700.0, "Mn": -30.0, "Ni": -15.2, "Cr": -11.0, "Cu": -20.0}


def rate(T: Number, carbon: Number = 0.0, composition: Mapping[str, float] | None = None) -> Array:
    """Rate K of d^n, n and d in um by law: d(d^n)/dt = K [um^n/s], shape (..., 3).

    T [K], carbon [mass fraction] broadcast; composition: mass fractions by symbol (only Ni and Cr of law 3 speak).
    900-1100 degC; nothing below 727 degC, where there is no austenite. The two branches of law 2 meet at 1271.5 K
    rather than jump at 1273 K, so that hotter is never slower. Source: see G1_K, G2_K, G3_D.
    """
    T, c = np.broadcast_arrays(np.asarray(T, dtype=np.float64), np.asarray(carbon, dtype=np.float64))
    x = 1.0 / (R * T)
    first = G1_K.value * np.exp(-G1_Q.value * x)
    second = np.minimum(
        G2_K.value * np.exp(-G2_Q.value * x),
        G2_K_COOL.value * np.exp(-G2_Q_COOL.value * x),
    )
    shift = sum(G3_SHIFT[e] * 100.0 * (composition or {}).get(e, 0.0) for e in ("Ni", "Cr"))
    third = (G3_D.value * np.exp(-(G3_Q.value + G3_SHIFT["C"] * 100.0 * c + shift) * x)) ** EXPONENTS[2]
    austenite = np.greater_equal(T, A1_K.value)[..., None]
    return np.where(austenite, np.stack([first, second, third], axis=-1), 0.0)


def fresh(shape: tuple[int, ...] = (), d: float = START.value) -> Array:
    """The grain as austenite first forms, for every law [m], shape (*shape, 3)."""
    return np.full((*shape, len(LAWS)), d)


def step(d: Array, T: Number, dt: float, carbon: Number = 0.0, composition: Mapping[str, float] | None = None) -> Array:
    """Mean grain after `dt` more at T [m], shape (..., 3): (d^n + K dt)^(1/n), exact for steady T.

    d [m] (..., 3) of `fresh` or of the step before; T [K] and carbon [mass fraction] (...); dt [s]. A charge that cools
    below 727 degC and is heated again starts afresh, which this does not know: call `fresh`. Source: see `rate`.

    >>> (1e6 * step(fresh(), 950 + 273.15, 36000.0, 0.002)).round().tolist()
    [123.0, 84.0, 102.0]
    """
    grown = (1e6 * d) ** EXPONENTS + rate(T, carbon, composition) * dt
    return np.asarray(np.maximum(1e-6 * grown ** (1.0 / EXPONENTS), d))


def band(d: Array) -> tuple[Array, Array, Array]:
    """Least of the laws, the first law, most of the laws [m], shape (...). The first is the estimate."""
    return d.min(axis=-1), d[..., 0], d.max(axis=-1)


def astm_number(d: Number) -> Array:
    """ASTM grain number of a mean intercept: G = -3.2877 - 6.6439 log10(d in mm). d [m]. Source: ASTM E112 (memory).

    >>> round(float(astm_number(123e-6)), 1)
    2.8
    """
    return -3.2877 - 6.6439 * np.log10(1e3 * np.asarray(d))


def after_passes(passes: int) -> tuple[float, float]:
    """Grain to expect after so many normalising heats, least and most [m]: 20-40 um, later 10-20 (memory: practice,
    peak within 30-50 K of the line and a hold of minutes). Raises ValueError below 1: then ask `band`."""
    if passes < 1:
        raise ValueError(f"normalising passes: {passes}; write 1 or more")
    return (20e-6, 40e-6) if passes == 1 else (10e-6, 20e-6)


def upper_line(carbon: float, composition: Mapping[str, float] | None = None) -> float:
    """Where the last ferrite or cementite goes into solution on heating: A3 or Acm [K], whichever is hotter.

    carbon [mass fraction] 0-1.8 %; composition: mass fractions, shifts A3 only. Sources: `activity.a3`, `activity.acm`,
    A3_SHIFT. True to about 12 K.

    >>> [round(upper_line(c) - 273.15) for c in (0.004, 0.012)]
    [787, 891]
    """
    cool, T = np.linspace(A1_K.value, PURE_A3_K.value, 1000), np.linspace(A1_K.value, 1423.15, 2000)
    shift = sum(k * 100.0 * (composition or {}).get(e, 0.0) for e, k in A3_SHIFT.items())
    shift = min(max(shift, -SHIFT_MOST_K), SHIFT_MOST_K)
    ferrite = float(np.interp(-carbon, -a3(cool), cool)) + shift
    return max(ferrite, float(np.interp(carbon, acm(T), T)), A1_K.value)


@dataclass(frozen=True, slots=True)
class Normalise:
    """Heats in air, in order [K], and why so many. `grain_m`: what to expect afterwards, least and most."""

    passes_k: tuple[float, ...]
    why: str
    grain_m: tuple[float, float]


def normalise(d: float, carbon: float, composition: Mapping[str, float] | None = None) -> Normalise:
    """What a coarse grain needs. d [m] after the soak, carbon [mass fraction], composition: mass fractions.

    1 heat below 60 um, 2 to 120 um, 3 above or with more than 0.9 % C, where the first must dissolve the cementite net
    and the later ones must not. First: 870 degC, or 30 K over the line if that is hotter; then 815 and 790 degC, never
    less than 30 K over A3; above 0.9 % C 780 degC. Source: trade practice (seen), rule (judgement).

    >>> [round(k - 273.15) for k in normalise(150e-6, 0.012).passes_k]
    [921, 780, 780]
    """
    line, rich = upper_line(carbon, composition), carbon > 0.009
    count = 3 if rich or d > 120e-6 else 2 if d >= 60e-6 else 1
    first = max(870.0 + 273.15, line + 30.0)
    later = [780.0, 780.0] if rich else [815.0, 790.0]
    # a line of cementite need not be passed again; one of ferrite must
    floor = line + 30.0 if carbon < float(acm(A1_K.value)) else 0.0
    rest = [max(c + 273.15, floor) for c in later[: count - 1]]
    why = "cementite net to dissolve: more than 0.9 % C" if rich else f"grain about {1e6 * d:.0f} um"
    return Normalise((first, *rest), why, after_passes(count))
