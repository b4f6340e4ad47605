"""From a job to a plan: the coolest hold that puts the carbon in within the time allowed. Uses the loop, nothing else.

Every hold temperature is tried by letting time pass on an ideal oven with member 0; the chosen one is then run with the
whole ensemble. There is no second, faster model.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from soak.errors import PlanError
from soak.job.history import History
from soak.job.job import Job
from soak.job.packing import Fit
from soak.plan import ceiling, segments
from soak.plan.refuse import must_be_below_saturation, must_fit
from soak.process import result
from soak.process.charge import Charge, build
from soak.process.draws import Draws, draw
from soak.process.outcome import breach_chance, reached, slowest, surface, wall_lost
from soak.process.state import ZERO_C, cold
from soak.run.clock import JumpClock
from soak.run.guards import Thresholds
from soak.run.ideal import IdealOven
from soak.run.loop import run
from soak.run.task import Outcome, Task
from soak.segments import Plan

MEMBERS = 64
TICK_S, SLOW_TICK_S = 60.0, 300.0
ROOM = 0.03  # of the time allowed is left, that a real oven's lag does not end the hold on the clock
HOLD_ACTIVATION_K = 18000.0  # hold time goes about as exp(this/T): 150 kJ/mol, only used to guess the next trial
BELOW_A1_C = 700.0  # a trial need not wait for the canister to be cold
LONGEST_HOLD_H = 24.0  # how far a hold is followed to say how long it would take
BREACH_WARN, BREACH_REFUSE = 0.02, 0.10
ALLOY_RATE_SPREAD = float(np.log(4.0) / 1.2816)  # alloys scale 4 times faster or slower at the 10 % and 90 % points


@dataclass(frozen=True, slots=True)
class Trial:
    """One hold temperature tried with member 0. Carbon of the slowest piece, mass fraction; lengths in m. through_h:
    when the canister goes through, by the central estimate."""

    hold_c: float
    hold_h: float
    heat_on_h: float
    met: bool
    reached: float
    surface: float
    wall_lost_m: float
    through_h: float | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan and all that came of it."""

    job: Job
    fit: Fit
    draws: Draws
    charge: Charge
    plan: Plan
    outcome: Outcome
    chosen: Trial
    trials: tuple[Trial, ...]
    top: ceiling.Ceiling
    overridden: str = ""
    asked: bool = False


def spreads(job: Job, history: History | None = None) -> dict[str, float]:
    """What this oven and canister change about the usual doubts."""
    out = {"temperature_offset_k": job.oven.sensor_sigma_c}
    if job.canister.material not in ("steel", "fireclay"):
        out["scaling_rate"] = ALLOY_RATE_SPREAD
    if history is not None and history.scaling_sd_ln is not None:
        out["scaling_rate"] = history.scaling_sd_ln
    return out


