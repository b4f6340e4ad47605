"""`--json`: exactly one document, with the keys that design.md section 6 promises to other tools."""

from __future__ import annotations

import json
import math
from numbers import Real
from pathlib import Path
from typing import Any

import pytest
from cli_parts import Bench, Whole, bands

BAND, NUMBER, CHANCE, WORDS, FLAG = "band", "number", "chance", "words", "flag"
PREDICTED = {
    "mean_carbon_pct": BAND,
    "surface_carbon_pct": BAND,
    "centre_carbon_pct": BAND,
    "case_depth_mm": BAND,
    "chance_in_tolerance": CHANCE,
}
PIECE = PREDICTED | {"where": ("wall", "core")}
PROFILE = [{"depth_mm": NUMBER, "carbon_pct": BAND}]
CANISTER = {"wall_lost_mm": BAND, "wall_left_mm": BAND, "soaks_left": BAND, "breach_chance": CHANCE}
WARNINGS = [{"code": WORDS, "text": WORDS}]
EVENTS = [{"time_s": NUMBER, "code": WORDS, "severity": ("info", "warning", "alarm", "trip"), "text": WORDS}]
PLAN: dict[str, Any] = {
    "segments": [
        {
            "kind": ("ramp", "hold", "cool"),
            "to_c": NUMBER,
            "hours": NUMBER,
            "ends_on": ("time", "temperature", "carbon"),
        }
    ],
    "hours_total": NUMBER,
    "heat_on_h": NUMBER,
    "predicted": PREDICTED,
    "pieces": [PIECE],
    "fit": {"fits": FLAG, "count_that_fits": NUMBER},
    "canister": CANISTER,
    "pack": {"pack_kg": NUMBER, "carbon_ratio": NUMBER},
    "warnings": WARNINGS,
    "alternatives": [
        {
            "hold_c": NUMBER,
            "hold_h": NUMBER,
            "heat_on_h": NUMBER,
            "wall_lost_mm": NUMBER,
            "surface_carbon_pct": NUMBER,
            "chosen": FLAG,
            "why": WORDS,
        }
    ],
}
MADE: dict[str, Any] = {
    "predicted": PREDICTED,
    "pieces": [PIECE | {"profile": PROFILE}],
    "canister": CANISTER,
    "events": EVENTS,
    "warnings": WARNINGS,
}
RUN = MADE | {
    "run_file": WORDS,
    "ended": ("complete", "tripped", "stopped", "interrupted"),
    "target_met": FLAG,
    "hours": NUMBER,
}


def must_match(found: Any, wanted: Any, where: str = "") -> None:
    """Every key that is wanted is there and is of its kind; more keys may be there."""
    if isinstance(wanted, dict):
        assert isinstance(found, dict), where
        for key, kind in wanted.items():
            assert key in found, f"{where}.{key} is missing"
            must_match(found[key], kind, f"{where}.{key}")
    elif isinstance(wanted, list):
        assert isinstance(found, list), where
        for i, one in enumerate(found):
            must_match(one, wanted[0], f"{where}[{i}]")
    elif isinstance(wanted, tuple):
        assert found in wanted, f"{where}: {found!r}"
    elif wanted == FLAG:
        assert isinstance(found, bool), where
    elif wanted == WORDS:
        assert isinstance(found, str), where
        assert found.strip(), where
    elif wanted == BAND:
        assert set(found) == {"low", "mid", "high"}, where
    else:
        assert isinstance(found, Real), where
        assert not isinstance(found, bool), where
        assert math.isfinite(float(found)), where
        assert wanted != CHANCE or 0 <= float(found) <= 1, where


def must_be_in_order(document: Any) -> None:
    """low <= mid <= high in every band, wherever it stands."""
    seen = 0
    for where, b in bands(document):
        assert b["low"] <= b["mid"] <= b["high"], f"{where}: {b}"
        seen += 1
    assert seen > 0


def test_plan(whole: Whole) -> None:
    must_match(whole.plan, PLAN)
    must_be_in_order(whole.plan)
    assert [s["kind"] for s in whole.plan["segments"]] == ["ramp", "hold", "cool"]
    assert [s["rate_c_per_h"] is None for s in whole.plan["segments"]] == [False, True, True]
    assert [a["chosen"] for a in whole.plan["alternatives"]].count(True) == 1
    assert {p["where"] for p in whole.plan["pieces"]} == {"wall", "core"}
    assert whole.plan["warnings"]


