"""Runs the published experiments through the project's own fold: build, draw, advance. Pure but for its memory.

The temperatures published are taken as the iron's own; the ensemble keeps its doubt of them (12 degC, one sigma).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np
from experiment_cases import Cases, Point, Setup, load
from numpy.typing import NDArray

from soak.job.canister import Canister, Vent
from soak.job.fit import fit
from soak.job.job import Job
from soak.job.oven import Oven
from soak.job.pack import Pack
from soak.job.packing import Packing
from soak.job.stock import Iron, Stock
from soak.job.target import Limits, Target
from soak.physics import energizer
from soak.physics.activity import alloy, carbon_at
from soak.physics.diffusion import constant_flux, grid, step
from soak.physics.diffusivity import austenite
from soak.process import outcome
from soak.process.advance import advance, settle
from soak.process.charge import Charge, build
from soak.process.draws import Draws, draw
from soak.process.state import State, cold
from soak.trace import Reading

Array = NDArray[np.float64]

MEMBERS = 64
START_C, COLD_ENOUGH_C = 20.0, 700.0  # below 727 degC nothing moves
KELVIN = 273.15
# the iron's own temperature is given, so the oven is never asked for anything
NO_OVEN = Oven("none", "none", 1150.0, 1000.0, (2.0, 2.0, 5.0), ((20.0, 300.0), (1150.0, 300.0)), ((20.0, 60.0),))
LAYER_M, RICH, POOR = 0.15e-3, 0.010, 0.0002  # E8


@dataclass(frozen=True, slots=True)
class After:
    """What one look at one fold shows: the charge, the state, the slowest-heated piece's index."""

    charge: Charge
    state: State
    piece: int


@dataclass(slots=True)
class Folds:
    """Every fold is run once, for all the hours that any row asks of it."""

    cases: Cases
    draws: Draws = field(default_factory=lambda: draw(MEMBERS))
    seen: dict[Point, After] = field(default_factory=dict)

    def after(self, point: Point) -> After:
        if point not in self.seen:
            asked = {p for row in self.cases.rows for p in row.at} | {point}
            hours = sorted(p.hours for p in asked if (p.setup, p.celsius) == (point.setup, point.celsius))
            setup = self.cases.setups[point.setup]
            for h, look in zip(hours, _fold(setup, point.celsius, hours, self.draws), strict=True):
                self.seen[replace(point, hours=h)] = look
        return self.seen[point]

    def depth_mm(self, point: Point, criterion: str) -> Array:
        """Depth of the case [mm], shape (member,). criterion: "0.40" is % C, "+0.05" is % C above the core."""
        look = self.after(point)
        core = look.charge.start[look.piece] if criterion.startswith("+") else 0.0
        carbon = float(core) + float(criterion) / 100.0
        value: Array = 1e3 * outcome.case_depth(look.charge, look.state, carbon)[:, look.piece]
        return value

    def surface_pct(self, point: Point) -> Array:
        look = self.after(point)
        value: Array = 100.0 * outcome.surface(look.charge, look.state)[:, look.piece]
        return value

    def mean_pct(self, point: Point) -> Array:
        look = self.after(point)
        value: Array = 100.0 * outcome.mean(look.charge, look.state)[:, look.piece]
        return value

    def at_depth_pct(self, point: Point, depth_m: float) -> Array:
        look = self.after(point)
        value: Array = 100.0 * outcome.at_depth(look.charge, look.state, depth_m)[:, look.piece]
        return value

    def exponent(self, points: Iterable[Point], criterion: str) -> Array:
        """n of depth = k t^n by least squares of the logarithms, shape (member,)."""
        points = tuple(points)
        ln_t = np.log([p.hours for p in points])
        ln_d = np.log([self.depth_mm(p, criterion) for p in points])
        ln_t = ln_t - ln_t.mean()
        value: Array = ln_t @ ln_d / (ln_t @ ln_t)
        return value

    def graphite_pct(self, point: Point) -> Array:
        """Carbon of austenite in balance with graphite [%], shape (member,)."""
        kelvin = point.celsius + KELVIN + self.draws["temperature_offset_k"]
        iron = alloy(self.cases.setups[point.setup].iron)
        return 100.0 * carbon_at(-self.draws["ln_activity"], kelvin, iron)

    def catalyst(self, point: Point) -> Array:
        """How many times faster than clean charcoal, with the doubt that the pack's factor carries, shape (member,)."""
        return energizer.catalyst(self.cases.setups[point.setup].energizer) * self.draws["pack_conductance"]

    def layer_spread_pct(self, point: Point) -> Array:
        """Greatest difference left between welded layers, % of the first one, shape (member,)."""
        kelvin = (point.celsius + KELVIN + self.draws["temperature_offset_k"])[:, None, None]
        speed = self.draws["diffusivity"][:, None, None]
        # from the middle of a rich layer to the middle of a poor one, nothing passing either; the seam half way
        where = grid("strip", LAYER_M, 41, grading=1.0)
        first = np.where(where.depth < 0.5 * LAYER_M, RICH, POOR)
        carbon = np.broadcast_to(first, (MEMBERS, *first.shape)).copy()
        seconds, steps = 3600.0 * point.hours, 120
        trend = np.zeros_like(carbon)
        for _ in range(steps):
            after, _flux = step(
                carbon, trend, seconds / steps, where, lambda w: speed * austenite(w, kelvin), constant_flux(0.0)
            )
            trend = (after - carbon) * (steps / seconds)
            carbon = after
        left: Array = 100.0 * (carbon.max(axis=-1) - carbon.min(axis=-1))[:, 0] / (RICH - POOR)
        return left


