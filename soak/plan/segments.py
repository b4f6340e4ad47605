"""The shape of every soak: dry the lute, climb, hold until the carbon is in, power off, wait. Pure."""

from __future__ import annotations

from soak.job.job import Job
from soak.run.ideal import rate_at
from soak.segments import Plan, Segment

DRY_C, DRY_H = 120.0, 1.0  # common practice for fireclay lutes, no source
OPEN_C = 60.0  # hot charcoal reignites: open only below
ROOM_C = 20.0
HEADROOM = 0.9  # a plan asks for no more than this share of what the oven can climb


def ramp_rate(job: Job, hold_c: float) -> float:
    """The rate the oven, the canister and habit allow all the way up [degC/h]."""
    slowest = min(rate_at(job.oven.ramp, c) for c in (*(c for c, _ in job.oven.ramp if c < hold_c), hold_c))
    rates = [job.oven.ramp_usual_c_per_h, HEADROOM * slowest]
    if job.canister.ramp_max_c_per_h is not None:
        rates.append(job.canister.ramp_max_c_per_h)
    return round(min(rates), 0)


def shape(job: Job, hold_c: float, hold_h: float, least_h: float, greatest_h: float) -> Plan:
    """Segments for a hold at `hold_c` that ends on carbon; `hold_h` is what the central estimate expects.

    The hold is the plan's hottest point, and so the ceiling of every setpoint.
    """
    rate = ramp_rate(job, hold_c)
    dry: tuple[Segment, ...] = ()
    at_c = ROOM_C
    if not job.canister.lute_dry:
        dry = (
            Segment("ramp", DRY_C, "temperature", (DRY_C - ROOM_C) / rate, rate),
            Segment("hold", DRY_C, "time", DRY_H, least_h=DRY_H, greatest_h=DRY_H),
        )
        at_c = DRY_C
    return Plan(
        (
            *dry,
            Segment("ramp", hold_c, "temperature", (hold_c - at_c) / rate, rate),
            Segment("hold", hold_c, "carbon", hold_h, least_h=least_h, greatest_h=greatest_h),
            Segment("cool", OPEN_C, "temperature", 0.0),
        ),
        limit_c=hold_c,
    )


def heating_h(plan: Plan) -> float:
    """Hours from power on to the start of the carbon hold."""
    return sum(s.hours for s in plan.segments if s.kind != "cool" and s.ends_on != "carbon")
