"""The two loops that serve a world to others: at a pipe's command, or by the clock. Touches port, pipes and the clock.

Both are single-threaded: one `select` over the port and, when piped, standard input. Frames are answered as they come.
"""

from __future__ import annotations

import select
import time
from collections.abc import Callable
from typing import Protocol

from hw_sim.commands import obey
from hw_sim.lines_in import LinesIn
from hw_sim.world import World

QUIET_S = (
    0.1  # wall time: longer pauses end a frame; generous, as USB adapters and networks hold bytes back [judgement]
)
TICK_S = 0.1  # wall time between moves of the world when it follows the clock [judgement]
STATUS_S = 10.0  # wall time between status lines for people [judgement]


class Port(Protocol):
    """A place where frames come in: PtyPort or TcpPort."""

    name: str

    def waits_on(self) -> list[int]: ...

    def receive(self, ready: int) -> bytes: ...

    def send(self, data: bytes) -> None: ...

    def close(self) -> None: ...


class _Line:
    """Port and world together: hands bytes across, and notices when the line falls quiet inside a frame."""

    def __init__(self, world: World, port: Port) -> None:
        self._world, self._port = world, port
        self._last_s = 0.0

    def serve(self, ready: int) -> None:
        data = self._port.receive(ready)
        if not data:
            return
        now_s = time.monotonic()
        if now_s - self._last_s > QUIET_S:
            self._world.line_quiet()
        self._last_s = now_s
        answer = self._world.answer(data)
        if answer:
            self._port.send(answer)


def piped(world: World, port: Port, commands: LinesIn, say: Callable[[str], None]) -> None:
    """Serve until the end of standard input; the world moves only when told to."""
    line = _Line(world, port)
    while not commands.ended:
        told = commands.waits_on()
        ready, _, _ = select.select([*port.waits_on(), told], [], [])
        # frames first: one that was sent before a command was given belongs to the time before it
        for one in ready:
            if one != told:
                line.serve(one)
        if told in ready:
            for text in commands.fetch():
                if text:
                    say(obey(world, text))


def by_clock(world: World, port: Port, rate: float, say: Callable[[str], None]) -> None:
    """Serve until interrupted; `rate` seconds of the world pass in one of wall time."""
    line = _Line(world, port)
    world.runs_at(rate)
    moved_s = said_s = time.monotonic()
    while True:
        wait_s = max(0.0, moved_s + TICK_S - time.monotonic())
        ready, _, _ = select.select(port.waits_on(), [], [], wait_s)
        for one in ready:
            line.serve(one)
        now_s = time.monotonic()
        if now_s - moved_s >= TICK_S:
            world.advance((now_s - moved_s) * rate)
            moved_s = now_s
        if now_s - said_s >= STATUS_S:
            said_s = now_s
            say(status(world))


def status(world: World) -> str:
    """One line for people."""
    now = world.true()
    hours, minutes = divmod(int(now["time_s"] // 60), 60)
    text = f"{hours} h {minutes:02d} min: oven {now['oven_c']:.0f} degC, output {now['output_pct']:.0f} %"
    if now["core_c"] is not None:
        text += f", canister wall {now['wall_c']:.0f} degC, core {now['core_c']:.0f} degC"
    if now["limiter_open"]:
        text += ", limiter open"
    if now["faults"]:
        text += f", faults: {', '.join(now['faults'])}"
    return text
