"""A run as it goes: a bar with temperatures and carbon on a terminal, a line now and then when piped. Writes stderr."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import IO, Any, cast

from soak.cli import output as o
from soak.cli.output import Units
from soak.plan.choose import Planned
from soak.process.outcome import band, charge_c, reached, slowest
from soak.run.task import View
from soak.trace import Event

STYLES = {"alarm": "bold yellow", "trip": "bold red"}
EVERY_S = 3600.0  # of the run, between lines when there is no terminal


def words(planned: Planned, view: View, units: Units) -> str:
    """Setpoint, oven, core, carbon of the slowest piece."""
    r, charge, target = view.reading, planned.charge, planned.job.target
    oven = "no reading" if r is None or r.oven_c is None else o.temperature(r.oven_c, units)
    i = slowest(charge, view.state, target)
    b = band(100.0 * reached(charge, view.state, target)[:, i], view.state.weight)
    core = o.temperature(charge_c(view.state)[0], units)
    carbon = f"{b.mid:.2f} % C ({b.low:.2f} to {b.high:.2f})"
    segment = planned.plan.segments[min(view.index, len(planned.plan.segments) - 1)].kind
    return f"{o.duration(view.time_s / 3600.0):>11}  {segment:<4}  oven {oven}  core {core}  {carbon}"


def news(event: Event) -> str:
    """One event as a line: when, how bad if it is, what."""
    loud = {"alarm": "ALARM  ", "trip": "TRIP  ", "warning": "mind: "}.get(event.severity, "")
    return f"{o.duration(event.time_s / 3600.0):>11}  {loud}{event.text}"


class Deaf:
    """A stream on which what cannot be written is lost: a terminal that hangs up must not end the run."""

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        with suppress(OSError):
            return self._stream.write(text)
        return len(text)

    def flush(self) -> None:
        with suppress(OSError):
            self._stream.flush()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def shown(planned: Planned, units: Units, quiet: bool = False) -> Iterator[Callable[[View], None]]:
    """Gives the function that the loop calls after each tick."""
    if quiet:
        yield lambda view: None
        return
    expected_s = 3600.0 * planned.plan.hours_total
    if not sys.stderr.isatty():
        last_s = -EVERY_S

        def line(view: View) -> None:
            nonlocal last_s
            o.say_err(*(news(e) for e in view.news))
            if view.time_s - last_s >= EVERY_S:
                last_s = view.time_s
                o.say_err(words(planned, view, units))

        yield line
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    console = Console(file=cast(IO[str], Deaf(sys.stderr)), highlight=False)
    with Progress(BarColumn(20), TextColumn("{task.description}"), console=console, refresh_per_second=5) as bar:
        job = bar.add_task("", total=expected_s)
        last_wall = [0.0]

        def draw(view: View) -> None:
            for e in view.news:
                console.print(news(e), style=STYLES.get(e.severity, ""), markup=False, soft_wrap=True)
                if e.severity in STYLES:
                    console.bell()
            if view.time_s - last_wall[0] >= 60.0 or view.phase != "running":
                last_wall[0] = view.time_s
                done = min(view.time_s, expected_s) if view.phase != "complete" else expected_s
                bar.update(job, completed=done, description=words(planned, view, units))

        yield draw
