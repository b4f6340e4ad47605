"""The life of a canister: what its soaks took from the wall, and how many more it will see. Pure.

A fold over its soaks, oldest first. Scale falls at every cool-down (`spall.FRACTION` 1), so the losses add up. One
ensemble goes through all soaks: a member that scales fast does so in each of them, and its doubt is not averaged out.
Metres, kilograms; holds in degC.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from soak.job.canister import Canister
from soak.job.fit import fit, steel_volume_m3
from soak.job.job import Job
from soak.job.layout import inside_m
from soak.physics import creep, scaling, spall
from soak.plan.choose import choose
from soak.process.charge import STEEL_DENSITY
from soak.process.draws import draw
from soak.process.outcome import Band, band, wall_lost
from soak.process.result import NOT_LIMITED
from soak.process.state import ZERO_C
from soak.shop.canister_weighing import (
    Rate,
    Soak,
    Weighed,
    measured,
    rate_of,
    wall_mass,
    weighings,
)
from soak.sources import Sourced

Array = NDArray[np.float64]
When = Literal["now", "after", "first"]

WEIGHED_SD = Sourced(0.05, "1", "ln of a loss that was weighed", "outside area, scale left on", "judgement")
_MOST_USED = 99.0  # a wall that was never thick enough has used more than this of nothing


@dataclass(frozen=True, slots=True)
class Next:
    """A soak to come: whose like it is, its hottest hold, metal lost, central, by the law as published."""

    like: str
    hold_c: float | None
    law_m: float


@dataclass(frozen=True, slots=True)
class Members:
    """The ensemble, shape (member,): score of the rate, oven's temperature offset, local factor, wall as a share."""

    score: Array
    offset_k: Array
    local: Array
    wall: Array
    weight: Array


@dataclass(frozen=True, slots=True)
class Ahead:
    """The next soak: metal lost (mean), soaks like it left, chance that it breaches."""

    next: Next
    lost: Band
    soaks_left: Band
    breach_chance: float


@dataclass(frozen=True, slots=True)
class Tell:
    """What one more weighing would tell. when: now, or after the next soak (first: never weighed, so now as well).
    kg_per_m: mass by thickness of wall. kg: what should then have gone. The bands: what would then be known."""

    when: When
    kg_per_m: float
    sd_ln: float
    kg: Band | None = None
    wall_now: Band | None = None
    soaks_left: Band | None = None


@dataclass(frozen=True, slots=True)
class Life:
    """All of it. lost: per soak; known: indices of those the balance spoke of. Bands in m, `used` a share."""

    canister: Canister
    retire_m: float
    soaks: tuple[Soak, ...]
    lost: tuple[Band, ...]
    known: frozenset[int]
    mean_lost: Band
    wall_now: Band
    used: Band
    weighed: tuple[Weighed, ...]
    rate: Rate
    ahead: Ahead | None
    tell: Tell


@dataclass(frozen=True, slots=True)
class _Fold:
    """What the steps below share."""

    can: Canister
    soaks: tuple[Soak, ...]
    who: Members
    retire_m: float

    def lost(self, known: Mapping[int, float], rate: Rate) -> list[Array]:
        """Loss of each soak [m] by member. One that thinks the rate high also thinks that a weighing missed some."""
        weighed = np.exp(WEIGHED_SD.value * self.who.score)
        return [known[i] * weighed if i in known else self.one(s, rate) for i, s in enumerate(self.soaks)]

    def one(self, soak: Soak | Next, rate: Rate) -> Array:
        """Loss of one unweighed soak [m] by member. A weighing sees rate and oven temperature at once: narrows both."""
        ln = rate.prior_sd_ln * self.who.score
        if soak.hold_c is not None and self.can.material != "fireclay":
            ln = ln + np.log(_heat_rate(self.can.material, soak.hold_c + ZERO_C + self.who.offset_k, self.who.score))
            ln -= ln[0]
        return np.asarray(soak.law_m * np.sqrt(rate.scale * np.exp(ln / math.sqrt(rate.count + 1))))

    def total(self, each: Sequence[Array]) -> Array:
        return np.sum(each, axis=0) if each else np.zeros(len(self.who.weight))

    def left(self, lost: Array) -> Array:
        """Wall at its thinnest [m]."""
        return np.asarray(self.can.wall_m * self.who.wall - self.who.local * lost)

    def band(self, values: Array) -> Band:
        return band(values, self.who.weight)

    def ahead(self, coming: Next, rate: Rate, left: Array) -> Ahead:
        lost = self.one(coming, rate)
        with np.errstate(divide="ignore", invalid="ignore"):
            soaks = np.floor((left - self.retire_m) / (self.who.local * lost) + 1e-9)
        soaks = np.clip(np.nan_to_num(soaks, nan=NOT_LIMITED), 0.0, NOT_LIMITED)
        through = (self.who.weight * (left - self.who.local * lost <= 0.0)).sum() / self.who.weight.sum()
        return Ahead(coming, self.band(lost), self.band(soaks), float(through))


def _heat_rate(material: str, kelvin: Array, score: Array) -> Array:
    """K at each member's own temperature [m2/s], with 18-8 broken away where the process has it broken away."""
    rate = scaling.rate(material, kelvin)
    if material != "304":
        return rate
    onset = spall.breakaway_onset(np.array([1.0 - NormalDist().cdf(z) for z in score]))
    return rate * spall.breakaway_factor(kelvin, kelvin > onset)


