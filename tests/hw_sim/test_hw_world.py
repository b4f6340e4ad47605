"""The world as one object: determinism, seeds, true values, bad input, and a client put on it as an in-process line."""

from __future__ import annotations

from dataclasses import fields

import minimalmodbus
import pytest
from hw_frames import read, write

from hw_sim.canister import Canister, read_size
from hw_sim.commands import obey
from hw_sim.crc import sealed
from hw_sim.deviations import BOOK, MODEST, draw
from hw_sim.errors import WrongInput
from hw_sim.ovens import oven
from hw_sim.world import World


class InProcessLine:
    """What minimalmodbus needs of a serial port, with the world at the other end."""

    port = "in-process"
    baudrate = 1_000_000
    timeout = 0.25
    is_open = True

    def __init__(self, world: World) -> None:
        self._world = world
        self._came = b""

    def open(self) -> None: ...

    def close(self) -> None: ...

    def flush(self) -> None: ...

    def reset_input_buffer(self) -> None:
        self._came = b""

    def reset_output_buffer(self) -> None: ...

    def write(self, data: bytes) -> int:
        self._came += self._world.answer(data)
        return len(data)

    def read(self, most: int) -> bytes:
        answer, self._came = self._came[:most], self._came[most:]
        return answer


def test_minimalmodbus_in_process() -> None:
    world = World(deviations=BOOK)
    unit = minimalmodbus.Instrument(InProcessLine(world), 1)
    assert unit.read_registers(0, 7) == [200, 0, 0, 0, 0, 0, 11500]
    unit.write_register(2, 300.0, 1)
    unit.write_register(16, 1, functioncode=6)
    world.advance(1800.0)
    assert unit.read_register(0, 1, signed=True) > 200.0
    assert unit.read_register(1, 1) == 300.0
    with pytest.raises(minimalmodbus.IllegalRequestError, match="illegal data address"):
        unit.read_register(7)
    with pytest.raises(minimalmodbus.IllegalRequestError, match="illegal data value"):
        unit.write_register(2, 1150.1, 1)
    with pytest.raises(minimalmodbus.NoResponseError):
        minimalmodbus.Instrument(InProcessLine(world), 2).read_register(0)


def told(seed: int, oven_name: str = "medium") -> bytes:
    """All that a world says over an hour of heating with a fault in it."""
    world = World(oven_name, seed=seed, faults=["slip-100@30min"])
    write(world, 2, 9000)
    write(world, 16, 1)
    said = b""
    for _ in range(360):
        world.advance(10.0)
        said += world.answer(sealed(bytes.fromhex("010300000007"))) + obey(world, "true").encode()
    return said


def test_same_seed_same_world_byte_for_byte() -> None:
    assert told(0) == told(0)
    assert told(7) == told(7)


def test_other_seed_other_world() -> None:
    assert len({told(0), told(1), told(2)}) == 3


def test_seed_0_is_modest() -> None:
    # the figures asked for: pack 0.9 x, sensor + 2 degC, mains +- 1 %, noise 0.15-0.20 degC
    assert draw(0) == MODEST
    assert (MODEST.pack_k, MODEST.offset_c, MODEST.mains) == (0.9, 2.0, 0.01)
    assert 0.15 <= MODEST.noise_c <= 0.20


def test_drawn_worlds_stay_ovens_that_work() -> None:
    for seed in range(1, 300):
        drawn = draw(seed)
        assert 0.4 < drawn.pack_k < 2.2
        assert abs(drawn.offset_c) <= 6.0
        assert 0.15 <= drawn.noise_c <= 0.20
        assert 0.0 < drawn.mains <= 0.01
    spread = [{getattr(draw(seed), field.name) for seed in range(1, 6)} for field in fields(MODEST)]
    assert all(len(values) == 5 for values in spread)


def test_readings_scatter_as_said_about_the_offset() -> None:
    world = World(start_c=20.0)
    seen = []
    for _ in range(2000):
        world.advance(1.0)
        seen.append(read(world, 0)[0] / 10.0)
    mean = sum(seen) / len(seen)
    scatter = (sum((one - mean) ** 2 for one in seen) / len(seen)) ** 0.5
    assert mean == pytest.approx(22.0, abs=0.03)
    assert scatter == pytest.approx(0.17, abs=0.02)


