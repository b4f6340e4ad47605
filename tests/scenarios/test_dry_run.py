"""A whole dry run over a pseudo-terminal: does it do what the plan said, and the same thing twice?"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from cli_parts import Bench, Whole
from in_process import play, world_for

from soak.plan.choose import Planned
from soak.record.load import load
from soak.record.rows import Record


def hold_of(document: dict[str, Any]) -> dict[str, Any]:
    found = [s for s in document["segments"] if s["kind"] == "hold"]
    assert len(found) == 1
    return dict(found[0])


def test_the_dry_run_does_what_the_plan_said(whole: Whole) -> None:
    """These 0.8 mm strips take 0.02 % C a minute, and a hold ends on whole minutes: half a minute is 2 % of the mean.
    (plane-irons, an ordinary job, agrees within 0.2 %.)"""
    plan, run = whole.plan, whole.doc
    for quantity, share in (("mean_carbon_pct", 0.02), ("surface_carbon_pct", 0.02)):
        assert run["predicted"][quantity]["mid"] == pytest.approx(plan["predicted"][quantity]["mid"], rel=share)
    assert hold_of(run)["hours"] == pytest.approx(hold_of(plan)["hours"], rel=0.10)
    assert hold_of(run)["ended_on"] == "carbon"
    assert [s["kind"] for s in run["segments"]] == [s["kind"] for s in plan["segments"]]
    assert run["canister"]["wall_lost_mm"]["mid"] == pytest.approx(plan["canister"]["wall_lost_mm"]["mid"], rel=0.05)


def test_every_segment_says_why_it_ended(whole: Whole) -> None:
    assert [(s["kind"], s["ended_on"]) for s in whole.doc["segments"]] == [
        ("ramp", "temperature"),
        ("hold", "carbon"),
        ("cool", "temperature"),
    ]
    codes = [e["code"] for e in whole.doc["events"]]
    assert codes.count("segment-ended") == 3
    assert codes.index("at-heat") < codes.index("power-off") < codes.index("complete")
    assert {e["severity"] for e in whole.doc["events"]} <= {"info", "warning"}


def test_the_setpoint_was_written_seldom_and_proven_each_time(whole: Whole) -> None:
    record = load(whole.run)
    written = [a for a in record.actions if a.action == "setpoint"]
    assert 0 < len(written) <= 200
    assert all(b.time_s - a.time_s >= 60.0 for a, b in pairwise(written))
    assert all(abs((b.value or 0) - (a.value or 0)) >= 1.0 for a, b in pairwise(written))
    assert {a.outcome for a in record.actions} == {"read back"}
    assert record.actions[-1].action == "make-safe"
    plan_c = max(s["to_c"] for s in whole.plan["segments"])
    assert max(a.value or 0.0 for a in written) == plan_c


def test_the_oven_is_left_off(whole: Whole) -> None:
    """From power off on the controller itself reports no output and its lowest setpoint."""
    record = load(whole.run)
    off_s = next(e.time_s for e in record.events if e.code == "power-off")
    after = [r for r in record.readings if r.time_s > off_s]
    assert after
    assert {(r.output_pct, r.setpoint_c) for r in after} == {(0.0, 0.0)}
    assert max(r.output_pct or 0.0 for r in record.readings) > 50.0


def bare(record: Record) -> Record:
    """Without what two runs may differ in: when they began."""
    return replace(record, header=replace(record.header, started=""))


def test_the_same_seed_is_the_same_run(bench: Bench) -> None:
    """Over the real pipe and pseudo-terminal."""
    words = ("dry-run", bench.job(), "--fault", "sensor-open@1200s", "--json")
    for _ in range(2):
        assert bench(*words).code == 6
    first, second = (bare(load(path)) for path in bench.runs)
    assert len(first.readings) == 242
    assert first.readings == second.readings
    assert first.predictions == second.predictions
    assert first.charge == second.charge
    assert first.events == second.events
    assert first.actions == second.actions
    assert first.header == second.header


def test_the_port_changes_nothing(planned: Planned, whole: Whole, tmp_path: Path) -> None:
    """A world in this process gives, into the hold, reading for reading what came over pipe and pseudo-terminal."""
    here, there = play(planned, tmp_path, world_for("sensor-open@5400s")).record, load(whole.run)
    assert [r for r in there.readings if r.time_s < 5400.0] == [r for r in here.readings if r.time_s < 5400.0]
    assert [p for p in there.predictions if p.time_s < 5400.0] == [p for p in here.predictions if p.time_s < 5400.0]
    assert [e for e in there.events if e.time_s < 5400.0] == [e for e in here.events if e.time_s < 5400.0]


def test_another_seed_is_another_oven(planned: Planned, tmp_path: Path) -> None:
    traces = []
    for seed in (1, 2):
        folder = tmp_path / str(seed)
        folder.mkdir()
        ended = play(planned, folder, world_for("sensor-open@300s", seed=seed))
        traces.append([r.oven_c for r in ended.record.readings])
    assert len(traces[0]) == len(traces[1])
    assert traces[0] != traces[1]


def test_a_dry_run_wears_nothing(bench: Bench) -> None:
    job = bench.job()
    before = bench("plan", job, "--json").document()["canister"]
    assert bench("dry-run", job, "--fault", "sensor-open@10min", "--json").code == 6
    assert bench("plan", job, "--json").document()["canister"] == before
