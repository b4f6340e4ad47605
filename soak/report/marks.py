"""The lines of the temperature figure, and the marks on it: at heat, power off, trips, holes in the record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from soak.record.rows import Record
from soak.report import colours as c
from soak.report import style, thin
from soak.report.facts import Facts
from soak.report.show import Units, duration

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]
MOST_ALARMS = 40  # more would be a grey bar; the events table has them all


@dataclass(frozen=True, slots=True)
class Line:
    """One temperature against time, in the unit shown."""

    label: str
    time_s: Array
    values: Array
    colour: str
    dash: str
    width: float

    @property
    def known(self) -> bool:
        return bool(np.isfinite(self.values).any())


def temperature_lines(record: Record, units: Units) -> tuple[Line, ...]:
    """What was asked, what the oven read, what the charge is estimated at, and what was measured in it."""
    read_s = np.array([r.time_s for r in record.readings])
    charge_s = np.array([e.time_s for e in record.charge])

    def line(label: str, time_s: Array, values: list[float | None], colour: str, dash: str, width: float) -> Line:
        return Line(label, time_s, units.degrees(thin.numbers(values)), colour, dash, width)

    return (
        line("setpoint", read_s, [r.setpoint_c for r in record.readings], c.SOFT, (0, (4, 2)), 1.0),  # type: ignore[arg-type]
        line("oven", read_s, [r.oven_c for r in record.readings], c.OVEN, "-", 1.2),
        line("charge at the wall", charge_s, [e.wall_c for e in record.charge], c.WALL_PIECE, "-.", 1.2),
        line("charge, core", charge_s, [e.core_c for e in record.charge], c.IRON, "-", 2.0),
        line("measured", read_s, [r.charge_c for r in record.readings], c.TARGET, ":", 1.6),
    )


def draw(axes: Axes, record: Record, facts: Facts) -> None:
    """At heat, power off and trips as lines with words at the top; warnings and alarms as ticks at the bottom."""
    found = [
        (facts.at_heat_s, "at heat", c.IRON),
        (facts.power_off_s, "power off", c.INK),
        *((e.time_s, f"trip: {e.code}", c.BAD) for e in record.events if e.severity == "trip"),
    ]
    if facts.ended == "interrupted":
        found.append((facts.last_s, "record ends", c.BAD))
    if facts.at_heat_s is not None:
        until_s = facts.power_off_s if facts.power_off_s is not None else facts.last_s
        axes.axvspan(facts.at_heat_s / 3600.0, until_s / 3600.0, color=c.SOAKING, lw=0.0, zorder=0)
    seen = sorted({m for m in found if m[0] is not None}, key=lambda m: (m[0] or 0.0, m[1]))
    end_h = axes.get_xlim()[1]
    for i, (time_s, text, colour) in enumerate(seen[:6]):
        hours = (time_s or 0.0) / 3600.0
        axes.axvline(hours, color=colour, lw=0.9)
        right = hours > 0.7 * end_h
        style.words(
            axes,
            hours + (-0.008 if right else 0.008) * end_h,
            0.985 - 0.075 * (i % 2),
            f"{text}, {duration(time_s)}",
            transform=axes.get_xaxis_transform(),
            ha="right" if right else "left",
            va="top",
            fontsize=8.5,
            color=colour,
            bbox={"facecolor": c.CARD, "edgecolor": "none", "pad": 0.8},
        )
    alarms = [e.time_s / 3600.0 for e in record.events if e.severity in ("warning", "alarm")][:MOST_ALARMS]
    if alarms:
        axes.plot(alarms, [0.0] * len(alarms), marker="^", ms=6, ls="none", color=c.BAD, clip_on=False)
    for before, after in thin.holes(np.array([r.time_s for r in record.readings])):
        axes.axvspan(before / 3600.0, after / 3600.0, ymax=0.8, facecolor=c.GRID, lw=0.0, zorder=0)


def said(record: Record, facts: Facts, units: Units) -> str:
    """The figure in words, for those who cannot see it."""
    read = [r.oven_c for r in record.readings if r.oven_c is not None]
    text = f"The oven's highest reading is {units.temperature_text(max(read))}." if read else "No oven reading."
    if facts.at_heat_s is not None:
        text += f" The charge was at heat {duration(facts.at_heat_s)} after the start."
    if facts.power_off_s is not None:
        text += f" The power went off after {duration(facts.power_off_s)}."
    cores = [e.core_c for e in record.charge if e.core_c is not None]
    if cores:
        text += f" The core of the charge is estimated at {units.temperature_text(max(cores))} at most"
        text += f" and at {units.temperature_text(cores[-1])} at the end."
    return text