def life(can: Canister, soaks: Sequence[Soak], coming: Next | None, oven: str, sag_m: float = 0.0) -> Life:
    """Fold a canister's soaks, oldest first.

    Args:
        can: the canister, as new.
        coming: the soak to look ahead to, if any.
        oven: where that will be; weighings after soaks in other ovens say nothing of its rate.
        sag_m: thinnest floor that does not sag [m], 0 where a shelf carries it.
    """
    retire_m = float(creep.retire_at(can.wall_m, sag_m, can.expendable))
    f = _Fold(can, tuple(soaks), ensemble(soaks), retire_m)
    balance = weighings(soaks, can, oven)
    rate, known = rate_of(balance.rows, can.material), measured(soaks, balance.rows)
    each = f.lost(known, rate)
    lost = f.total(each)
    used = creep.used_share(can.wall_m * f.who.wall, f.who.local * lost, np.asarray(retire_m))
    return Life(
        can,
        retire_m,
        f.soaks,
        tuple(map(f.band, each)),
        frozenset(known),
        f.band(lost),
        f.band(f.left(lost)),
        f.band(np.minimum(used, _MOST_USED)),
        balance.rows,
        rate,
        None if coming is None else f.ahead(coming, rate, f.left(lost)),
        _tell(f, coming, rate, known, balance.since),
    )


def _tell(f: _Fold, coming: Next | None, rate: Rate, known: Mapping[int, float], since: int | None) -> Tell:
    """One more weighing that says just what is expected: the centre stays, the doubt shrinks."""
    then = Rate(rate.scale, rate.count + 1, rate.prior_sd_ln)
    kg_per_m = wall_mass(f.can)
    fresh = {} if since is None else {i: s for i, s in enumerate(f.soaks) if i >= since and s.law_m > 0.0}
    when: When = "now" if fresh else "first" if since is None else "after"
    seen: list[Soak | Next] = [*fresh.values()] if fresh else [coming] if coming is not None else []
    if f.can.material == "fireclay" or not seen:
        return Tell(when, kg_per_m, then.sd_ln)
    would = dict(known) | {i: s.law_m * math.sqrt(rate.scale) for i, s in fresh.items()}
    left = f.left(f.total(f.lost(would, then)))
    return Tell(
        when,
        kg_per_m,
        then.sd_ln,
        f.band(kg_per_m * f.total([f.one(s, rate) for s in seen])),
        f.band(left),
        None if coming is None else f.ahead(coming, then, left).soaks_left,
    )


def ensemble(soaks: Sequence[Soak]) -> Members:
    """The members of the latest run that kept them; of a fresh draw if none did."""
    found = next((m for soak in reversed(soaks) if (m := _members(soak.header.draws)) is not None), None)
    if found is not None:
        return found
    d = draw()
    one = _members({"names": d.names, "scores": d.scores, "values": d.values, "weights": d.weights})
    assert one is not None
    return one


def _members(draws: Mapping[str, Any]) -> Members | None:
    try:
        at = {name: i for i, name in enumerate(draws["names"])}
        scores, values, weights = (np.array(draws[k], dtype=np.float64) for k in ("scores", "values", "weights"))
        offset = values[:, at["temperature_offset_k"]]
        columns = values[:, at["local_factor"]], values[:, at["wall_thickness"]]
        return Members(scores[:, at["scaling_rate"]], offset - offset[0], *columns, weights)
    except (KeyError, ValueError, TypeError, IndexError):
        return None


def like_last(soaks: Sequence[Soak]) -> Next | None:
    """The last soak that went to its end, else the last that took wall at all."""
    hot = [s for s in soaks if s.heat_h > 0.0 or s.law_m > 0.0]
    last = next((s for s in reversed(hot) if s.ended == "complete"), hot[-1] if hot else None)
    return None if last is None else Next(last.run, last.hold_c, last.law_m)


def like_job(job: Job, can: Canister) -> Next:
    """What this canister would lose in a job planned now. The past does not change that; the wall is judged by `life`.

    Raises PlanError, as a plan does.
    """
    planned = choose(replace(job, canister=can), override="only asked what it would lose", members=1)
    lost = float(wall_lost(planned.charge, planned.outcome.state)[0])
    return Next(job.name, planned.chosen.hold_c, lost / math.sqrt(float(planned.charge.scaling[0])))


def floor_sag_m(job: Job, can: Canister, hold_c: float) -> float:
    """Thinnest floor that does not sag [m] when only its edges are held up, loaded with this job's iron and pack.

    0 for a canister whose whole floor a shelf carries, and for fireclay. As process.result.sag, before the soak.
    """
    if can.floor_supported or can.material == "fireclay":
        return 0.0
    iron = STEEL_DENSITY * sum(map(steel_volume_m3, job.stock))
    pack = job.pack.density * fit(replace(job, canister=can)).pack_volume_m3
    width, _, length = inside_m(can)
    load = creep.floor_load(iron + pack, width * length)
    return float(creep.sag_thickness(load, width, creep.allowed_stress(can.material, hold_c + ZERO_C), length))
