"""Puts the parts together and lets a run happen: plan, oven, clock, run file, person. Touches all of them."""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from soak.errors import UsageError
from soak.job.controller import Controller, Line
from soak.link.oven import ModbusOven
from soak.plan.choose import Planned
from soak.plan.document import document
from soak.process import result
from soak.process.state import cold
from soak.record.jsontext import plan_as_json
from soak.record.rows import Header, RunKind
from soak.record.store import Store
from soak.run.clock import WallClock
from soak.run.follow import Pace, pace_for
from soak.run.guards import Thresholds
from soak.run.loop import run
from soak.run.ports import Clock, Oven
from soak.run.task import Outcome, Task, View
from soak.shop.attendance import Attendance
from soak.shop.simulator import simulator

POLL_S, DRY_POLL_S, DRY_SLOW_S = 1.0, 5.0, 60.0
OVER_C = 25.0  # the software's trip above the plan's ceiling; an independent limiter is set a little higher
DRY_LINE = Line(baud=115200)  # a pseudo-terminal has no speed: ask for the shortest pause between frames
See = Callable[[View], None]
Attend = Callable[[Store, Path], Attendance]


def quietly(store: Store, path: Path) -> Attendance:
    """Nobody at the keyboard: only signals and the inbox are heard."""
    return Attendance(store, path, lambda text: None, ask_first=False, keys=False)


@dataclass(frozen=True, slots=True)
class Conducted:
    """A run that is over: its file, how it went, and the summary that was closed with it."""

    path: Path
    outcome: Outcome
    summary: dict[str, Any]
    frames: int
    wall_s: float


def controller_of(planned: Planned) -> Controller:
    controller = planned.job.controller
    if controller is None:
        raise UsageError(
            "no-controller",
            f'the job {planned.job.name} says controller = "none": there is nothing to talk to',
            "type the segments in by hand (soak plan --type-in), log the temperature, then soak predict",
        )
    return controller


def task_for(planned: Planned, pace: Pace, tick_s: float, slow_tick_s: float | None, attended: bool) -> Task:
    job = planned.job
    return Task(
        charge=planned.charge,
        plan=planned.plan,
        target=job.target,
        cooling=job.oven.cooling,
        thresholds=Thresholds(range_c=job.oven.sensor_range_c, over_c=planned.plan.limit_c + OVER_C),
        pace=pace,
        tick_s=tick_s,
        slow_tick_s=slow_tick_s,
        attended=attended,
    )


def pace_of(controller: Controller, planned: Planned) -> Pace:
    """How often this controller's setpoint may be written: seldom unless it is known to live in RAM."""
    if controller.signals["setpoint_asked"].memory == "ram":
        return Pace(interval_s=10.0, change_c=0.5)
    return pace_for(planned.plan, controller.min_interval_s, controller.min_change_c, controller.per_run)


def header(kind: RunKind, planned: Planned, link: dict[str, Any] | None) -> Header:
    """The inputs of a run as the run file keeps them."""
    job, draws = planned.job, planned.draws
    plan = plan_as_json(planned.plan) | document(planned) | {"canister_name": job.canister.name}
    return Header(
        kind=kind,
        started=datetime.now(UTC).isoformat(timespec="seconds"),
        job=job.name,
        title=job.title,
        job_text=job.text,
        profiles=job.profiles,
        plan=plan,
        draws={
            "names": list(draws.names),
            "scores": draws.scores.tolist(),
            "values": draws.values.tolist(),
            "weights": draws.weights.tolist(),
            "scaling_scale": float(planned.charge.scaling[0] / draws["scaling_rate"][0]),
        },
        link=link,
    )


def map_hash(controller: Controller) -> str:
    """Tells whether a register map has changed since it was tested."""
    return hashlib.sha256(json.dumps(asdict(controller), sort_keys=True, default=str).encode()).hexdigest()[:16]


