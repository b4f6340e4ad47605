"""The oven that planning runs on: as asked, within what the tables allow. And the recording played back."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.errors import UsageError
from soak.run.ideal import IdealOven, cooled, rate_at
from soak.run.playback import PlaybackOven
from soak.trace import Reading

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import OVEN

TABLE = ((20.0, 600.0), (500.0, 300.0), (1000.0, 100.0))


def test_rates_between_and_beyond_the_points() -> None:
    assert [rate_at(TABLE, c) for c in (0.0, 20.0, 260.0, 500.0, 750.0, 1000.0, 1100.0)] == [
        600.0,
        600.0,
        450.0,
        300.0,
        200.0,
        100.0,
        100.0,
    ]


def test_it_is_where_it_is_asked_to_be() -> None:
    oven = IdealOven(OVEN)
    oven.read(0.0)
    oven.ask(25.0)
    assert oven.read(60.0) == Reading(60.0, 25.0, 25.0)
    oven.ask(24.9)
    assert oven.read(120.0).oven_c == pytest.approx(24.9, abs=0.1)


def test_it_climbs_no_quicker_than_its_table() -> None:
    oven = IdealOven(OVEN, start_c=1000.0)
    oven.read(0.0)
    oven.ask(1100.0)
    assert oven.read(360.0).oven_c == pytest.approx(1045.0)


def test_it_falls_no_quicker_than_its_table() -> None:
    oven = IdealOven(OVEN, start_c=1000.0)
    oven.ask(20.0)
    assert oven.read(360.0).oven_c == pytest.approx(1000.0 - 56.4, abs=0.5)  # 600 K/h, less as it falls
    oven.make_safe()
    fallen = oven.read(720.0)
    assert fallen.setpoint_c == 0.0
    assert fallen.oven_c < 900.0  # type: ignore[operator]


@given(st.floats(20.0, 1200.0), st.floats(0.0, 1e5))
def test_cooling_ends_at_the_room(start_c: float, seconds: float) -> None:
    end = cooled(OVEN.cooling, start_c, seconds)
    assert 20.0 <= end <= start_c


def test_cooling_below_the_table_fades() -> None:
    assert cooled(OVEN.cooling, 60.0, 3600.0) > 60.0 - 15.0
    assert cooled(OVEN.cooling, 60.0, 40 * 3600.0) == pytest.approx(20.0, abs=0.1)


def test_playback_answers_what_was_recorded() -> None:
    readings = [Reading(0.0, 20.0), Reading(5.0, 21.0), Reading(10.0, None, sensor_open=True)]
    oven = PlaybackOven(readings)
    assert oven.times == (0.0, 5.0, 10.0)
    assert [oven.read(t) for t in oven.times] == readings
    oven.make_safe()


def test_playback_knows_nothing_between_and_takes_no_setpoint() -> None:
    oven = PlaybackOven([Reading(0.0, 20.0)])
    with pytest.raises(UsageError, match=r"nothing was recorded at 2\.5 s") as caught:
        oven.read(2.5)
    assert caught.value.code == "no-such-reading"
    with pytest.raises(UsageError, match="the past takes no setpoint: this oven is a recording"):
        oven.ask(500.0)
