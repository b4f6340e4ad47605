"""Reading a trace: what interpolating between sparse readings adds to the doubt, and the columns of our own export."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.errors import JobError
from soak.shop.trace_file import TraceFile, read_trace


def read(folder: Path, text: str) -> TraceFile:
    path = folder / "t.csv"
    path.write_text(text, encoding="utf-8")
    return read_trace(path, "oven")


def steady(every_s: float, hours: float, celsius: float = 900.0) -> str:
    times = [n * every_s for n in range(round(hours * 3600 / every_s) + 1)]
    return "time_s,temperature_c\n" + "".join(f"{t:g},{celsius:g}\n" for t in times)


def test_ten_minutes_apart_needs_no_extra_doubt(tmp_path: Path) -> None:
    assert read(tmp_path, steady(600, 4)).doubt_k == 0.0


@pytest.mark.parametrize("minutes", [20, 30, 60])
def test_the_doubt_of_a_steady_oven_goes_with_the_root_of_the_time_apart(tmp_path: Path, minutes: float) -> None:
    trace = read(tmp_path, steady(60 * minutes, 4))
    assert trace.doubt_k == pytest.approx(3.0 * math.sqrt(minutes / 10))  # the judgement in trace_file: 3 K at 10 min
    assert trace.gaps == ()


def test_a_cold_gap_is_no_doubt(tmp_path: Path) -> None:
    trace = read(tmp_path, steady(7200, 8, celsius=300.0))
    assert (trace.doubt_k, trace.gaps) == (0.0, ())


def test_a_hot_gap_is_told(tmp_path: Path) -> None:
    trace = read(tmp_path, steady(7200, 4))
    assert [gap.partition(":")[0] for gap in trace.gaps] == [
        "no reading for 2.0 h from 0 s on",
        "no reading for 2.0 h from 7200 s on",
    ]


@given(st.lists(st.tuples(st.floats(1.0, 100000.0), st.floats(0.0, 1300.0)), min_size=2, max_size=15))
def test_the_doubt_never_passes_100_k(
    tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[float, float]]
) -> None:
    """However long the gap: a doubt of many hundred kelvin would put some members below absolute zero."""
    time_s, text = 0.0, "time_s,temperature_c\n"
    for apart_s, celsius in steps:
        time_s += apart_s
        text += f"{time_s!r},{celsius!r}\n"
    trace = read(tmp_path_factory.mktemp("t"), text)
    assert 0.0 <= trace.doubt_k <= 100.0
    assert [r.oven_c for r in trace.readings] == [c for _, c in steps]


def test_our_own_export_may_have_holes(tmp_path: Path) -> None:
    text = "time_s,setpoint_c,oven_c,output_pct,charge_core_c,charge_wall_c\n0,0,20,0,,\n5,0,,0,,\n10,0,21,0,20,20\n"
    assert [(r.time_s, r.oven_c) for r in read(tmp_path, text).readings] == [(0.0, 20.0), (10.0, 21.0)]
    path = tmp_path / "t.csv"
    with pytest.raises(JobError, match="1 readings; at least 2 are needed"):
        read_trace(path, "charge")  # the charge's own estimate stands in one row only


def test_five_hundred_hours_are_read_and_more_are_not(tmp_path: Path) -> None:
    assert len(read(tmp_path, steady(3600, 500)).readings) == 501
    with pytest.raises(JobError, match="the readings run over 501 h; 500 h is the most"):
        read(tmp_path, steady(3600, 501))
