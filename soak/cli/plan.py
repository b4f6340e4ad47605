"""`soak plan`: what to do, what to expect, what to mind."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Annotated, Any

from cyclopts import Parameter

from soak.cli import output as o
from soak.cli import plan_text
from soak.cli.common import COMMON, Common
from soak.cli.planned import planned_for
from soak.errors import UsageError
from soak.plan.choose import Planned
from soak.plan.document import document
from soak.plan.typein import Unit


def plan(
    job: str,
    /,
    *,
    start: str | None = None,
    type_in: Annotated[bool, Parameter(negative="")] = False,
    segments: int = 8,
    why: Annotated[bool, Parameter(negative="")] = False,
    trial: str | None = None,
    at: str | None = None,
    override: str = "",
    common: Common = COMMON,
) -> None:
    """Plan a job: segments, predicted carbon with its band, canister, pack, warnings.

    Parameters
    ----------
    job
        A job's name, or a path to its file.
    start
        When the power goes on, as 19:00: prints clock times.
    type_in
        Print a whole-degree, whole-minute program for a front panel.
    segments
        How many segments the front panel has.
    why
        What the band comes from, and which measurement would narrow it most.
    trial
        What a trial strip would show, drawn so long into the hold, as "3 h".
    at
        Hold at this temperature, as "1000 degC", instead of the coolest that serves.
    override
        A reason to accept a breach chance above 10 %.
    """
    planned = planned_for(job, at, override, common)
    doc = document(planned)
    if start is not None:
        doc["clock"] = clock_times(planned, start)
    if type_in:
        doc["type_in"] = typed(planned, segments, "degC" if common.units == "si" else "degF")
    if why:
        doc["why"] = causes(planned)
    if trial is not None:
        doc["trial"] = trial_strip(planned, trial)
    if common.json:
        o.emit_json(doc)
        return
    lines = plan_text.plan(doc, common.units)
    if start is not None:
        lines += ["", "by the clock", *(f"  {time}  {what}" for what, time in doc["clock"].items())]
    if type_in:
        lines += ["", *typed_text(doc["type_in"])]
    if why:
        lines += ["", *plan_text.why(doc["why"])]
    if trial is not None:
        lines += ["", f"a strip drawn {o.duration(doc['trial']['hours'])} into the hold", ""]
        lines += plan_text.pieces(doc["trial"]["pieces"], common.units)
    o.say(*lines)


def causes(planned: Planned) -> dict[str, Any]:
    """The band's causes as a document."""
    from soak.plan.why import why

    found = why(planned)
    return {
        "causes": [
            {
                "name": c.name,
                "what": c.words,
                "share_pct": round(100 * c.share, 1),
                "moves_pct": round(100 * c.moves, 4),
            }
            for c in found.causes
        ],
        "rest_pct": round(100 * found.rest, 1),
        "remedies": [{"what": r.what, "width_left_pct": round(100 * r.left, 1)} for r in found.remedies],
    }


def trial_strip(planned: Planned, said: str) -> dict[str, Any]:
    """What each piece holds so long into the hold, drawn hot: no cooling is counted."""
    from soak.plan.choose import follow
    from soak.process import result
    from soak.segments import Plan
    from soak.units import hours

    wanted = hours(said)
    if not 0.0 < wanted <= planned.chosen.hold_h:
        text = f"--trial {said}: the hold takes {planned.chosen.hold_h:.1f} h"
        raise UsageError("trial", text, "write a time inside the hold")
    heated = [s for s in planned.plan.segments if s.kind != "cool"]
    heated[-1] = replace(heated[-1], ends_on="time", hours=wanted, least_h=wanted, greatest_h=wanted)
    outcome = follow(planned.job, planned.charge, Plan(tuple(heated), planned.plan.limit_c))
    return {"hours": wanted, "pieces": result.pieces(planned.charge, outcome.state, planned.job.target, profile=True)}


def clock_times(planned: Planned, start: str) -> dict[str, str]:
    """At heat, power off, safe to open, for a start at HH:MM; "+1 d" for the next day."""
    try:
        begin = datetime.strptime(start.strip(), "%H:%M")
    except ValueError:
        raise UsageError("start", f"--start {start!r} is not a time of day", "write it as 19:00") from None
    outcome = planned.outcome

    def at(seconds: float) -> str:
        then = begin + timedelta(seconds=seconds)
        days = (then.date() - begin.date()).days
        return f"{then:%H:%M}" + (f" +{days} d" if days else "")

    times = {"power on": at(0.0)}
    if outcome.at_heat_s is not None:
        times["charge at heat"] = at(outcome.at_heat_s)
    if outcome.power_off_s is not None:
        times["power off"] = at(outcome.power_off_s)
    times["safe to open (oven left shut)"] = at(outcome.time_s)
    return times


def typed(planned: Planned, segments: int, unit: Unit) -> dict[str, Any]:
    """The program to type in, and what just these numbers are expected to give."""
    from soak.plan.choose import follow
    from soak.plan.typein import as_typed, type_in
    from soak.process import result

    lines = type_in(planned.plan, segments, unit)
    outcome = follow(planned.job, planned.charge, as_typed(planned.plan, lines, unit))
    return {
        "unit": unit,
        "lines": [{"kind": x.kind, "level": x.level, "rate_per_h": x.rate, "minutes": x.minutes} for x in lines],
        "predicted": result.predicted(planned.charge, outcome.state, planned.job.target),
    }


def typed_text(doc: dict[str, Any]) -> list[str]:
    unit = doc["unit"]
    rows = [("segment", "level", "rate", "time", "")]
    for i, x in enumerate(doc["lines"], 1):
        if x["kind"] == "off":
            rows.append((str(i), "off", "", "", "output off, end of program"))
        elif x["kind"] == "ramp":
            rows.append((str(i), f"{x['level']} {unit}", f"{x['rate_per_h']} {unit}/h", f"{x['minutes']} min", "ramp"))
        else:
            rows.append((str(i), f"{x['level']} {unit}", "", f"{x['minutes']} min", "hold"))
    mean = doc["predicted"]["mean_carbon_pct"]
    return [
        "to type in at the front panel",
        *o.table(rows),
        f"  this program ends on the clock, not on carbon; it is expected to give {o.percent(mean)} C in the mean",
    ]
