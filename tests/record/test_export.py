"""CSV and JSON: names and units as promised, exact numbers, no formulas for spreadsheets."""

from __future__ import annotations

import csv
import io
import json

import pytest

from soak import __version__
from soak.record.export import csv_tables, json_document
from soak.record.load import load
from soak.record.rows import Note
from soak.trace import Event, Reading


@pytest.fixture
def record(store, path, prediction):
    store.reading(Reading(0.0, 20.1, 0.0, 100.0))
    store.reading(Reading(55.0, 0.1 + 0.2, None, 1e-7))
    store.prediction(60.0, prediction(0.5))
    store.reading(Reading(60.0, None, 950.0, None, None, True))
    store.reading(Reading(65.0, 950.0))
    late = prediction(0.6)
    late.update(charge_core_c=None, charge_wall_c=940.0, wall_left_mm=None, pco=None)
    store.prediction(120.0, late)
    store.reading(Reading(121.5, 951.0))
    store.event(Event(61.0, "at-heat", "info", '=HYPERLINK("x"), two\nlines'))
    store.event(Event(62.0, "x", "warning", "950 degC, \u00e4"))
    for text in ("+1", "-1", "@x", "\tx", "plain = fine"):
        store.note(Note("2031-02-03T19:00:00+00:00", "text", {"a": [1, None]}, text))
    store.intent(63.0, "ask", 950.0)
    store.close(130.0, "complete", {"target_met": True, "pieces": []})
    return load(path)


def read(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def number(cell):
    return None if cell == "" else float(cell)


def test_temperature(record):
    table = csv_tables(record)["temperature"]
    assert table.splitlines()[0] == "time_s,setpoint_c,oven_c,output_pct,charge_core_c,charge_wall_c"
    rows = read(table)
    back = [Reading(float(r["time_s"]), *(number(r[k]) for k in ("oven_c", "setpoint_c", "output_pct"))) for r in rows]
    assert [(r.time_s, r.oven_c, r.setpoint_c, r.output_pct) for r in record.readings] == [
        (r.time_s, r.oven_c, r.setpoint_c, r.output_pct) for r in back
    ]
    # the latest estimate at or before each reading
    assert [(number(r["charge_core_c"]), number(r["charge_wall_c"])) for r in rows] == [
        (None, None),
        (None, None),
        (901.5, 930.25),
        (901.5, 930.25),
        (None, 940.0),
    ]


def test_carbon(record):
    table = csv_tables(record)["carbon"]
    assert table.splitlines()[0] == (
        "time_s,piece,"
        "mean_carbon_pct_low,mean_carbon_pct_mid,mean_carbon_pct_high,"
        "surface_carbon_pct_low,surface_carbon_pct_mid,surface_carbon_pct_high,"
        "centre_carbon_pct_low,centre_carbon_pct_mid,centre_carbon_pct_high,"
        "case_depth_mm_low,case_depth_mm_mid,case_depth_mm_high,"
        "wall_left_mm_low,wall_left_mm_mid,wall_left_mm_high"
    )
    rows = read(table)
    assert [(r["time_s"], r["piece"]) for r in rows] == [
        ("60.0", "1 core"),
        ("60.0", "2 wall"),
        ("120.0", "1 core"),
        ("120.0", "2 wall"),
    ]
    assert [float(rows[0][f"mean_carbon_pct_{end}"]) for end in ("low", "mid", "high")] == [0.4, 0.5, 0.6]
    assert rows[0]["surface_carbon_pct_mid"] == "0.9"
    assert rows[0]["centre_carbon_pct_mid"] == "0.3"
    assert rows[0]["case_depth_mm_high"] == "1.1"
    assert rows[1]["case_depth_mm_mid"] == ""
    assert [r["wall_left_mm_mid"] for r in rows] == ["3.5", "3.5", "", ""]


def test_events_and_notes_with_formulas_quotes_and_line_ends(record):
    tables = csv_tables(record)
    assert set(tables) == {"temperature", "carbon", "events", "notes"}
    events = read(tables["events"])
    assert events == [
        {"time_s": "61.0", "code": "at-heat", "severity": "info", "text": '\'=HYPERLINK("x"), two\nlines'},
        {"time_s": "62.0", "code": "x", "severity": "warning", "text": "950 degC, ä"},
    ]
    notes = read(tables["notes"])
    assert list(notes[0]) == ["wall_utc", "time_s", "kind", "values", "text"]
    assert [n["text"] for n in notes] == ["'+1", "'-1", "'@x", "'\tx", "plain = fine"]
    assert json.loads(notes[0]["values"]) == {"a": [1, None]}
    assert notes[0]["time_s"] == ""
    assert all("\r" not in table and table.endswith("\n") for table in tables.values())


def test_an_empty_run_still_has_its_headers(store, path):
    tables = csv_tables(load(path))
    assert all(len(table.splitlines()) == 1 for table in tables.values())
    document = json_document(load(path))
    assert (document["ended"], document["ended_time_s"], document["summary"]) == (None, None, None)


def test_the_json_document(record, header):
    text = json.dumps(json_document(record), allow_nan=False)
    document = json.loads(text)
    assert (document["format"], document["soak"]) == (1, __version__)
    assert document["header"]["job_text"] == header.job_text
    assert document["header"]["started"] == "2031-02-03T18:30:00+00:00"
    assert document["plan"] == header.plan
    assert len(document["readings"]) == 5
    assert document["readings"][2] == {
        "time_s": 60.0,
        "oven_c": None,
        "setpoint_c": 950.0,
        "output_pct": None,
        "charge_c": None,
        "sensor_open": True,
        "pack_c": None,
    }
    assert document["carbon"][0]["piece"] == "1 core"
    assert document["carbon"][0]["mean_carbon_pct"] == {"low": 0.4, "mid": 0.5, "high": 0.6}
    assert document["charge"][0]["wall_left_mm"] == {"low": 3.4, "mid": 3.5, "high": 3.6}
    assert document["events"][0]["text"].startswith("=HYPERLINK")  # JSON is no spreadsheet
    assert document["actions"][0]["outcome"] is None
    assert document["notes"][0]["text"] == "+1"
    assert (document["ended"], document["ended_time_s"]) == ("complete", 130.0)
    assert document["summary"] == {"target_met": True, "pieces": []}
