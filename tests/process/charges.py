"""Small jobs, charges and traces for the tests of process, run and plan. Real parts only; nothing is stood in for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from soak.job.canister import Canister, Vent
from soak.job.fit import fit
from soak.job.job import Job
from soak.job.oven import Oven
from soak.job.pack import Pack
from soak.job.packing import Packing
from soak.job.stock import Iron, Stock
from soak.job.target import Limits, Target
from soak.process.advance import advance, settle
from soak.process.charge import Charge, build
from soak.process.draws import draw
from soak.process.state import State, cold
from soak.trace import Event, Reading

H = 3600.0
PURE = Iron("pure", "pure iron")
MILD = Iron("mild", "mild steel", {"C": 0.0008, "Mn": 0.0045, "Si": 0.0015})


def strip(
    mm: float = 3.0, count: int = 2, iron: Iron = MILD, width_mm: float = 30.0, length_mm: float = 150.0
) -> Stock:
    return Stock(iron, "strip", mm * 1e-3, width_mm * 1e-3, length_mm * 1e-3, count)


def bar(mm: float = 6.0, count: int = 2, iron: Iron = MILD, length_mm: float = 150.0) -> Stock:
    return Stock(iron, "round", mm * 1e-3, mm * 1e-3, length_mm * 1e-3, count)


PIPE = Canister(
    "pipe",
    "a pipe of plain steel",
    "pipe",
    "steel",
    length_m=0.200,
    wall_m=0.004,
    bottom_m=0.004,
    lid_m=0.004,
    vent=Vent("hole", 0.003, 0.004),
    diameter_m=0.080,
    lute_gap_m=0.00002,
    lute_m=0.25,
    lute_dry=True,
)
PACK = Pack("soda", "soda and lime", energizer={"Na2CO3": 0.04, "CaCO3": 0.05})
OVEN = Oven(
    "bench",
    "a bench oven",
    temperature_max_c=1100.0,
    power_w=3600.0,
    chamber_m=(0.25, 0.25, 0.32),
    ramp=((20.0, 1500.0), (600.0, 700.0), (1000.0, 450.0), (1100.0, 400.0)),
    cooling=((60.0, 15.0), (200.0, 60.0), (400.0, 120.0), (800.0, 300.0), (1000.0, 600.0)),
    ramp_usual_c_per_h=400.0,
)


def job(
    stock: Sequence[Stock] = (strip(),),
    *,
    target: Target | None = None,
    packing: Packing | None = None,
    canister: Canister = PIPE,
    pack: Pack = PACK,
    oven: Oven = OVEN,
    limits: Limits | None = None,
) -> Job:
    return Job(
        name="small",
        title="a small job",
        target=target or Target(0.006),
        stock=tuple(stock),
        packing=packing or Packing(0.010, 0.010),
        canister=canister,
        pack=pack,
        oven=oven,
        controller=None,
        limits=limits or Limits(),
    )


def charge(
    of: Job | None = None, members: int = 1, measured: Literal["oven", "charge"] = "charge", **override: Any
) -> Charge:
    """A job's charge; `override` replaces what the job would give (lengths in m, one value for all pieces)."""
    of = of or job()
    made = build(of, fit(of), draw(members), measured=measured)
    wide = {k: np.full(len(made.pieces), v) if k in ("depth_s", "start") else v for k, v in override.items()}
    return replace(made, **wide)


def sealed(of: Charge) -> Charge:
    """Nothing comes in or goes out: CO stays what it is."""
    return replace(of, gas=replace(of.gas, leak=np.full(of.members, 1e-15), lime_mol=0.0, volatile_mol=0.0))


def full_of_co(state: State, co: float = 1.0) -> State:
    return replace(state, co=np.full_like(state.co, co))


def held(celsius: float, hours: float, every_s: float = 60.0, begin_s: float = 0.0) -> list[Reading]:
    """The iron (and the oven) at one temperature from the start."""
    return [at(begin_s + t, celsius) for t in times(hours * H, every_s)]


def line(points: Iterable[tuple[float, float]], every_s: float = 60.0) -> list[Reading]:
    """Straight lines through (hours, degC)."""
    h, c = np.array(list(points)).T
    return [at(t, float(np.interp(t / H, h, c))) for t in times(h[-1] * H, every_s)]


def times(seconds: float, every_s: float) -> list[float]:
    return [i * every_s for i in range(round(seconds / every_s) + 1)]


def at(time_s: float, celsius: float) -> Reading:
    return Reading(time_s, celsius, charge_c=celsius)


def fold(charge: Charge, readings: Iterable[Reading], state: State | None = None) -> tuple[State, list[Event]]:
    """All readings, and the gathered rest stepped over."""
    state = state if state is not None else cold(charge)
    events: list[Event] = []
    for reading in readings:
        state, more = advance(charge, state, reading)
        events.extend(more)
    state, more = settle(charge, state)
    return state, [*events, *more]
