"""A plan as the document that other tools read and that the run file keeps. Pure; every key carries its unit."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from soak.job.target import Target
from soak.plan.choose import Planned, Trial
from soak.plan.packdoc import accounts
from soak.plan.warn import warnings
from soak.process import result
from soak.process.outcome import slowest
from soak.segments import Segment


def document(planned: Planned) -> dict[str, Any]:
    """All of `soak plan --json` but its format and version."""
    charge, state, target = planned.charge, planned.outcome.state, planned.job.target
    plan = planned.plan
    out: dict[str, Any] = {
        "job": planned.job.name,
        "title": planned.job.title,
        "target": target_document(target),
        "segments": [segment(s) for s in plan.segments],
        "limit_c": plan.limit_c,
        "hours_total": round(plan.hours_total, 2),
        "heat_on_h": round(plan.heat_on_h, 2),
        "at_heat_h": None if planned.outcome.at_heat_s is None else round(planned.outcome.at_heat_s / 3600.0, 2),
        "predicted": result.predicted(charge, state, target),
        "pieces": result.pieces(charge, state, target),
        "fit": {k: v for k, v in asdict(planned.fit).items() if k in ("fits", "count", "count_that_fits", "text")},
        "canister": result.canister(charge, state, planned.job.canister),
        "pack": accounts(planned),
        "coupons": result.coupons(charge, state),
        "normalise": result.normalising(charge, state, slowest(charge, state, target)),
        "warnings": [asdict(w) for w in warnings(planned)],
        "alternatives": [alternative(planned, t) for t in planned.trials],
    }
    if planned.overridden:
        out["override"] = planned.overridden
    return out


def target_document(t: Target) -> dict[str, Any]:
    """What is wanted, in per cent and mm."""
    out: dict[str, Any] = {
        "carbon_pct": round(100 * t.carbon, 4),
        "where": t.where,
        "tolerance_pct": round(100 * t.tolerance, 4),
    }
    if t.depth_m is not None:
        out["depth_mm"] = round(1000 * t.depth_m, 4)
    if t.depth_tolerance_m is not None:
        out["depth_tolerance_mm"] = round(1000 * t.depth_tolerance_m, 4)
    return out


def segment(s: Segment) -> dict[str, Any]:
    out: dict[str, Any] = {
        "kind": s.kind,
        "to_c": s.to_c,
        "rate_c_per_h": s.rate_c_per_h,
        "hours": round(s.hours, 3),
        "ends_on": s.ends_on,
    }
    if s.kind == "hold":
        out |= {"least_h": round(s.least_h, 3), "greatest_h": round(s.greatest_h, 3)}
    return out


def alternative(planned: Planned, t: Trial) -> dict[str, Any]:
    return {
        "hold_c": t.hold_c,
        "hold_h": round(t.hold_h, 2),
        "heat_on_h": round(t.heat_on_h, 2),
        "wall_lost_mm": round(1000.0 * t.wall_lost_m, 3),
        "surface_carbon_pct": round(100.0 * t.surface, 3),
        "chosen": t == planned.chosen,
        "why": why(planned, t),
    }


def why(planned: Planned, t: Trial) -> str:
    """Why this hold temperature was, or was not, chosen."""
    limit_h = planned.job.limits.heat_on_max_h
    if t == planned.chosen:
        fits = f"power is on for {t.heat_on_h:.1f} h, within {limit_h:g} h"
        if planned.asked:
            return (
                f"asked for with --at; {fits}"
                if t.heat_on_h <= limit_h
                else f"asked for with --at; needs {t.heat_on_h:.1f} h"
            )
        return f"the coolest that serves: {fits}"
    if not t.met:
        return f"does not get there: {100 * t.reached:.2f} % C after {t.hold_h:g} h"
    if t.hold_c < planned.chosen.hold_c and t.heat_on_h <= limit_h:
        return f"too close: power on for {t.heat_on_h:.1f} h of {limit_h:g} h leaves no room"
    if t.heat_on_h > limit_h:
        return f"too slow: power on for {t.heat_on_h:.1f} h, more than {limit_h:g} h"
    return "hotter than needed: harder on canister, grain and oven"
