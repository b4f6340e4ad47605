"""Soaks of a canister and what the balance says of them: the wall lost, and how it moves the scaling rate. Pure.

Metres, kilograms; holds in degC. Soaks are counted from 0, oldest first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from soak.job.canister import Canister
from soak.physics import scaling, spall
from soak.plan.choose import ALLOY_RATE_SPREAD
from soak.record.rows import Header
from soak.sources import Sourced

Mark = tuple[str, float]  # when it was written down, kg
Use = Literal["rate", "wall", "no"]

STRANGE = Sourced(3.0, "1", "weighed loss over or under the law's", "rather a slip than a rate", "judgement")
# kg/m3 of canister materials, trade datasheets (memory); right to 1 %
DENSITY: Final = {"304": 7930, "309": 7980, "310": 7980, "330": 8080, "600": 8470, "601": 8110, "800H": 7940}


@dataclass(frozen=True, slots=True)
class Soak:
    """One soak a canister has seen. hold_c: its hottest hold, None if it had none. law_m: metal lost, central, by the
    law as published. before, after: what the descaled canister weighed. simulated: at a rate no real oven has."""

    run: str
    path: str
    oven: str
    ended: str
    hold_c: float | None
    heat_h: float
    law_m: float
    header: Header
    before: Mark | None = None
    after: Mark | None = None
    simulated: bool = False


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the balance said of the soaks `first` to `last`. use: for the rate and the wall, for the wall only, or not
    at all; why: the reason if not for both, or a doubt."""

    first: int
    last: int
    kg: float
    measured_m: float
    predicted_m: float
    soaks: int
    use: Use
    why: str = ""


@dataclass(frozen=True, slots=True)
class Weighings:
    """rows: each weight beside an earlier one. since: soaks seen at the last weight that can be true, if any."""

    rows: tuple[Weighed, ...]
    since: int | None


@dataclass(frozen=True, slots=True)
class Rate:
    """What is believed of K beside the law: factor, weighings it rests on, one sigma of its ln before any of them."""

    scale: float
    count: int
    prior_sd_ln: float

    @property
    def sd_ln(self) -> float:
        """As spall.scale_sd_ln, for any material: each weighing is worth as much as the law."""
        return self.prior_sd_ln / math.sqrt(self.count + 1)


def outside_area_m2(can: Canister) -> float:
    """Face of the canister that scales, lid and bottom with it [m2].

    >>> from soak.job.canister import Vent
    >>> box = Canister("", "", "box", "steel", 0.2, 0.004, 0.004, 0.004, Vent("none"), width_m=0.1, height_m=0.1)
    >>> round(outside_area_m2(box), 3)
    0.1
    """
    if can.form == "pipe":
        return math.pi * can.diameter_m * (can.length_m + 0.5 * can.diameter_m)
    return 2.0 * (can.width_m * can.height_m + can.length_m * (can.width_m + can.height_m))


def wall_mass(can: Canister) -> float:
    """Mass of metal on its outside face by thickness, rho A [kg/m]."""
    return DENSITY.get(can.material, scaling.STEEL_DENSITY) * outside_area_m2(can)


def weighings(soaks: Sequence[Soak], can: Canister, oven: str) -> Weighings:
    """Each weight beside the last one before it that can be true. One that cannot stays in the list, unused.

    oven: of the soak to come; what was weighed after soaks in another says nothing of the rate in this one.
    """
    rows: list[Weighed] = []
    since: tuple[int, float] | None = None
    for at, kg in _marks(soaks).items():
        if since is None:
            since = at, kg
            continue
        row = _weighed(soaks, can, oven, since[0], at, since[1] - kg)
        rows.append(row)
        if row.use != "no" or row.predicted_m <= 0.0:
            since = at, kg
    return Weighings(tuple(rows), None if since is None else since[0])


def _marks(soaks: Sequence[Soak]) -> dict[int, float]:
    """Weight [kg] by the number of soaks seen; where two were written down for one moment, the later one."""
    said: dict[int, Mark] = {}
    for i, soak in enumerate(soaks):
        for at, mark in ((i, soak.before), (i + 1, soak.after)):
            if mark is not None and (at not in said or mark[0] >= said[at][0]):
                said[at] = mark
    return {at: said[at][1] for at in sorted(said)}


def _weighed(soaks: Sequence[Soak], can: Canister, oven: str, start: int, end: int, kg: float) -> Weighed:
    between = soaks[start:end]
    got = float(spall.weighed_loss(kg, outside_area_m2(can), DENSITY.get(can.material, scaling.STEEL_DENSITY)))
    law, hot = sum(s.law_m for s in between), sum(s.law_m > 0.0 for s in between)
    use: Use = "no"
    if law <= 0.0:
        why = "no soak between that takes wall: nothing to compare with"
    elif got <= 0.0:
        why = "it did not get lighter: was scale still on it, or another lid weighed with it?"
    elif got >= can.wall_m:
        why = f"{1e3 * got:.1f} mm is more than the whole wall: look at the weights and at what was weighed"
    elif any(s.oven != oven for s in between if s.law_m > 0.0):
        use, why = "wall", "in another oven: counts for the wall, not for the rate here"
    else:
        use, why = "rate", ""
        if not 1.0 / STRANGE.value <= got / law <= STRANGE.value:
            why = f"{got / law:.2g} times what the law says: look at the weights once more"
    return Weighed(start, end - 1, kg, got, law, hot, use, why)


def rate_of(rows: Sequence[Weighed], material: str) -> Rate:
    """The law's rate, moved by the weighings (spall.fitted_scale)."""
    used = [spall.Weighing(w.measured_m, w.predicted_m, w.soaks) for w in rows if w.use == "rate"]
    prior = spall.KP_SD_LN.value if material in ("steel", "fireclay") else ALLOY_RATE_SPREAD
    return Rate(spall.fitted_scale(used) if used else 1.0, len(used), prior)


def measured(soaks: Sequence[Soak], rows: Sequence[Weighed]) -> dict[int, float]:
    """Loss [m] of each soak that was weighed; a weighing over several is shared out as the law says."""
    good = [w for w in rows if w.use != "no"]
    return {i: w.measured_m * soaks[i].law_m / w.predicted_m for w in good for i in range(w.first, w.last + 1)}


def central_loss(soaks: Sequence[Soak], known: Mapping[int, float], rate: Rate) -> float:
    """Metal lost so far [m], mean over the area, central estimate."""
    return sum(known.get(i, s.law_m * math.sqrt(rate.scale)) for i, s in enumerate(soaks))
