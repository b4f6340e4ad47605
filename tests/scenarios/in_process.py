"""A dry run in this process: the loop, the guards, the run file and real frames, but no pipe and no port between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from cli_parts import QUICK_SIM
from slave import InProcess

from hw_sim.canister import Canister, read_size
from hw_sim.world import World
from soak.link.modbus import Wire
from soak.link.oven import ModbusOven
from soak.plan.choose import Planned
from soak.record.load import load
from soak.record.rows import Record
from soak.run.loop import Outcome
from soak.shop.conduct import DRY_POLL_S, DRY_SLOW_S, conduct, controller_of, pace_of, quietly, task_for


class WorldClock:
    """The world's time as a Clock."""

    def __init__(self, world: World) -> None:
        self._world = world

    def now_s(self) -> float:
        return self._world.time_s

    def sleep_until(self, time_s: float) -> None:
        self._world.advance(max(0.0, time_s - self._world.time_s))


@dataclass(frozen=True)
class Ended:
    """What came of it: the outcome, the run file read back, and the world as it was left."""

    outcome: Outcome
    record: Record
    world: World

    @property
    def trips(self) -> list[tuple[str, float]]:
        """Code and time [s] of what tripped."""
        return [(e.code, e.time_s) for e in self.record.events if e.severity == "trip"]

    @property
    def alarms(self) -> list[str]:
        return [e.code for e in self.record.events if e.severity == "alarm"]


def world_for(*faults: str, seed: int = 0) -> World:
    """The simulated oven of the short job."""
    said = dict(zip(QUICK_SIM[::2], QUICK_SIM[1::2], strict=True))
    canister = Canister(
        read_size(said["--canister-mm"]),
        float(said["--wall-mm"]),
        float(said["--steel-kg"]),
        float(said["--pack-kg"]),
        0.0,
        0.05,
    )
    return World(oven=said["--oven"], seed=seed, canister=canister, faults=faults)


def play(planned: Planned, folder: Path, world: World, answer: Callable[[bytes], bytes] | None = None) -> Ended:
    """The run, to its end. `answer` stands between the line and the world where a test bends the line."""
    controller = controller_of(planned)
    oven = ModbusOven(Wire(InProcess(answer or world.answer), 1, 0.001), controller, planned.plan.limit_c)
    task = task_for(planned, pace_of(controller, planned), DRY_POLL_S, DRY_SLOW_S, attended=False)
    path = folder / "run.soak"
    outcome, _ = conduct(planned, "dry-run", oven, WorldClock(world), task, path, {}, quietly, None)
    return Ended(outcome, load(path), world)