@cache
def all_folds() -> Folds:
    """Those of all published cases, run once for everybody who asks in this process."""
    return Folds(load())


def _job(setup: Setup) -> Job:
    c = {k: v if k == "material" else 1e-3 * v for k, v in setup.canister.items()}
    canister = Canister(
        name=setup.name,
        title=setup.words,
        form="box",
        material=c["material"],
        length_m=c["length"],
        wall_m=c["wall"],
        bottom_m=c["wall"],
        lid_m=c["wall"],
        vent=Vent("none"),
        width_m=c["width"],
        height_m=c["height"],
        lute_gap_m=c["lute_gap"],
        lute_m=c["lute"],
    )
    iron = Iron("published", "published", setup.iron)
    return Job(
        name=setup.name,
        title=setup.words,
        target=Target(0.004),
        stock=(Stock(iron, "strip", setup.thickness_m, setup.width_m, setup.length_m, setup.count),),
        packing=Packing(setup.gap_m, setup.cover_m),
        canister=canister,
        pack=Pack(setup.name, setup.words, setup.energizer, density=setup.density),
        oven=NO_OVEN,
        controller=None,
        limits=Limits(),
    )


def _fold(setup: Setup, celsius: float, hours: list[float], draws: Draws) -> list[After]:
    """The climb, the hold, and at each of `hours` a look (after cooling, where the setup cools)."""
    job = _job(setup)
    charge = replace(build(job, fit(job), draws, measured="charge"), longest_s=setup.longest_s)
    piece = [i for i, p in enumerate(charge.pieces) if p.where == "core"][-1]
    state = _reach(charge, _reach(charge, cold(charge, START_C), 0.0, START_C), setup.ramp_h, celsius)
    looks = []
    for h in hours:
        state = _reach(charge, state, setup.ramp_h + h, celsius)
        end = state
        if setup.cool_h:
            end = _reach(charge, state, setup.ramp_h + h + setup.cool_h, COLD_ENOUGH_C)
        looks.append(After(charge, settle(charge, end)[0], piece))
    return looks


def _reach(charge: Charge, state: State, hours: float, celsius: float) -> State:
    """A straight line from where the trace stands to this temperature at this hour."""
    return advance(charge, state, Reading(3600.0 * hours, celsius, charge_c=celsius))[0]
