"""How a canister's wall wears when scale falls off between soaks, and what a weighing teaches. Pure numbers.

The wall is shared out into pieces of area, each with its own scale; at each cool-down a fixed share of the area loses
its scale, thickest first. Leading axis: member. Metres, kelvin, seconds. The rate comes from `scaling`; factors
multiply it: a fuel-fired oven, a member's drawn rate, 18-8 that has broken away.

>>> import numpy as np
>>> from soak.physics import scaling
>>> T, drawn = np.array([1273.15, 1273.15]), np.array([1.0, 2.0])
>>> k = scaling.rate("steel", T) * scaling.wet_factor(T) * drawn  # without wet_factor: an electric oven
>>> wall = step(step(bare(2), T, k, 4 * 3600.0), np.array(300.0), 0.0, 60.0)
>>> (1e3 * mean_loss(wall)).round(3).tolist()
[0.521, 0.737]
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soak.physics import scaling
from soak.physics.gas import R
from soak.sources import Sourced

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Number = float | Array

VALID_FRACTION = (0.3, 1.0)
SEGMENTS = 12
_DUST = 1e-9  # a share of the area smaller than this is rounding, and goes with its neighbour

FRACTION = Sourced(1.0, "1", "0.3-1; share of the area whose scale falls", "steel scale falls easily", "judgement")
HOT = Sourced(973.15, "K", "a cool-down counts after the wall was hotter", "scale thick enough to part", "judgement")
COLD = Sourced(823.15, "K", "a cool-down counts when the wall falls below", "wustite breaks up below 570", "judgement")
BREAKAWAY_Q = Sourced(209e3, "J/mol", "304L in CO2, 920-1020 degC", "304L kinetics, abstract: 209 +- 8", "seen")
# 850 degC: chromia holds, 950 degC: iron oxide that does not adhere (seen); the line meets the tests at 980 degC
BREAKAWAY_LOW = Sourced(1143.15, "K", "coolest wall that breaks 18-8 away", "rated 870 degC intermittent", "judgement")
BREAKAWAY_HIGH = Sourced(1253.15, "K", "from here the tests hold it", "K doubled there for breakaway", "judgement")
KP_SD_LN = Sourced(math.log(2.0) / 1.2816, "1", "ln of the rate of plain steel", "x 2 read as 90 %", "judgement")
LEAST_SCALE = Sourced(0.25, "1", "fit of the rate from fewer than 3 soaks", "starved of air by chance", "judgement")


@dataclass(frozen=True, slots=True)
class Wall:
    """One side of a wall. Shapes: member m, segment k (oldest scale first, the freshest last; empty ones are all 0).

    area (m, k): shares of 1. square (m, k) m2: square of the metal in the scale now on. gone (m, k) m: metal that left
    with earlier scale, mean over the segment. hot (m,): has been above HOT since scale last fell.
    """

    area: Array
    square: Array
    gone: Array
    hot: Bools


def bare(members: int = 1, gone: Number = 0.0, segments: int = SEGMENTS) -> Wall:
    """A wall without scale. gone [m], scalar or (m,): metal it has lost before. segments: at least 2; a fraction F is
    followed exactly with 2 + 1/F of them, and below that the two oldest scales are counted as one."""
    zero = np.zeros((members, segments))
    area, lost = zero.copy(), zero.copy()
    area[:, -1] = 1.0
    lost[:, -1] = gone
    return Wall(area, zero, lost, np.zeros(members, dtype=np.bool_))


def grow(wall: Wall, k_dt: Number) -> Wall:
    """Scale grows everywhere: h_i^2 += K dt. k_dt [m2], scalar or (m,)."""
    return replace(wall, square=wall.square + np.where(wall.area > 0.0, np.asarray(k_dt)[..., None], 0.0))


def spall(wall: Wall, fraction: Number = FRACTION.value, where: Bools | bool = True) -> Wall:
    """Scale falls from `fraction` of the area, thickest first; 1 also stands for brushing or hammering it off.

    fraction [-] 0-1, scalar or (m,); where: which members. For equal soaks the loss settles at sqrt(F) of what full
    spalling loses. Source: interfacial model of Smialek, Acta Mater. 2003 (seen, abstract).

    >>> wall = bare(1)
    >>> for _ in range(100):
    ...     wall = spall(grow(wall, 1.0), 0.25)
    >>> round(float(mean_loss(wall)[0]), 1)
    50.6
    """
    f = np.broadcast_to(np.where(where, fraction, 0.0), wall.area.shape[:1])
    above = np.cumsum(wall.area, axis=-1) - wall.area
    taken = np.clip(f[:, None] - above, 0.0, wall.area)
    taken = np.where(wall.area - taken < _DUST, wall.area, taken)
    rest, fallen = wall.area - taken, taken.sum(axis=-1)
    lost = (taken * (wall.gone + np.sqrt(wall.square))).sum(axis=-1) / np.where(fallen > 0.0, fallen, 1.0)

    order = np.argsort(rest > 0.0, axis=-1, kind="stable")  # empty segments first, the others keep their order
    area, square, gone = (np.take_along_axis(x, order, axis=-1) for x in (rest, *_kept(wall, rest)))
    # the first makes room for the fresh one: it is empty, or it joins the second with the mean loss kept
    both = area[:, 0] + area[:, 1]
    share = area[:, 0] / np.where(both > 0.0, both, 1.0)
    thick = share * np.sqrt(square[:, 0]) + (1.0 - share) * np.sqrt(square[:, 1])
    square[:, 1] = np.where(share > 0.0, thick**2, square[:, 1])
    gone[:, 1] = share * gone[:, 0] + (1.0 - share) * gone[:, 1]
    area[:, 1] = both

    def then(old: Array, rest: Array, fresh: Array) -> Array:
        return np.where(fallen[:, None] > 0.0, np.concatenate([rest[:, 1:], fresh[:, None]], axis=-1), old)

    zero = np.zeros_like(fallen)
    return replace(
        wall,
        area=then(wall.area, area, fallen),
        square=then(wall.square, square, zero),
        gone=then(wall.gone, gone, lost),
    )


def _kept(wall: Wall, area: Array) -> tuple[Array, Array]:
    """Square and gone, 0 where no area is left."""
    return np.where(area > 0.0, wall.square, 0.0), np.where(area > 0.0, wall.gone, 0.0)


def step(wall: Wall, T: Number, k: Number, dt: float, fraction: Number = FRACTION.value) -> Wall:
    """The wall after `dt` at T: scale grows, and falls if this is a cool-down (below 550 after more than 700 degC).

    T [K] at the end of the step, k [m2/s] mean rate over it, dt [s], fraction [-]; scalars or (m,). A reload that stays
    above 550 degC is no cool-down. Steps of at most 60 s or 10 K.
    """
    grown = grow(wall, np.asarray(k) * dt)
    hot = wall.hot | (np.asarray(T) > HOT.value)
    falls = hot & (np.asarray(T) < COLD.value)
    if falls.any():
        grown = spall(grown, fraction, falls)
    return replace(grown, hot=hot & ~falls)


def mean_loss(wall: Wall) -> Array:
    """Metal lost since the wall was new, mean over its area [m], shape (m,). What a weighing of it descaled says."""
    return np.asarray((wall.area * (wall.gone + np.sqrt(wall.square))).sum(axis=-1))


def thickest_loss(wall: Wall) -> Array:
    """Metal lost where the wall has lost most by this model [m], shape (m,). Edges, welds and hot spots come on top:
    the local factor is the caller's. Exact where 1/F is whole, else mean over places that lost scale together."""
    return np.asarray((wall.gone + np.sqrt(wall.square)).max(axis=-1))


