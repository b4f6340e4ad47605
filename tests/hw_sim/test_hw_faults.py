"""Each fault as a client and as the truth see it; how faults and times are written."""

from __future__ import annotations

import pytest
from hw_frames import read, write

from hw_sim.crc import sealed
from hw_sim.deviations import BOOK
from hw_sim.errors import WrongInput
from hw_sim.faults import FAULTS, read_fault, read_time_s
from hw_sim.world import World


def hot_world(fault: str = "") -> World:
    """At 400 degC for two hours, with a fault that began at 2 h."""
    world = World(deviations=BOOK, faults=[f"{fault}@2h"] if fault else [], start_c=400.0)
    write(world, 2, 4000)
    write(world, 16, 1)
    world.advance(7195.0)
    assert read(world, 0)[0] == pytest.approx(4000, abs=30)
    assert read(world, 5) == [0]
    world.advance(10.0)
    return world


def test_sensor_open_reads_nothing_sets_the_bit_and_cuts_the_heat() -> None:
    world = hot_world("sensor-open")
    assert read(world, 0, 7) == [32767, 4000, 4000, 0, 1, 1, 11500]
    world.advance(600.0)
    assert world.true()["power_w"] == 0.0
    assert world.true()["oven_c"] < 400.0


def test_sensor_short_reads_35_and_heats_on() -> None:
    world = hot_world("sensor-short")
    assert read(world, 0) == [350]
    assert read(world, 5) == [0]
    world.advance(600.0)
    assert read(world, 3) == [1000]
    assert world.true()["oven_c"] > 450.0


def test_sensor_high_reads_1372_without_a_bit() -> None:
    world = hot_world("sensor-high")
    assert read(world, 0) == [13720]
    assert read(world, 5) == [0]
    assert read(world, 3) == [0]


def test_slip_takes_a_minute_and_the_true_oven_gets_hotter() -> None:
    world = hot_world("slip-100")
    assert read(world, 0)[0] > 3850
    world.advance(55.0)
    assert read(world, 0)[0] == pytest.approx(3000, abs=150)
    world.advance(2 * 3600.0)
    assert read(world, 0)[0] == pytest.approx(4000, abs=50)
    assert world.true()["oven_c"] == pytest.approx(500.0, abs=6.0)


def test_elements_dead_asks_in_vain() -> None:
    world = hot_world("elements-dead")
    world.advance(1800.0)
    assert world.true()["power_w"] == 0.0
    assert read(world, 3)[0] > 500
    assert world.true()["oven_c"] < 380.0


def test_relay_welded_heats_even_when_idle_until_the_limiter_opens() -> None:
    world = hot_world("relay-welded")
    assert world.true()["power_w"] == pytest.approx(3600.0, rel=0.03)
    write(world, 16, 0)
    world.advance(600.0)
    assert read(world, 3) == [0]
    assert world.true()["oven_c"] > 450.0
    world.advance(4 * 3600.0)
    assert world.true()["limiter_open"] is True
    assert world.true()["power_w"] == 0.0
    assert world.true()["oven_c"] < 1180.0


def test_silent_neither_answers_nor_hears() -> None:
    world = hot_world("silent")
    assert world.answer(sealed(bytes.fromhex("010300000001"))) == b""
    assert write(world, 16, 0) == b""
    world.advance(600.0)
    assert world.true()["oven_c"] == pytest.approx(400.0, abs=5.0)  # still heating: idle was not heard


def test_no_fault_is_the_near_miss() -> None:
    world = hot_world()
    world.advance(600.0)
    assert read(world, 0)[0] == pytest.approx(4000, abs=30)
    assert world.true()["faults"] == []


def test_every_fault_has_its_test_above() -> None:
    assert set(FAULTS) == {
        "sensor-open", "sensor-short", "sensor-high", "slip-100", "elements-dead", "relay-welded", "silent",
    }  # fmt: skip


def test_a_fault_starts_on_time_within_a_long_advance() -> None:
    """Begun at 3 s of a 5 s step: the relay is welded for 2 s of it."""
    world = World(canister=None, deviations=BOOK, faults=["relay-welded@3s"])
    world.advance(3.0)
    assert world.true()["oven_c"] == 20.0
    world.advance(2.0)
    other = World(canister=None, deviations=BOOK, faults=["relay-welded@3s"])
    other.advance(5.0)
    assert other.true() == world.true()
    assert other.true()["power_w"] == pytest.approx(3600.0)


def test_faults_add_up() -> None:
    world = World(deviations=BOOK, faults=["relay-welded@0", "slip-100@0"])
    world.advance(300.0)
    assert world.true()["faults"] == ["relay-welded", "slip-100"]
    assert world.true()["power_w"] > 3500.0
    assert read(world, 0)[0] < 10 * (world.true()["oven_c"] - 100.0)


def test_a_fault_begun_by_hand() -> None:
    world = World(deviations=BOOK)
    world.advance(10.0)
    world.start_fault("sensor-open")
    world.advance(1.0)
    assert read(world, 0) == [32767]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("6h30", 23400.0), ("6h05min", 21900.0), ("6h", 21600.0), ("1.5h", 5400.0), ("90min", 5400.0),
     ("3600s", 3600.0), ("3600", 3600.0), ("0", 0.0)],
)  # fmt: skip
def test_times(text: str, seconds: float) -> None:
    assert read_time_s(text) == seconds


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("sensor-open@noon", "time 'noon' is not read here: write 6h30, 90min, 3600s or 3600"),
        ("sensor-open@6h75", "time '6h75' is not read here"),
        ("sensor-open@-5", "time '-5' is not read here"),
        ("sensor-open", r"fault 'sensor-open' has no start: write NAME@TIME, as sensor-open@6h30"),
        ("@6h", "fault '' is not known here: write one of sensor-open, sensor-short"),
        ("gremlin@6h", "fault 'gremlin' is not known here: write one of sensor-open, sensor-short"),
        ("silent@9999999999", "fault silent at 1e[+]10 s: write a time from 0 on"),
    ],
)
def test_faults_that_cannot_be_read(text: str, says: str) -> None:
    with pytest.raises(WrongInput, match=says):
        read_fault(text)
