"""The plan as other tools read it: every key of the contract, and the numbers agree with one another."""

from __future__ import annotations

import dataclasses
import json

import pytest
from plans import at, default, small

from soak.job.target import Target
from soak.plan.choose import Planned
from soak.plan.document import alternative, document, why

BAND = {"low", "mid", "high"}
PREDICTED = {"mean_carbon_pct", "surface_carbon_pct", "centre_carbon_pct", "case_depth_mm"}


def is_band(value: object) -> bool:
    return isinstance(value, dict) and set(value) == BAND and value["low"] <= value["mid"] <= value["high"]


@pytest.fixture(scope="module")
def doc() -> dict[str, object]:
    return json.loads(json.dumps(document(default())))  # it is JSON, too


def test_all_keys_of_the_contract(doc: dict) -> None:
    top = {"segments", "hours_total", "heat_on_h", "predicted", "pieces", "fit", "canister", "pack", "warnings"}
    assert top | {"alternatives"} <= set(doc)
    for s in doc["segments"]:
        assert {"kind", "to_c", "rate_c_per_h", "hours", "ends_on"} <= set(s)
        assert s["kind"] in ("ramp", "hold", "cool")
        assert s["ends_on"] in ("time", "temperature", "carbon")
    for found in (doc["predicted"], *doc["pieces"]):
        assert all(is_band(found[name]) for name in PREDICTED)
        assert 0.0 <= found["chance_in_tolerance"] <= 1.0
    assert {p["where"] for p in doc["pieces"]} == {"wall", "core"}
    assert {"fits", "count_that_fits"} <= set(doc["fit"])
    assert all(is_band(doc["canister"][k]) for k in ("wall_lost_mm", "wall_left_mm", "soaks_left"))
    assert 0.0 <= doc["canister"]["breach_chance"] <= 1.0
    assert {"pack_kg", "carbon_ratio"} <= set(doc["pack"])
    assert all({"code", "text"} == set(w) for w in doc["warnings"])
    for a in doc["alternatives"]:
        assert {"hold_c", "hold_h", "heat_on_h", "wall_lost_mm", "surface_carbon_pct", "chosen", "why"} <= set(a)


def test_the_numbers_agree(doc: dict) -> None:
    assert doc["hours_total"] == pytest.approx(sum(s["hours"] for s in doc["segments"]), abs=0.01)
    heat = [s["hours"] for s in doc["segments"] if s["kind"] != "cool"]
    assert doc["heat_on_h"] == pytest.approx(sum(heat), abs=0.01)
    chosen = [a for a in doc["alternatives"] if a["chosen"]]
    assert len(chosen) == 1
    assert chosen[0]["hold_c"] == doc["segments"][-2]["to_c"]
    slowest = min(doc["pieces"], key=lambda p: p["mean_carbon_pct"]["mid"])
    assert doc["predicted"]["piece"] == slowest["piece"]
    assert doc["predicted"]["mean_carbon_pct"]["mid"] == pytest.approx(0.50, abs=0.003)
    assert [a["hold_c"] for a in doc["alternatives"]] == sorted(a["hold_c"] for a in doc["alternatives"])
    kg = doc["pack"]["pack_kg"]
    assert doc["pack"]["litres"] * 0.23 == pytest.approx(kg, abs=0.01)
    assert doc["pack"]["energizer_kg"]["CaCO3"] == pytest.approx(0.05 * kg, abs=1e-3)
    assert 0.0 < doc["at_heat_h"] < doc["heat_on_h"]
    assert "override" not in doc


def test_why_each_was_or_was_not_chosen() -> None:
    p = default()
    said = {t.hold_c - p.chosen.hold_c: why(p, t) for t in p.trials}
    assert said[0.0].startswith("the coolest that serves: power is on for 5.")
    assert said[0.0].endswith("h, within 5.5 h")
    assert said[-10.0] == "too close: power on for 5.5 h of 5.5 h leaves no room"
    slow = dataclasses.replace(p.trials[0], heat_on_h=5.9)
    assert why(p, slow) == "too slow: power on for 5.9 h, more than 5.5 h"
    hotter = max(said)
    assert said[hotter] == "hotter than needed: harder on canister, grain and oven"
    short = dataclasses.replace(p.trials[0], met=False, reached=0.0042, hold_h=24.0)
    assert why(p, short) == "does not get there: 0.42 % C after 24 h"


def test_why_when_it_was_asked_for() -> None:
    in_time = at(default().chosen.hold_c)
    assert why(in_time, in_time.chosen).startswith("asked for with --at; power is on for 5.")


def test_an_override_is_kept() -> None:
    told = document(dataclasses.replace(default(), overridden="old pot"))
    assert told["override"] == "old pot"


def _target(planned: Planned, target: Target) -> dict[str, object]:
    told = document(dataclasses.replace(planned, job=dataclasses.replace(planned.job, target=target)))["target"]
    assert isinstance(told, dict)
    return told


def test_the_target_is_told_back() -> None:
    assert _target(default(), Target(0.005)) == {"carbon_pct": 0.5, "where": "mean", "tolerance_pct": 0.08}
    deep = Target(0.004, "depth", depth_m=0.001, depth_tolerance_m=0.0002)
    assert _target(default(), deep) == {
        "carbon_pct": 0.4,
        "where": "depth",
        "tolerance_pct": 0.08,
        "depth_mm": 1.0,
        "depth_tolerance_mm": 0.2,
    }


def test_an_alternative_row() -> None:
    p = default()
    row = alternative(p, p.trials[0])
    assert row["wall_lost_mm"] == pytest.approx(1e3 * p.trials[0].wall_lost_m, abs=1e-3)
    assert row["surface_carbon_pct"] == pytest.approx(100 * p.trials[0].surface, abs=1e-3)
    assert small().name == p.job.name