def breakaway_onset(u: Number) -> Array:
    """Wall temperature from which 18-8 (304, 316) has broken away [K], for a drawn u of 0-1: 870 to 980 degC, even.

    Judgement; once a wall was hotter it stays broken away: `broken |= T > breakaway_onset(u)`.
    """
    return BREAKAWAY_LOW.value + (BREAKAWAY_HIGH.value - BREAKAWAY_LOW.value) * np.asarray(u)


def breakaway_factor(T: Number, broken: Bools | bool) -> Array:
    """How many times faster 18-8 that has broken away scales than `scaling.rate("304", T)`: at least the line
    37 um2/h at 980 degC with 209 kJ/mol, from 870 degC up. T [K]; 1 where not broken. The conservative side of
    `scaling.rate_bounds` is 4.7 times this.

    >>> [round(float(breakaway_factor(c + 273.15, True)), 1) for c in (860, 900, 980, 1050)]
    [1.0, 20.2, 1.0, 1.0]
    """
    T = np.asarray(T)
    low, top = BREAKAWAY_LOW.value, BREAKAWAY_HIGH.value
    line = scaling.rate("304", top) * np.exp(-(BREAKAWAY_Q.value / R) * (1.0 / T - 1.0 / top))
    applies = np.asarray(broken) & np.greater_equal(T, low)
    return np.where(applies, np.maximum(line / scaling.rate("304", T), 1.0), 1.0)


@dataclass(frozen=True, slots=True)
class Weighing:
    """A canister weighed descaled: metal lost since it was last weighed, what the unfitted law says for the same soaks
    (both m, mean over the area), and how many soaks that were."""

    measured_m: float
    predicted_m: float
    soaks: int


def weighed_loss(kg: Number, area_m2: Number, density: float = scaling.STEEL_DENSITY) -> Array:
    """Mean metal lost, from the mass a descaled canister lost: h = dm/(rho A) [m]. kg; m2 of scaling face; kg/m3.

    >>> round(1e6 * float(weighed_loss(0.001, 0.2)), 2)
    0.64
    """
    return np.asarray(kg) / (density * np.asarray(area_m2))


def fitted_scale(weighings: Sequence[Weighing]) -> float:
    """Factor on K of this oven and canister: geometric mean of (measured/predicted)^2 and of 1, the law's own word.

    Never below 1/4 while the weighings cover fewer than 3 soaks (judgement). Raises ValueError for a loss that is not
    above 0: then the canister was not descaled, or the balance cannot tell.

    >>> fitted_scale([Weighing(0.0002, 0.0004, 1)])
    0.5
    """
    logs = 0.0
    for w in weighings:
        if w.measured_m <= 0.0 or w.predicted_m <= 0.0 or w.soaks < 1:
            raise ValueError(
                f"weighing: lost {1e3 * w.measured_m:g} mm, predicted {1e3 * w.predicted_m:g} mm in {w.soaks} soaks; "
                "all must be above 0: take off the scale before weighing, or weigh again after more soaks"
            )
        logs += 2.0 * math.log(w.measured_m / w.predicted_m)
    scale = math.exp(logs / (len(weighings) + 1))
    return max(scale, LEAST_SCALE.value) if sum(w.soaks for w in weighings) < 3 else scale


def scale_sd_ln(weighings: int) -> float:
    """Doubt of ln of the fitted factor after so many weighings, each worth as much as the law: 0.54/sqrt(n + 1)."""
    return KP_SD_LN.value / math.sqrt(weighings + 1)
