"""The report page: one page, strict, escaped, the same bytes each time, honest about what is not known."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from strict_html import Page

from soak.record.rows import Action, Band, ChargeEstimate, Closing, Prediction, Record
from soak.report.page import html
from soak.report.show import duration
from soak.trace import Event, Reading

NASTY = "</pre><script>alert('x')</script> & \"q\" $\\frac$ \x00\x1b[31m \ud800"
SECTIONS = ["verdict", "temperature", "carbon", "profile", "wall", "events", "inputs", "notes", "worth", "next"]


def _sections(page: str) -> list[str]:
    return [said["id"] for tag, said in Page(page).tags if tag == "section"]


def test_the_page_is_strict_html_and_asks_for_nothing(record: Record, killed: Record) -> None:
    for units in ("si", "us"):
        for one in (record, killed):
            page = html(one, units)  # type: ignore[arg-type]
            assert Page(page).faults == []
            assert "http://" not in page.replace('xmlns="http://www.w3.org/2000/svg"', "")
            assert "https://" not in page


def test_the_strict_reading_itself_finds_faults() -> None:
    lead = "<!DOCTYPE html>\n<html lang='en'>"
    for bad in ("<p><div></div></p>", "<p>", "<img src='x'>", "<p onclick='x'></p>", "<td></td></p>", "<p>a & b</p>"):
        assert Page(f"{lead}{bad}</html>").faults
    assert Page(f"{lead}<p>a &amp; b<br></p></html>").faults == []


def test_sections_stand_in_their_order(record: Record, killed: Record) -> None:
    assert _sections(html(record)) == SECTIONS
    assert _sections(html(killed)) == [s for s in SECTIONS if s != "notes"]


def test_the_verdict_says_what_the_summary_says(record: Record) -> None:
    assert record.closing is not None
    predicted = record.closing.summary["predicted"]
    band = predicted["mean_carbon_pct"]
    page = html(record)
    assert f'<p class="big">{band["mid"]:.2f} %</p>' in page
    assert f'<p class="band">{band["low"]:.2f} to {band["high"]:.2f} %</p>' in page
    text = Page(page).text
    assert f"the slowest piece, {predicted['piece']}" in text
    assert "0.60 % C" in text
    assert '<strong class="good">complete</strong>' in page
    assert '<strong class="good">yes</strong>' in page
    assert f"inside the tolerance in {100 * predicted['chance_in_tolerance']:.0f} of 100 such soaks" in text
    assert "A dry run on a simulated oven: no iron was heated." in text
    assert "The surface keeps a network of carbide." in text
    assert "Do not open the canister above 60 °C" in text


def test_target_not_met_is_said(record: Record) -> None:
    assert record.closing is not None
    short = replace(record, closing=replace(record.closing, summary={**record.closing.summary, "target_met": False}))
    assert '<strong class="bad">no</strong>' in html(short)
    assert '<strong class="bad">no</strong>' not in html(record)


def test_an_interrupted_run_says_what_is_not_known(killed: Record) -> None:
    page = html(killed)
    text = Page(page).text
    last = [p for p in killed.predictions if p.piece == "1 core"][-1].mean_carbon_pct
    assert f'<p class="big">{last.mid:.2f} %</p>' in page
    end = duration(killed.readings[-1].time_s)
    assert f"The run was interrupted: the record ends after {end}, without a last word" in text
    assert "The numbers are those of the last estimate" in text
    assert "Not known: the carbon at the end, carbon against depth, when the power went off, how it cooled." in text
    assert "The file was not closed by soak." in text
    assert "Not known: the run was interrupted before its last word." in text
    assert '<strong class="bad">not known</strong>' in page  # target met
    assert "Leave it shut: the core was estimated at" in text
    assert f"record ends, {end}" in text


def test_a_closed_but_interrupted_run_keeps_its_summary(record: Record) -> None:
    assert record.closing is not None
    page = html(replace(record, closing=replace(record.closing, ended="interrupted")))
    text = Page(page).text
    assert "The run was interrupted" in text
    assert "without a last word" not in text
    assert "The numbers are those of the last estimate" not in text
    assert '<strong class="good">yes</strong>' in page


def test_an_empty_record_is_still_a_page(record: Record) -> None:
    empty = Record(record.header, (), (), (), (), (), (), (), None)
    page = html(empty)
    text = Page(page).text
    assert Page(page).faults == []
    assert "<svg" not in page
    assert "The record holds no estimate." in text
    assert "Not known: no temperature is in the record." in text


def test_a_broken_summary_is_not_known_rather_than_a_crash(record: Record) -> None:
    assert record.closing is not None
    for summary in ({}, {"pieces": 3, "canister": [], "warnings": "x", "predicted": None}, {"pieces": [None, {}]}):
        page = html(replace(record, closing=Closing(1.0e5, "odd", summary)))
        assert Page(page).faults == []


def test_a_job_that_cannot_be_read_leaves_the_target_unknown(record: Record) -> None:
    odd = replace(record, header=replace(record.header, job_text="not = a job", profiles={}, draws={}))
    text = Page(html(odd)).text
    assert "The job kept with this run cannot be read by this version" in text
    assert "The record holds no draws." in text
    assert "None is kept with this run." in text
    assert "wanted" not in text


def test_text_from_files_cannot_become_html(record: Record) -> None:
    header = replace(
        record.header,
        title=NASTY,
        job=NASTY,
        job_text=NASTY,
        soak=NASTY,
        started=NASTY,
        profiles={NASTY: {NASTY: NASTY, "title": NASTY}},
        link={NASTY: NASTY},
        draws={"names": [NASTY], "members": NASTY, "values": [[1.0]]},
        plan={"segments": [{"kind": NASTY, "to_c": 900.0, "ends_on": NASTY, "hours": 1.0, "rate_c_per_h": None}]},
    )
    nasty = replace(
        record,
        header=header,
        events=(Event(60.0, NASTY, "trip", NASTY), Event(90.0, "segment-ended", "info", f"hold 1 ended on {NASTY}")),
        notes=tuple(replace(n, wall=NASTY, kind=NASTY, values={NASTY: NASTY}, text=NASTY) for n in record.notes),
        predictions=tuple(replace(p, piece=NASTY) for p in record.predictions),
        profiles=tuple(replace(p, piece=NASTY) for p in record.profiles),
        actions=(Action(1, 0.0, "setpoint", 20.0, 0.0, NASTY),),
        cautions=(NASTY,),
        closing=None,
    )
    page = html(nasty)
    read = Page(page)
    assert read.faults == []
    assert "alert('x')" in read.text
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]", page)
    page.encode()


def test_the_same_record_gives_the_same_bytes(record: Record, tmp_path: Path) -> None:
    """Also in another process, with other hash seeds and a user's own matplotlib settings."""
    (tmp_path / "matplotlibrc").write_text("lines.linewidth: 9\nsvg.fonttype: path\nfont.size: 30\n")
    code = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1])\n"
        "from pathlib import Path; from conftest import make_run\n"
        "from soak.record.load import load; from soak.report.page import html\n"
        "make_run(Path('one.soak')); page = html(load(Path('one.soak')))\n"
        "print(hashlib.sha256(page.encode()).hexdigest())"
    )
    out = subprocess.run(
        [sys.executable, "-c", code, str(Path(__file__).parent)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONHASHSEED": "7", "MATPLOTLIBRC": str(tmp_path / "matplotlibrc")},
        capture_output=True,
        text=True,
        check=True,
    )
    import hashlib

    first = html(record)
    assert first == html(record)
    assert out.stdout.strip() == hashlib.sha256(first.encode()).hexdigest()


def test_us_units_reach_text_and_axes(record: Record) -> None:
    text = Page(html(record, "us")).text
    assert "temperature, °F" in text
    assert "wall left, in" in text
    assert "depth below the surface, in" in text
    assert "1742 °F at 540 °F/h" in text  # 950 degC is 1.8 times that and 32 more; 300 degC/h is 1.8 times that
    assert "strip 0.079 x 1.26 x 7.087 in" in text  # 2 x 32 x 180 mm at 25.4 mm an inch
    assert "Do not open the canister above 140 °F" in text
    assert not re.search(r"\d °C", text)
    assert "°F" not in Page(html(record)).text


def test_inputs_hold_the_job_the_profiles_the_draws_and_the_version(record: Record) -> None:
    read = Page(html(record))
    assert record.header.job_text in read.text
    for name in record.header.profiles:
        assert name in read.text
    assert f"temperature_max = {record.header.profiles['oven/bench-20l']['temperature_max']}" in read.text
    assert "8 runs of the same soak" in read.text
    assert "temperature offset, °C" in read.text
    assert f"Run by soak {record.header.soak}" in read.text
    assert "Controller: port socket://localhost:5020, address 1." in read.text


def test_events_plan_and_notes_are_told(record: Record) -> None:
    text = Page(html(record)).text
    for event in record.events:
        assert event.text in text
    assert "carbon" in text.split("The plan, and what became of it")[1].split("Carbon")[0]
    assert "piece: 1 core; after g: 91.6" in text
    assert "dry <b>" in text
    count = len(record.actions)
    assert f"{count} writes to the controller, {count} of them proven by reading back." in text


def test_cautions_tell_of_trouble(record: Record) -> None:
    hole = tuple(r for r in record.readings if not 3600.0 < r.time_s < 7200.0)
    blind = tuple(replace(r, oven_c=None) if r.time_s == 9000.0 else r for r in hole)
    troubled = replace(
        record,
        readings=blind,
        events=(*record.events, *(Event(9000.0 + i, "silent", "alarm", "no valid reply") for i in range(3))),
        actions=(
            *record.actions,
            Action(9001, 9.0, "setpoint", 20.0, None, None),
            Action(9002, 9.0, "setpoint", 20.0, 9.0, "read back 19"),
        ),
    )
    text = Page(html(troubled)).text
    assert "No reading for 1 h 0 min, from 1 h 0 min after the start." in text
    assert "1 readings without an oven temperature, the first after 2 h 30 min." in text
    assert "Alarm after 2 h 30 min: no valid reply (3 times)" in text
    assert "1 writes to the controller have no result: whether they took is not known." in text
    assert "1 writes to the controller were not confirmed; the first: read back 19." in text


def test_many_cautions_stay_short(record: Record) -> None:
    many = tuple(Event(60.0 * i, f"code-{i}", "alarm", f"trouble {i}") for i in range(40))
    text = Page(html(replace(record, events=many))).text
    cautions = text.split("Cautions")[1].split("Carbon and case depth")[0]
    assert cautions.count("trouble") == 14
    assert "more: soak show lists them." in cautions


def test_canister_and_surface_cautions(record: Record) -> None:
    assert record.closing is not None
    summary = dict(record.closing.summary)
    summary["canister"] = {
        "wall_left_mm": {"low": -0.1, "mid": 0.4, "high": 0.9},
        "soaks_left": {"low": 0.0, "mid": 0.0, "high": 1.0},
        "breach_chance": 0.07,
    }
    rich = {"low": 1.4, "mid": 1.5, "high": 1.62}
    summary["pieces"] = [{**p, "surface_carbon_pct": rich} for p in summary["pieces"]]
    text = Page(html(replace(record, closing=replace(record.closing, summary=summary)))).text
    assert "The canister may have gone through: in 7 of 100 such soaks." in text
    assert "The canister may not bear another soak: -0.10 to 0.90 mm of wall left" in text
    assert "The surface may hold more than the 1.50 % allowed: piece 1 wall, 1 core." in text
    assert "Measure the canister's wall at its thinnest spot before using it again" in text


@pytest.mark.parametrize(
    ("where", "big"),
    [('where = "surface"', "carbon at the surface"), ('where = "centre"', "carbon at the centre")],
)
def test_other_targets_show_their_own_quantity(record: Record, where: str, big: str) -> None:
    text = record.header.job_text.replace("[target]", f"[target]\n{where}")
    page = html(replace(record, header=replace(record.header, job_text=text)))
    assert f"<p>{big}</p>" in page
    assert "The mean carbon of the same pieces." in page
    assert Page(page).faults == []


def test_a_depth_target_shows_the_case_depth(record: Record) -> None:
    text = record.header.job_text.replace("0.60 %", "0.40 %").replace(
        "[target]", '[target]\nwhere = "depth"\ndepth = "0.5 mm"\ndepth_tolerance = "0.1 mm"'
    )
    read = Page(html(replace(record, header=replace(record.header, job_text=text))))
    assert read.faults == []
    assert "deep to 0.40 % C" in read.text
    assert "at a depth of 0.5 mm, within 0.1 mm" in read.text
    assert "0.50 wanted" in read.text
    assert "case depth, mm" in read.text


def test_a_long_noisy_run_stays_small(record: Record) -> None:
    """25 h at 5 s with noise on every reading (the worst for drawing), 12 pieces: under 600 kB."""
    chance = np.random.default_rng(1)
    at = np.arange(0.0, 25 * 3600.0, 5.0)
    oven = 900.0 + chance.normal(0.0, 8.0, len(at))
    every = np.arange(60.0, 25 * 3600.0, 60.0)
    carbon = 0.1 + 0.02 * np.sqrt(every / 60.0) + chance.normal(0.0, 0.01, len(every))
    pieces = [f"{i} {where}" for i in range(1, 7) for where in ("wall", "core")]

    def band(x: float) -> Band:
        return Band(x - 0.1, x, x + 0.1)

    noisy = replace(
        record,
        readings=tuple(Reading(t, o, o + 1.0, 50.0, o - 20.0) for t, o in zip(at.tolist(), oven.tolist(), strict=True)),
        predictions=tuple(
            Prediction(t, piece, band(c), band(c), band(c), band(c))
            for t, c in zip(every.tolist(), carbon.tolist(), strict=True)
            for piece in pieces
        ),
        charge=tuple(ChargeEstimate(t, 890.0, 895.0, band(3.0), 0.9) for t in every.tolist()),
        events=tuple(
            Event(60.0 * i, "silent", "alarm", "no valid reply for 10 s; look at the cable") for i in range(900)
        ),
    )
    page = html(noisy)
    assert len(page.encode()) < 600_000
    assert Page(page).faults == []
    assert "300 more events are in the run file" in Page(page).text


def test_matplotlib_waits_until_something_is_drawn() -> None:
    code = "import sys, soak.report.page; print('matplotlib' in sys.modules, 'pint' in sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.split() == ["False", "False"]