def test_plan_of_a_shipped_job_with_lute_pack_and_energizer(bench: Bench) -> None:
    document = bench("plan", "plane-irons", "--json").document()
    must_match(document, PLAN)
    must_be_in_order(document)
    assert set(document["pack"]["energizer_kg"]) == {"CaCO3", "Na2CO3"}


def test_dry_run(whole: Whole) -> None:
    assert whole.answer.code == 0
    assert whole.answer.err == ""
    must_match(whole.doc, RUN)
    must_be_in_order(whole.doc)
    assert whole.doc["ended"] == "complete"
    assert whole.doc["target_met"] is True
    assert whole.run.parent == whole.out
    assert all(Path(p).is_file() for p in whole.doc["exports"])


def test_predict(whole: Whole) -> None:
    answer = whole.bench("predict", whole.job, "--trace", whole.file("-temperature.csv"), "--json")
    document = answer.document()
    assert answer.code == 0
    must_match(document, MADE)
    must_be_in_order(document)
    depths = [p["depth_mm"] for p in document["pieces"][0]["profile"]]
    assert depths[0] == 0.0
    assert depths == sorted(depths)
    assert depths[-1] == pytest.approx(0.4, abs=1e-3)  # half of 0.8 mm


def test_show_and_runs(whole: Whole, bench: Bench) -> None:
    shown = bench("show", whole.run, "--json").document()
    assert shown["ended"] == "complete"
    must_match(shown["summary"], RUN)
    assert shown["summary"]["predicted"] == whole.doc["predicted"]
    must_match(shown["header"], {"kind": ("dry-run",), "job": ("quick",), "title": WORDS, "started": WORDS})
    assert bench("runs", "--json").document()["runs"] == []


def test_profiles(bench: Bench) -> None:
    found = bench("profiles", "--json").document()["profiles"]
    assert set(found) == {"job", "iron", "pack", "canister", "oven", "controller"}
    for rows in found.values():
        must_match(rows, [{"name": WORDS, "title": WORDS, "path": WORDS}])
        assert all(Path(row["path"]).is_file() for row in rows)


def test_export_report_and_note(whole: Whole, bench: Bench) -> None:
    run = bench.folder / "one.soak"
    run.write_bytes(whole.run.read_bytes())
    written = bench("export", run, "--to", "csv", "--out", bench.folder / "e", "--json").document()["exports"]
    assert {Path(p).name for p in written} == {f"one-{t}.csv" for t in ("temperature", "carbon", "events", "notes")}
    one = bench("export", run, "--to", "json", "--out", bench.folder / "e", "--json").document()["exports"]
    assert json.loads(Path(one[0]).read_text())["format"] == 1
    page = bench("report", run, "--json").document()["report"]
    assert Path(page).read_text().lower().startswith("<!doctype html")
    noted = bench("note", run, "bright grain", "--json").document()
    assert noted["done"] == "written"
    assert noted["note"]["text"] == "bright grain"


@pytest.mark.parametrize(
    ("words", "code", "word"),
    [
        (("frobnicate",), 2, "usage"),
        (("plan",), 2, "usage"),
        (("plan", "no-such-job-at-all"), 3, "unknown-job"),
        (("plan", "JOB", "--at", "1000 degC"), 4, "hold-out-of-range"),
        (("dry-run", "no-such-job-at-all"), 3, "unknown-job"),
        (("predict", "JOB", "--trace", "/no/such.csv"), 3, "trace-unreadable"),
        (("run", "JOB", "--port", "/dev/no-such-port", "--yes"), 5, "no-such-port"),
        (("show", "nothing"), 7, "run-missing"),
        (("report", "nothing"), 7, "run-missing"),
        (("export", "nothing"), 7, "run-missing"),
        (("note", "nothing", "text"), 7, "run-missing"),
    ],
)
def test_a_refusal_is_one_document_too(bench: Bench, words: tuple[str, ...], code: int, word: str) -> None:
    job = bench.job()
    error = bench(*(job if w == "JOB" else w for w in words), "--json").refused(code, word)
    assert error["hint"]


def test_what_is_near_is_offered(bench: Bench) -> None:
    assert bench("plan", "plane-iron", "--json").refused(3, "unknown-job")["nearest"]["names"][0] == "plane-irons"
