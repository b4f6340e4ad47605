"""Registers, states and the control loop: through frames, as a client sees them."""

from __future__ import annotations

import pytest
from hw_frames import read, write

from hw_sim.canister import Canister
from hw_sim.controller import Controller
from hw_sim.crc import sealed
from hw_sim.deviations import BOOK
from hw_sim.ovens import oven, oven_names
from hw_sim.world import World


def exact(name: str = "medium", canister: Canister | None = None) -> World:
    """A world as in the book: no noise, no offset, no swing."""
    return World(name, canister=canister, deviations=BOOK)


def test_at_power_up() -> None:
    assert read(exact(), 0, 7) == [200, 0, 0, 0, 0, 0, 11500]
    assert read(exact(), 16) == [0]


def test_cold_readings_are_signed() -> None:
    assert read(World(start_c=-10.0, deviations=BOOK), 0) == [-100]


@pytest.mark.parametrize("function", [6, 16])
def test_setpoint_and_run_command_can_be_written(function: int) -> None:
    world = exact()
    assert write(world, 2, 8501, function)[1] == function
    assert read(world, 1, 2) == [8501, 8501]
    assert write(world, 16, 1, function)[1] == function
    assert read(world, 4) == [1]
    assert read(world, 16) == [1]


@pytest.mark.parametrize("function", [6, 16])
@pytest.mark.parametrize("tenths", [11501, -1, 32767])
def test_setpoints_out_of_range_are_refused_and_change_nothing(function: int, tenths: int) -> None:
    world = exact()
    write(world, 2, 3000)
    assert write(world, 2, tenths, function) == bytes((1, function | 0x80, 3))
    assert read(world, 2) == [3000]


def test_the_highest_setpoint_is_taken() -> None:
    world = exact()
    write(world, 2, 11500)
    assert read(world, 2) == [11500]


def test_an_unknown_run_command_is_refused() -> None:
    world = exact()
    assert write(world, 16, 3) == bytes((1, 0x90, 3))
    assert read(world, 4) == [0]


@pytest.mark.parametrize("at", [0, 1, 3, 4, 5, 6, 7, 15, 17, 256, 65535])
def test_what_cannot_be_written(at: int) -> None:
    assert write(exact(), at, 1) == bytes((1, 0x90, 2))


def test_a_write_across_a_read_only_register_changes_nothing() -> None:
    world = exact()
    frame = sealed(bytes.fromhex("01 10 0002 0002 04 0BB8 0000"))
    assert world.answer(frame) == sealed(bytes.fromhex("01 90 02"))
    assert read(world, 2) == [0]


@pytest.mark.parametrize(("at", "count"), [(7, 1), (6, 2), (15, 2), (16, 2), (17, 1), (0, 17), (256, 4), (65535, 1)])
def test_what_cannot_be_read(at: int, count: int) -> None:
    frame = sealed(bytes((1, 3)) + at.to_bytes(2, "big") + count.to_bytes(2, "big"))
    assert exact().answer(frame) == sealed(bytes((1, 0x83, 2)))


def test_idle_gives_no_heat_and_run_does() -> None:
    world = exact()
    write(world, 2, 9000)
    world.advance(600.0)
    assert read(world, 0) == [200]
    assert read(world, 3) == [0]
    write(world, 16, 1)
    world.advance(600.0)
    assert read(world, 0)[0] > 2500
    assert read(world, 3) == [1000]
    write(world, 16, 0)
    assert read(world, 3) == [0]  # at once, before any time passes
    assert read(world, 4) == [0]
    hot = world.true()["oven_c"]
    world.advance(600.0)
    assert world.true()["oven_c"] < hot


def test_held_keeps_its_setpoint_and_goes_on_heating() -> None:
    world = exact()
    write(world, 2, 2000)
    write(world, 16, 1)
    world.advance(7200.0)
    write(world, 16, 2)
    write(world, 2, 5000)
    assert read(world, 1, 2) == [2000, 5000]
    assert read(world, 4) == [2]
    world.advance(1800.0)
    assert read(world, 0)[0] == pytest.approx(2000, abs=20)
    assert read(world, 3)[0] > 0
    write(world, 16, 1)
    assert read(world, 1) == [5000]


def test_the_limiter_shows_as_bit_3_and_stays_open() -> None:
    world = World(limiter_c=300.0, deviations=BOOK)
    write(world, 2, 5000)
    write(world, 16, 1)
    world.advance(3600.0)
    assert world.true()["limiter_open"] is True
    assert read(world, 5) == [0b1000]
    assert world.true()["power_w"] == 0.0
    assert world.true()["oven_c"] < 300.0


def test_readings_beyond_the_scale_do_not_wrap() -> None:
    controller = Controller(oven("small").pid, 1150.0)
    controller.sample(1.0, 5000.0)
    assert controller.read(0, 1) == [32766]
    assert controller.read(5, 1) == [0]


CANISTERS = {
    "small": Canister((75.0, 160.0), 3.0, 1.1),
    "medium": Canister((100.0, 250.0), 3.0, 3.1),
    "large": Canister((150.0, 350.0), 3.0, 9.6),
}


@pytest.mark.parametrize("step_s", [1.0, 5.0])
@pytest.mark.parametrize("name", oven_names())
def test_streamed_ramp_into_a_hold(name: str, step_s: float) -> None:
    """300 degC/h, written once a minute, then 1000 degC for 3 h: under 5 degC too high, then within 2 degC, always."""
    world = World(name, canister=CANISTERS[name])
    write(world, 16, 1)
    arrives_s = 980.0 / 300.0 * 3600.0
    highest, spread = 0.0, 0.0
    while world.time_s < arrives_s + 3 * 3600.0:
        if world.time_s % 60.0 == 0.0:
            write(world, 2, round(10 * min(1000.0, 20.0 + world.time_s / 12.0)))
        world.advance(step_s)
        pv = read(world, 0)[0] / 10.0
        if 3600.0 < world.time_s < arrives_s:
            assert abs(pv - read(world, 1)[0] / 10.0) < 15.0
        highest = max(highest, pv)
        if world.time_s > arrives_s + 3600.0:
            spread = max(spread, abs(pv - 1000.0))
    assert highest < 1005.0
    assert spread < 2.0
    assert world.true()["core_c"] == pytest.approx(1000.0, abs=10.0)


def test_a_drying_hold_is_kept_within_10_degrees() -> None:
    world = exact(canister=Canister())
    write(world, 2, 1200)
    write(world, 16, 1)
    world.advance(3600.0)
    for _ in range(720):
        world.advance(5.0)
        assert read(world, 0)[0] == pytest.approx(1200, abs=100)


def test_long_saturation_leaves_no_wound_up_output() -> None:
    """The setpoint far above, full power for 20 min, then put just above the reading: under 3 degC too far."""
    world = exact(canister=Canister())
    write(world, 2, 11500)
    write(world, 16, 1)
    world.advance(1200.0)
    reached = read(world, 0)[0]
    write(world, 2, reached + 100)
    highest = 0
    for _ in range(720):
        world.advance(5.0)
        highest = max(highest, read(world, 0)[0])
    assert highest < reached + 100 + 30