def summary(planned: Planned, outcome: Outcome, path: Path) -> dict[str, Any]:
    """What `dry-run` and `run` tell, and what closes the run file."""
    charge, state, target = planned.charge, outcome.state, planned.job.target
    return {
        "job": planned.job.name,
        "title": planned.job.title,
        "predicted": result.predicted(charge, state, target),
        "pieces": result.pieces(charge, state, target, profile=True),
        "coupons": result.coupons(charge, state),
        "canister": result.canister(charge, state, planned.job.canister),
        "events": [asdict(e) for e in outcome.events],
        "warnings": document(planned)["warnings"],
        "segments": [
            {"kind": d.segment.kind, "to_c": d.segment.to_c, "hours": round(d.hours, 3), "ended_on": d.why}
            for d in outcome.done
        ],
        "run_file": str(path),
        "ended": outcome.ended,
        "target_met": outcome.target_met,
        "hours": round(outcome.time_s / 3600.0, 3),
        "heat_on_h": None if outcome.power_off_s is None else round(outcome.power_off_s / 3600.0, 3),
    }


def conduct(
    planned: Planned,
    kind: RunKind,
    oven: Oven,
    clock: Clock,
    task: Task,
    path: Path,
    link: dict[str, Any],
    attend: Attend,
    see: See | None,
) -> tuple[Outcome, dict[str, Any]]:
    """One run with its run file, from the first look to the last word."""
    store = Store.create(path, header(kind, planned, link), time.monotonic)
    try:
        person = attend(store, path)
        with person.listening():
            outcome = run(task, oven, clock, store, cold(task.charge), person, see)
        told = summary(planned, outcome, path)
        store.close(outcome.time_s, outcome.ended, told)
    except BaseException:
        store.leave()
        raise
    return outcome, told


def dry_run(
    planned: Planned,
    path: Path,
    seed: int = 0,
    faults: tuple[str, ...] = (),
    attend: Attend = quietly,
    see: See | None = None,
) -> Conducted:
    """The same loop as a real run, over real Modbus frames, on hw_sim."""
    controller = replace(controller_of(planned), line=DRY_LINE, reply_timeout_s=0.1, worst_reply_s=0.2)
    begun = time.monotonic()
    with simulator(planned, seed, faults) as sim:
        oven = ModbusOven.open(sim.port, sim.address, controller, planned.plan.limit_c)
        try:
            task = task_for(planned, pace_of(controller, planned), DRY_POLL_S, DRY_SLOW_S, attended=False)
            link = {"port": "hw_sim", "address": sim.address, "map": map_hash(controller), "seed": seed}
            outcome, told = conduct(planned, "dry-run", oven, sim.clock, task, path, link, attend, see)
        finally:
            oven.close()
    return Conducted(path, outcome, told, oven.questions, time.monotonic() - begun)


@contextmanager
def answering(planned: Planned, port: str, address: int) -> Iterator[ModbusOven]:
    """The oven at a port, once it has answered. Nothing is written. Raises LinkError."""
    oven = ModbusOven.open(port, address, controller_of(planned), planned.plan.limit_c)
    try:
        oven.read(0.0)
        yield oven
    finally:
        oven.close()


def real_run(
    planned: Planned,
    path: Path,
    oven: ModbusOven,
    link: dict[str, Any],
    rate: float,
    attend: Attend,
    see: See | None = None,
) -> Conducted:
    """The real thing, attended.

    `link` says where the oven was found. `rate` other than 1 was proven to belong to the simulator by the caller.
    """
    controller = controller_of(planned)
    begun = time.monotonic()
    tick_s = POLL_S if rate == 1.0 else max(POLL_S, DRY_POLL_S, rate / 50.0)
    task = task_for(planned, pace_of(controller, planned), tick_s, None, attended=True)
    told_link = link | {"map": map_hash(controller), "rate": rate}
    outcome, told = conduct(planned, "run", oven, WallClock(rate=rate), task, path, told_link, attend, see)
    return Conducted(path, outcome, told, oven.questions, time.monotonic() - begun)
