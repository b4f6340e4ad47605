"""`soak plan`: clock times, front panels, hold temperatures asked for, refusals that say what can be had."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from cli_parts import Bench, Whole, quick

# a wet lute: two segments more, and the time for them
WET = (("lute_dry = true", "lute_dry = false"), ('heat_on_max = "3 h"', 'heat_on_max = "5 h"'))
JOBS = Path(__file__).parents[2] / "profiles" / "jobs"


def minutes_after(start: str, told: str) -> float:
    """Minutes from a start at HH:MM to "HH:MM +N d"."""
    time, _, days = told.partition(" +")
    gone = datetime.strptime(time, "%H:%M") - datetime.strptime(start, "%H:%M")
    gone += timedelta(days=int(days.removesuffix(" d") or 0) if days else 0)
    return gone.total_seconds() / 60.0


@pytest.mark.parametrize("start", ["19:00", " 0:05 "])
def test_clock_times_are_those_of_the_segments(whole: Whole, start: str) -> None:
    document = whole.bench("plan", whole.job, "--start", start, "--json").document()
    clock, ramp = document["clock"], document["segments"][0]
    when = {what: minutes_after(start.strip(), told) for what, told in clock.items()}
    assert list(when) == ["power on", "charge at heat", "power off", "safe to open (oven left shut)"]
    assert when["power on"] == 0
    assert when["power off"] == pytest.approx(60 * document["heat_on_h"], abs=1.5)
    assert when["safe to open (oven left shut)"] == pytest.approx(60 * document["hours_total"], abs=1.5)
    assert when["charge at heat"] == pytest.approx(60 * document["at_heat_h"], abs=1.5)
    assert 60 * ramp["hours"] <= when["charge at heat"] < when["power off"]


def test_clock_times_in_the_text_name_the_next_day(whole: Whole) -> None:
    text = whole.bench("plan", whole.job, "--start", "19:00").out
    assert re.search(r"^  19:00  power on$", text, re.M)
    assert re.search(r"^  \d\d:\d\d \+1 d  safe to open", text, re.M)


def test_the_sums_of_the_segments(whole: Whole) -> None:
    hours = [s["hours"] for s in whole.plan["segments"]]
    assert sum(hours) == pytest.approx(whole.plan["hours_total"], abs=0.02)
    assert sum(hours[:-1]) == pytest.approx(whole.plan["heat_on_h"], abs=0.02)


@pytest.mark.parametrize(("units", "unit"), [("si", "degC"), ("us", "degF")])
def test_what_is_typed_in_adds_up_to_the_plan(bench: Bench, units: str, unit: str) -> None:
    document = bench("plan", bench.job(quick(*WET)), "--type-in", "--units", units, "--json").document()
    typed, heated = document["type_in"], document["segments"][:-1]
    assert typed["unit"] == unit
    lines = typed["lines"]
    assert [x["kind"] for x in lines] == [*(s["kind"] for s in heated), "off"]
    assert all(isinstance(x[k], int) for x in lines for k in ("level", "minutes"))
    at = 20.0
    for line, s in zip(lines, heated, strict=False):
        level_c = line["level"] if unit == "degC" else (line["level"] - 32) / 1.8
        assert level_c == pytest.approx(s["to_c"], abs=0.5)
        if s["kind"] == "ramp":
            rate = line["rate_per_h"] if unit == "degC" else line["rate_per_h"] / 1.8
            assert rate == pytest.approx(s["rate_c_per_h"], abs=0.6)
            assert line["minutes"] == pytest.approx(60 * (s["to_c"] - at) / s["rate_c_per_h"], abs=1.5)
        else:
            assert line["minutes"] == pytest.approx(60 * s["hours"], abs=1.0)
        at = s["to_c"]
    assert sum(x["minutes"] for x in lines) == pytest.approx(60 * document["heat_on_h"], abs=4)
    wanted, got = (d["predicted"]["mean_carbon_pct"]["mid"] for d in (document, typed))
    assert got == pytest.approx(wanted, rel=0.02)


def test_a_panel_with_just_enough_segments(bench: Bench) -> None:
    job = bench.job(quick(*WET))
    assert bench("plan", job, "--type-in", "--segments", "5", "--json").code == 0
    error = bench("plan", job, "--type-in", "--segments", "4", "--json").refused(2, "too-few-segments")
    assert error["text"] == "this plan needs 5 segments, the panel has 4"
    assert "lute_dry = true" in error["hint"]
    text = bench("plan", job, "--type-in").out
    assert "to type in at the front panel" in text
    assert "ends on the clock, not on carbon" in text


def test_a_thick_bar_is_refused_and_the_nearest_can_be_had(bench: Bench) -> None:
    error = bench("plan", "thick-bar", "--json").refused(4, "not-reachable")
    assert "0.80 % C (mean)" in error["text"]
    assert "thinner stock" in error["hint"]
    nearest = error["nearest"]
    text = (JOBS / "thick-bar.toml").read_text()
    assert text.count('carbon = "0.80 %"') == 1
    less = bench.job(text.replace('carbon = "0.80 %"', f'carbon = "{nearest["carbon_pct"]} %"'), "less")
    document = bench("plan", less, "--json").document()
    assert document["predicted"]["mean_carbon_pct"]["mid"] == pytest.approx(nearest["carbon_pct"], rel=0.01)
    chosen = next(a for a in document["alternatives"] if a["chosen"])
    assert chosen["hold_c"] <= nearest["hold_c"]


def test_a_hold_asked_for(bench: Bench, whole: Whole) -> None:
    document = whole.bench("plan", whole.job, "--at", "880 degC", "--json").document()
    chosen = next(a for a in document["alternatives"] if a["chosen"])
    assert chosen["hold_c"] == 880.0
    assert chosen["why"].startswith("asked for with --at; power is on for")
    assert [s["to_c"] for s in document["segments"] if s["kind"] == "hold"] == [880.0]
    usual = next(a for a in whole.plan["alternatives"] if a["chosen"])
    assert usual["hold_c"] < 880.0
    assert chosen["hold_h"] < usual["hold_h"]
    fahrenheit = whole.bench("plan", whole.job, "--at", "1616 degF", "--json").document()
    assert fahrenheit["segments"] == document["segments"]


def test_a_canister_that_would_breach_needs_a_reason(bench: Bench) -> None:
    job = bench.job(
        quick(('wall = "2 mm"', 'wall = "0.5 mm"'), ("[use.canister]", "[use.canister]\nexpendable = true"))
    )
    thin = bench("plan", job, "--at", "900 degC", "--json")
    assert thin.code == 0  # half a millimetre lasts one short soak
    long = bench.job(
        quick(
            ('wall = "2 mm"', 'wall = "0.5 mm"'),
            ('thickness = "0.8 mm"', 'thickness = "3 mm"'),
            ('width = "6 mm"', 'width = "12 mm"'),
            ("count = 2", "count = 1"),
            ('heat_on_max = "3 h"', 'heat_on_max = "30 h"'),
        ),
        "long",
    )
    error = bench("plan", long, "--json").refused(4, "breach")
    assert "the canister inline would breach in" in error["text"]
    assert "mm of wall left at its thinnest spot" in error["text"]
    assert error["hint"] == 'use a thicker canister, or give a reason: --override "..."'
    assert error["nearest"]["breach_chance"] > 0.1
    allowed = bench("plan", long, "--override", "it stands in a tray", "--json").document()
    assert allowed["override"] == "it stands in a tray"
    assert any(w["code"] == "breach-accepted" and "it stands in a tray" in w["text"] for w in allowed["warnings"])
    assert "override" not in thin.document()