def test_true_values_of_an_empty_oven() -> None:
    true = World(canister=None).true()
    assert (true["wall_c"], true["core_c"]) == (None, None)
    assert true["oven_c"] == 20.0


def test_the_core_trails_the_wall_and_the_wall_the_oven() -> None:
    world = World()
    write(world, 2, 9000)
    write(world, 16, 1)
    world.advance(2400.0)
    true = world.true()
    assert true["oven_c"] > true["wall_c"] > true["core_c"] > 20.0


def test_time_is_what_was_asked_for() -> None:
    world = World()
    for _ in range(1000):
        world.advance(0.1)
    world.advance(12.3)
    world.advance(0.0)
    assert world.true()["time_s"] == pytest.approx(112.3, abs=1e-6)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("advance", "advance '': write seconds from 0 to 1e+06, as in: advance 50"),
        ("advance ten", "advance 'ten': write seconds from 0 to 1e+06, as in: advance 50"),
        ("advance -1", "advance '-1': write seconds from 0 to 1e+06, as in: advance 50"),
        ("advance nan", "advance 'nan': write seconds from 0 to 1e+06, as in: advance 50"),
        ("fault gremlin", "fault 'gremlin' is not known here: write one of sensor-open, sensor-short"),
        ("true false", "command 'true false' is not known: write advance SECONDS, true, or fault NAME"),
        ("stop", "command 'stop' is not known: write advance SECONDS, true, or fault NAME"),
    ],
)
def test_commands_that_cannot_be_obeyed(line: str, says: str) -> None:
    world = World()
    before = world.true()
    assert obey(world, line).startswith('{"error": "' + says)
    assert world.true() == before


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"oven": "huge"}, "oven 'huge' is not known here: write one of small, medium, large"),
        ({"address": 0}, "address 0: a unit's address is 1 to 247"),
        ({"start_c": 2000.0}, "start at 2000 degC: write -20 to 1200 degC"),
        ({"oven": "small", "canister": Canister((160.0, 160.0, 200.0))}, "160x160x200 mm does not go into the small"),
        ({"faults": ["silent"]}, "fault 'silent' has no start"),
    ],
)
def test_worlds_that_cannot_be(asked: dict[str, object], says: str) -> None:
    with pytest.raises(WrongInput, match=says):
        World(**asked)  # type: ignore[arg-type]


def test_advance_refuses_to_go_back() -> None:
    with pytest.raises(WrongInput, match=r"advance by -1 s: write 0 to 1e\+06 s"):
        World().advance(-1.0)


@pytest.mark.parametrize(
    ("made", "says"),
    [
        ({"size_mm": (10.0, 100.0)}, "canister size 10x100 mm: each length must be 20 to 2000 mm"),
        ({"wall_mm": 20.0}, "canister wall 20 mm: it must be above 0 and under a quarter of the width"),
        ({"steel_kg": 9.0}, "9 kg of steel in this canister: write 0 to 4.65 kg"),
        ({"steel_kg": -1.0}, "-1 kg of steel in this canister"),
        ({"pack_kg": 5.0}, r"5 kg of pack in 1\.01 L: write 0\.020 to 1\.01 kg"),
        ({"lime": 0.9}, "lime 0.9 of the pack's mass: write a fraction from 0 to 0.4, as 0.05"),
        ({"moisture": -0.1}, "moisture -0.1 of the pack's mass"),
    ],
)
def test_canisters_that_cannot_be(made: dict[str, object], says: str) -> None:
    with pytest.raises(WrongInput, match=says):
        Canister(**made)  # type: ignore[arg-type]


def test_sizes() -> None:
    assert read_size("96x64x220") == (96.0, 64.0, 220.0)
    assert read_size(" 100 X 250.5 ") == (100.0, 250.5)
    for text in ("96", "96x", "axb", "1x2x3x4", "-96x64"):
        with pytest.raises(WrongInput, match="write width x height x length of a box as 96x64x220"):
            read_size(text)


def test_the_oven_table_is_marked() -> None:
    """Every oven and lining names its source and how that is known."""
    from hw_sim.ovens import _tables

    for kind in ("material", "oven"):
        for row in _tables()[kind].values():
            assert row["source"]
            assert row["how"] in {"seen", "memory", "computed", "judgement"}
    assert oven("medium").power_w == 3600.0