def choose(
    job: Job, history: History | None = None, at_c: float | None = None, override: str = "", members: int = MEMBERS
) -> Planned:
    """Plan a job.

    Args:
        job: what the smith has and wants.
        history: what earlier soaks left behind.
        at_c: ask for this hold temperature instead of the coolest that serves [degC].
        override: a typed reason to accept a breach chance above 10 %.
        members: size of the ensemble.

    Raises: PlanError, with the nearest thing that works in `nearest`.
    """
    history = history or History()
    fitted = must_fit(job)
    top = ceiling.usual(job) if at_c is None else ceiling.hard(job)
    draws = draw(members, spreads(job, history))
    one = replace(build(job, fitted, draw(1), history=history), watch_grain=False)
    if at_c is not None:
        if not ceiling.COOLEST_C <= at_c <= top.hold_c:
            text = (
                f"a hold at {at_c:.0f} degC is outside {ceiling.COOLEST_C:.0f} to {top.hold_c:.0f} degC ({top.whose})"
            )
            hint = f"ask for {ceiling.COOLEST_C:.0f} to {top.hold_c:.0f} degC"
            raise PlanError("hold-out-of-range", text, hint)
        temperatures: tuple[float, ...] = (at_c,)
    else:
        temperatures = ceiling.candidates(top)
    if top.hold_c < ceiling.COOLEST_C:
        text = f"{top.whose} allows {top.hold_c:.0f} degC; carburizing needs {ceiling.COOLEST_C:.0f} degC or more"
        raise PlanError("too-cool", text, "use another oven or canister, or raise temperature_max")
    must_be_below_saturation(job, temperatures[-1], top)
    tried: dict[float, Trial] = {}

    def attempt(hold_c: float) -> Trial:
        if hold_c not in tried:
            tried[hold_c] = _try(job, one, hold_c)
        return tried[hold_c]

    def within(hold_c: float) -> Trial:
        heating = segments.heating_h(segments.shape(job, hold_c, 0.0, 0.0, 0.0))
        return _try(job, one, hold_c, max(job.limits.heat_on_max_h - heating, 0.0))

    chosen = _coolest(job, temperatures, attempt, within, top)
    for other in _beside(chosen.hold_c, ceiling.candidates(top), tried):
        attempt(other)

    charge = build(job, fitted, draws, history=history)
    limit_h = job.limits.heat_on_max_h
    plan = segments.shape(job, chosen.hold_c, chosen.hold_h, 0.0, 0.0)
    heating = segments.heating_h(plan)
    plan = segments.shape(job, chosen.hold_c, chosen.hold_h, 0.0, limit_h - heating)
    outcome = follow(job, charge, plan)
    plan = _measured(plan, outcome)
    planned = Planned(
        job,
        fitted,
        draws,
        charge,
        plan,
        outcome,
        chosen,
        tuple(tried[c] for c in sorted(tried)),
        top,
        override,
        at_c is not None,
    )
    _must_hold(planned, override)
    return planned


def _try(job: Job, one: Charge, hold_c: float, longest_h: float = LONGEST_HOLD_H) -> Trial:
    plan = segments.shape(job, hold_c, 0.0, 0.0, longest_h)
    outcome = follow(job, one, Plan((*plan.segments[:-1], replace(plan.segments[-1], to_c=BELOW_A1_C)), plan.limit_c))
    i = slowest(one, outcome.state, job.target)
    hold = next(d for d in outcome.done if d.segment.ends_on == "carbon")
    return Trial(
        hold_c,
        hold.hours,
        hold.end_s / 3600.0,
        outcome.target_met,
        float(reached(one, outcome.state, job.target)[0, i]),
        float(surface(one, outcome.state)[0, i]),
        float(wall_lost(one, outcome.state)[0]),
        next((e.time_s / 3600.0 for e in outcome.events if e.code == "breach"), None),
    )


def follow(job: Job, charge: Charge, plan: Plan) -> Outcome:
    """Let a plan's time pass on an ideal oven."""
    task = Task(
        charge,
        plan,
        job.target,
        job.oven.cooling,
        Thresholds(over_c=plan.limit_c + 1.0),
        tick_s=TICK_S,
        slow_tick_s=SLOW_TICK_S,
    )
    return run(task, IdealOven(job.oven), JumpClock(), None, cold(charge))


def _coolest(
    job: Job,
    temperatures: tuple[float, ...],
    attempt: Callable[[float], Trial],
    within: Callable[[float], Trial],
    top: ceiling.Ceiling,
) -> Trial:
    """The coolest temperature whose heat-on time fits: hotter is always quicker.

    Hold time goes nearly as exp(E/T), so the last trial points at the next; it ends when a temperature serves and the
    one below it is known not to.
    """
    limit_h = job.limits.heat_on_max_h

    def serves(t: Trial, room: float = ROOM) -> bool:
        return t.met and t.heat_on_h <= limit_h * (1.0 - room) + 1e-6

    low, high = -1, len(temperatures) - 1  # low: fails; high: serves
    best = attempt(temperatures[high])
    if not serves(best, room=0.0):
        raise _unreachable(job, best, within(temperatures[high]), top)
    last, before = best, None
    while high - low > 1:
        guess = _guess(last, before, limit_h * (1.0 - ROOM))
        i = min(max(bisect_left(temperatures, guess), low + 1), high - 1)
        trial = attempt(temperatures[i])
        if serves(trial):
            best, high = trial, i
        else:
            low = i
        last, before = trial, last
    return best


