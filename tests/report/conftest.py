"""One run file made by the real loop on the ideal oven, written by the real store and loaded again."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import pytest

from soak.job.fit import fit
from soak.job.read import read_job_text
from soak.process import result
from soak.process.charge import build
from soak.process.draws import draw
from soak.process.state import cold
from soak.record.jsontext import plan_as_json
from soak.record.load import load
from soak.record.rows import Header, Note, Record
from soak.record.store import Store
from soak.run.clock import JumpClock
from soak.run.guards import Thresholds
from soak.run.ideal import IdealOven
from soak.run.loop import Task, run
from soak.segments import Plan, Segment

JOB = """format = 1
title = "Two strips & a <pin>"

[target]
carbon = "0.60 %"
tolerance = "0.08 %"
surface_max = "1.5 %"

[[stock]]
iron = "mild-steel"
shape = "strip"
thickness = "2 mm"
width = "32 mm"
length = "180 mm"
count = 6

[packing]
gap = "8 mm"
cover = "12 mm"

[use]
canister = "box-96x64"
pack = "charcoal-soda-lime"
oven = "bench-20l"
controller = "int-tenths"
"""


PLAN = Plan(
    (
        Segment("ramp", 120.0, "temperature", 0.33, 300.0),
        Segment("hold", 120.0, "time", 1.0, least_h=1.0, greatest_h=1.0),
        Segment("ramp", 950.0, "temperature", 2.77, 300.0),
        Segment("hold", 950.0, "carbon", 3.0, greatest_h=12.0),
        Segment("cool", 60.0, "temperature", 30.0),
    ),
    1000.0,
)


def make_run(path: Path) -> None:
    """A whole run, planned by hand: hold at 950 degC until the carbon is in."""
    job = read_job_text(JOB, "the test's job", name="strips")
    draws = draw(8)
    charge = build(job, fit(job), draws)
    plan = PLAN
    header = Header(
        kind="dry-run",
        started="2031-02-03T18:30:00+00:00",
        job=job.name,
        title=job.title,
        job_text=job.text,
        profiles=job.profiles,
        plan=plan_as_json(plan),
        draws={"names": list(draws.names), "members": draws.members, "values": draws.values},
        link={"port": "socket://localhost:5020", "address": 1},
    )
    store = Store.create(path, header, time.monotonic)
    task = Task(charge, plan, job.target, job.oven.cooling, Thresholds(over_c=1001.0), tick_s=30.0)
    done = run(task, IdealOven(job.oven), JumpClock(), store, cold(charge))
    store.note(Note("2031-02-05T09:10:00+00:00", "weighing", {"piece": "1 core", "after_g": 91.6}, "dry <b>", uid="a"))
    summary = {
        "predicted": result.predicted(charge, done.state, job.target),
        "pieces": result.pieces(charge, done.state, job.target, profile=True),
        "canister": result.canister(charge, done.state, job.canister),
        "warnings": [{"code": "network", "text": "The surface keeps a network of carbide."}],
        "events": [],
        "run_file": str(path),
        "ended": done.ended,
        "target_met": done.target_met,
        "hours": done.time_s / 3600.0,
    }
    store.close(done.time_s, done.ended, summary)


@pytest.fixture(scope="session")
def record(tmp_path_factory: pytest.TempPathFactory) -> Record:
    path = tmp_path_factory.mktemp("report") / "strips.soak"
    make_run(path)
    return load(path)


@pytest.fixture(scope="session")
def killed(record: Record) -> Record:
    """The same run, killed in the hold: no last word, nothing after."""
    marks = {e.code: e.time_s for e in record.events}
    cut_s = 60.0 * (0.5 * (marks["at-heat"] + marks["power-off"]) // 60.0)
    return replace(
        record,
        readings=tuple(r for r in record.readings if r.time_s <= cut_s),
        predictions=tuple(p for p in record.predictions if p.time_s <= cut_s),
        charge=tuple(c for c in record.charge if c.time_s <= cut_s),
        events=tuple(e for e in record.events if e.time_s <= cut_s),
        actions=tuple(a for a in record.actions if a.time_s <= cut_s),
        notes=(),
        profiles=(),
        closing=None,
        cautions=("The file was not closed by soak.",),
    )
