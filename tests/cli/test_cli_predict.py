"""`soak predict`: the same fold on records logged by any means."""

from __future__ import annotations

import csv
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from cli_parts import Bench, Whole, quick

MEAN = "mean_carbon_pct"
# A day at the oven, as a line through these points (s, degC).
DAY = ((0, 20), (7200, 900), (14400, 900), (21600, 600), (43200, 60))


def day(every_s: int) -> list[tuple[int, float]]:
    """The day's temperature every so many seconds."""
    out = []
    for (t0, c0), (t1, c1) in pairwise(DAY):
        out += [(t, c0 + (c1 - c0) * (t - t0) / (t1 - t0)) for t in range(t0, t1, every_s)]
    return [*out, (DAY[-1][0], float(DAY[-1][1]))]


def predicted(bench: Bench, text: str, *words: str, job: str | None = None) -> dict[str, Any]:
    path = bench.job() if job is None else bench.job(job, "other")
    return bench("predict", path, "--trace", bench.trace(text), *words, "--json").document()


def seconds(rows: list[tuple[int, float]]) -> str:
    return "time_s,temperature_c\n" + "".join(f"{t},{c!r}\n" for t, c in rows)


def test_the_trace_of_a_dry_run_gives_the_carbon_of_the_dry_run(whole: Whole) -> None:
    trace = whole.file("-temperature.csv")
    document = whole.bench("predict", whole.job, "--trace", trace, "--json").document()
    for end in ("low", "mid", "high"):
        assert document["predicted"][MEAN][end] == pytest.approx(whole.doc["predicted"][MEAN][end], rel=1e-4)
    assert document["hours"] == pytest.approx(whole.doc["hours"], abs=1e-3)
    with trace.open(newline="") as file:
        assert document["readings"] == sum(1 for row in csv.DictReader(file) if row["oven_c"])
    assert document["warnings"] == []


def test_iso_times_and_fahrenheit_are_the_same_day(bench: Bench) -> None:
    rows = day(300)
    wanted = predicted(bench, seconds(rows))
    begin = datetime.fromisoformat("2026-11-25T19:00:00+01:00")
    iso = "time,temperature_f\n" + "".join(
        f"{(begin + timedelta(seconds=t)).isoformat()},{1.8 * c + 32!r}\n" for t, c in rows
    )
    found = predicted(bench, iso)
    assert found["predicted"] == wanted["predicted"]
    assert found["hours"] == wanted["hours"] == 12.0


def test_readings_written_down_every_half_hour_give_a_wider_band(bench: Bench) -> None:
    dense, sparse = predicted(bench, seconds(day(60))), predicted(bench, seconds(day(1800)))
    a, b = dense["predicted"][MEAN], sparse["predicted"][MEAN]
    assert b["mid"] == pytest.approx(a["mid"], rel=1e-3)  # the day is made of straight lines
    assert b["high"] - b["low"] > a["high"] - a["low"]
    assert dense["temperature_sigma_k"] == 12.0  # the oven's sensor_sigma
    assert sparse["temperature_sigma_k"] > 15.0
    assert sparse["warnings"] == []  # half an hour is no gap


def test_the_irons_own_temperature_gives_at_least_as_much(bench: Bench) -> None:
    # up to power off: the charge lags on the way up and loses by it (on the way down it would win)
    text = seconds([(t, c) for t, c in day(60) if t <= 14400])
    oven, charge = predicted(bench, text), predicted(bench, text, "--measured-in", "charge")
    assert charge["measured_in"] == "charge"
    assert charge["predicted"][MEAN]["mid"] > oven["predicted"][MEAN]["mid"]
    assert charge["temperature_sigma_k"] < oven["temperature_sigma_k"]
    core, wall = (next(p for p in charge["pieces"] if p["where"] == w) for w in ("core", "wall"))
    assert core[MEAN] == wall[MEAN]  # taken as the temperature of every piece


FORGE = (
    ('controller = "int-tenths"', 'controller = "none"'),
    ("[use.oven]", '[use.oven]\nheat = "gas"\ncontrolled = false'),
    ('sensor_sigma = "12 degC"', 'sensor_sigma = "20 degC"'),
)


def test_a_gas_forge_without_a_controller(bench: Bench) -> None:
    document = predicted(bench, seconds(day(600)), job=quick(*FORGE))
    assert document["temperature_sigma_k"] == 20.0
    assert document["predicted"][MEAN]["mid"] > 0.4
    text = quick(('controller = "int-tenths"', 'controller = "none"\noven = "gas-forge"'))
    shipped = text[: text.index("[use.oven]")] + text[text.index("[limits]") :]
    assert predicted(bench, seconds(day(600)), job=shipped)["predicted"] == document["predicted"]


def test_an_oven_without_a_controller_is_not_given_one(bench: Bench) -> None:
    job = bench.job(quick(FORGE[1]))
    error = bench("predict", job, "--trace", bench.trace(seconds(day(600))), "--json").refused(3, "no-controller")
    assert "inline has no controller" in error["text"]
    assert error["hint"].startswith('write controller = "none"')


def test_people_read_what_was_made_and_how_sure_it_is(bench: Bench) -> None:
    answer = bench("predict", bench.job(), "--trace", bench.trace(seconds(day(600))))
    assert answer.code == 0
    assert "0.50 % C mean wanted: made " in answer.out
    assert "73 readings over 12 h 00 min, taken as the oven's temperature" in answer.out
    assert "1 core, from the surface in" in answer.out
    assert answer.err == ""