def _guess(last: Trial, before: Trial | None, limit_h: float) -> float:
    """Temperature [degC] at which the hold would just use up the time allowed: its logarithm is straight in 1/T."""

    def inverse(t: Trial) -> float:
        return 1.0 / (t.hold_c + ZERO_C)

    hold_h = math.log(max(limit_h - (last.heat_on_h - last.hold_h), 0.1))
    here = math.log(max(last.hold_h, 0.05))
    slope = HOLD_ACTIVATION_K
    if before is not None and before.met and last.met:
        slope = (math.log(max(before.hold_h, 0.05)) - here) / (inverse(before) - inverse(last))
    return 1.0 / (inverse(last) + (hold_h - here) / max(slope, 1000.0)) - ZERO_C


def _unreachable(job: Job, best: Trial, within: Trial, top: ceiling.Ceiling) -> PlanError:
    """Too thick, too slow or too cool: say what it would need, and what the time allowed does give (`within`)."""
    limit_h = job.limits.heat_on_max_h
    asked = f"{100 * job.target.carbon:.2f} % C ({job.target.where})"
    gives = f"{limit_h:g} h of heat at {best.hold_c:.0f} degC give {100 * within.reached:.2f} %"
    if best.met:
        text = (
            f"{asked} needs {best.heat_on_h:.1f} h of heat even at {best.hold_c:.0f} degC; heat_on_max is {limit_h:g} h"
        )
        hint = f"allow {math.ceil(best.heat_on_h * 2) / 2:g} h, use thinner stock, or ask for less: {gives}"
    elif best.through_h is not None and best.through_h <= limit_h:
        text = f"the canister {job.canister.name} goes through after {best.through_h:.1f} h at {best.hold_c:.0f} degC"
        return PlanError("breach", f"{text}, before {asked} is in", f"use a thicker canister, or ask for less: {gives}")
    else:
        text = f"{asked} is not reached in a hold of {LONGEST_HOLD_H:g} h at {best.hold_c:.0f} degC"
        hint = f"use thinner stock or ask for less: {gives}"
    nearest = {
        "hold_c": best.hold_c,
        "heat_on_h": round(within.heat_on_h, 2),
        "carbon_pct": round(100 * within.reached, 3),
    }
    return PlanError("not-reachable", text, f"{hint}; no hotter because of {top.whose}", nearest)


def _beside(hold_c: float, temperatures: tuple[float, ...], tried: Mapping[float, Trial]) -> tuple[float, ...]:
    """Another temperature to show on either side of the chosen one, where none was tried yet."""
    sides = (
        (temperatures[: bisect_left(temperatures, hold_c)][-3:][:1], any(t < hold_c for t in tried)),
        (temperatures[bisect_right(temperatures, hold_c) :][:3][-1:], any(t > hold_c for t in tried)),
    )
    return tuple(t for side, known in sides if not known for t in side)


def _measured(plan: Plan, outcome: Outcome) -> Plan:
    """The plan with the hours that the ideal run took."""
    done = {d.segment: d.hours for d in outcome.done}
    return Plan(tuple(replace(s, hours=done.get(s, s.hours)) for s in plan.segments), plan.limit_c)


def _must_hold(planned: Planned, override: str) -> None:
    chance = breach_chance(planned.charge, planned.outcome.state)
    if chance > BREACH_REFUSE and not override:
        wall = result.canister(planned.charge, planned.outcome.state, planned.job.canister)["wall_left_mm"]
        text = (
            f"the canister {planned.job.canister.name} would breach in {100 * chance:.0f} of 100 such soaks: "
            f"{wall['mid']:.2f} mm of wall left at its thinnest spot ({wall['low']:.2f} to {wall['high']:.2f} mm)"
        )
        nearest = {"breach_chance": round(chance, 3), "hold_c": planned.chosen.hold_c}
        raise PlanError("breach", text, 'use a thicker canister, or give a reason: --override "..."', nearest)
