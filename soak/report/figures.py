"""The figures of the report: a record in, one SVG text out; None where the record holds nothing to draw.

Each is readable on a white card in either colour scheme, and stands as a file of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from soak.record.rows import Band, Record
from soak.report import aims, marks, panels, style, thin
from soak.report import colours as c
from soak.report.facts import Facts, gather
from soak.report.show import SI, Units, carbon_band, carbon_text, length_band

if TYPE_CHECKING:
    from matplotlib.axes import Axes

TIME = "time since the start, h"
QUANTITY_WORDS = {
    "mean_carbon_pct": "mean carbon",
    "surface_carbon_pct": "carbon at the surface",
    "centre_carbon_pct": "carbon at the centre",
    "case_depth_mm": "case depth",
}


def temperature(record: Record, units: Units = SI, facts: Facts | None = None) -> str | None:
    """Setpoint, oven, and the charge's estimated wall and core against time; marks at heat and at power off."""
    facts = facts or gather(record)
    lines = [line for line in marks.temperature_lines(record, units) if line.known]
    if not lines:
        return None
    height = 3.5
    with style.sheet(height) as figure:
        axes = style.place(figure, (0.62, 0.32, style.WIDTH_IN - 0.62 - 0.15, height - 0.32 - 0.48))
        for line in lines:
            x, y = thin.opened(line.time_s, line.values)
            few = thin.keep([y])
            axes.plot(x[few] / 3600.0, y[few], label=line.label, color=line.colour, ls=line.dash, lw=line.width)
        top = max(float(np.nanmax(line.values)) for line in lines)
        axes.set_ylim(0.0, top * 1.22)
        _hours(axes, max(facts.last_s, 60.0))
        axes.set_ylabel(f"temperature, {units.temperature}")
        marks.draw(axes, record, facts)
        axes.legend(
            loc="lower left",
            bbox_to_anchor=(-0.01, 1.0),
            ncols=len(lines),
            frameon=False,
            labelcolor="linecolor",
            fontsize=8.5,
            borderpad=0.1,
            handlelength=2.2,
            columnspacing=1.4,
        )
        return style.svg(figure, "temperature", "Temperature against time", marks.said(record, facts, units))


def carbon(record: Record, units: Units = SI, facts: Facts | None = None, quantity: str | None = None) -> str | None:
    """One panel a piece: mean carbon (or the `quantity` asked for) with its band against time, and the target."""
    facts = facts or gather(record)
    quantity = quantity or "mean_carbon_pct"
    is_length = quantity.endswith("_mm")
    factor = units.span(1.0) if is_length else 1.0
    pieces = panels.shown(facts)
    rows = {p.label: [row for row in record.predictions if row.piece == p.label] for p in pieces}
    curves = {
        p.label: panels.curve([r.time_s for r in rows[p.label]], [getattr(r, quantity) for r in rows[p.label]], factor)
        for p in pieces
        if rows[p.label]
    }
    if not any(line.known for line in curves.values()):
        return None
    aim = aims.aim_of(facts, quantity, units)
    last_s = max(_end_of_change(line) for line in curves.values() if line.known)
    top = max(float(np.nanmax(line.high)) for line in curves.values() if line.known)
    words = f"{QUANTITY_WORDS[quantity]}, {units.length if is_length else '%'}"
    with style.sheet(panels.height_in(len(pieces))) as figure:
        for piece, axes in zip(pieces, panels.lay(figure, len(pieces)), strict=True):
            axes.set_ylim(0.0, 1.1 * max(top, aim.high if aim else 0.0, 1e-6))
            _hours(axes, last_s, steps=6 if len(pieces) > 1 else 9)
            axes.set_ylabel(words)
            labels = aims.draw(axes, aim)
            line = curves.get(piece.label)
            if line is not None and line.known:
                panels.draw(axes, line.at(np.flatnonzero(line.x <= last_s)), scale=3600.0)
                labels += _ends(line, f".{3 if is_length and units.system == 'us' else 2}f")
            style.beside(axes, labels)
            panels.heading(axes, panels.name(piece, units), strong=piece == facts.slowest)
        said = "; ".join(f"{p.label} {_reached(p.bands[quantity], is_length, units)}" for p in pieces)
        title = f"{QUANTITY_WORDS[quantity].capitalize()} against time, with its band"
        return style.svg(figure, quantity.split("_")[0], title, f"At the end, by piece: {said}.")


def profile(record: Record, units: Units = SI, facts: Facts | None = None) -> str | None:
    """One panel a piece: carbon against depth at the end, with its band, and where the target lies."""
    facts = facts or gather(record)
    pieces = panels.shown(facts)
    points = {p.label: [q for q in record.profiles if q.piece == p.label] for p in pieces}
    curves = {
        label: panels.curve([units.span(q.depth_mm) for q in found], [q.carbon_pct for q in found])
        for label, found in points.items()
        if found
    }
    if not any(line.known for line in curves.values()):
        return None
    top = max(float(np.nanmax(line.high)) for line in curves.values() if line.known)
    top = max(top, aims.highest(facts.target))
    with style.sheet(panels.height_in(len(pieces))) as figure:
        for piece, axes in zip(pieces, panels.lay(figure, len(pieces)), strict=True):
            line = curves.get(piece.label)
            axes.set_ylim(0.0, 1.1 * top)
            labels = aims.draw_at_depth(axes, facts.target, units)
            if line is not None and line.known:
                panels.draw(axes, line)
                axes.set_xlim(0.0, float(line.x[-1]))
                labels.append((float(line.mid[-1]), f"centre {line.mid[-1]:.2f}", c.IRON))
            axes.set_xlabel(f"depth below the surface, {units.length}")
            axes.set_ylabel("carbon, %")
            style.beside(axes, labels)
            panels.heading(axes, panels.name(piece, units), strong=piece == facts.slowest)
        said = "; ".join(
            f"{p.label} surface {carbon_text(p.bands['surface_carbon_pct'].mid)}, "
            f"centre {carbon_text(p.bands['centre_carbon_pct'].mid)}"
            for p in pieces
        )
        return style.svg(figure, "profile", "Carbon against depth at the end, with its band", f"By piece: {said}.")


def wall(record: Record, units: Units = SI, facts: Facts | None = None) -> str | None:
    """Canister wall left at its thinnest spot against time, with its band; at nothing it is gone through."""
    facts = facts or gather(record)
    line = panels.curve(
        [e.time_s for e in record.charge], [e.wall_left_mm for e in record.charge], factor=units.span(1.0)
    )
    if not line.known:
        return None
    new = units.span(1000.0 * facts.job.canister.wall_m) if facts.job else None
    last_s = _end_of_change(line)
    height = 2.7
    with style.sheet(height) as figure:
        axes = style.place(figure, (0.62, 0.15, style.WIDTH_IN - 0.62 - 1.0, height - 0.15 - 0.48))
        _hours(axes, last_s)
        axes.set_ylim(min(0.0, float(np.nanmin(line.low))), 1.1 * max(float(np.nanmax(line.high)), new or 0.0))
        panels.draw(axes, line.at(np.flatnonzero(line.x <= last_s)), scale=3600.0, most=thin.MOST // 2)
        axes.spines["bottom"].set_visible(False)
        axes.axhline(0.0, color=c.BAD, lw=1.6, clip_on=False)
        form = ".3f" if units.system == "us" else ".2f"
        labels = [(0.0, "gone through", c.BAD), *_ends(line, form)]
        if new is not None:
            axes.axhline(new, color=c.SOFT, lw=1.0, ls=(0, (1, 2)))
            labels.append((new, f"{new:{form}} new", c.SOFT))
        style.beside(axes, labels)
        axes.set_ylabel(f"wall left, {units.length}")
        said = (
            f"{units.length_text(facts.wall_left.mid)} left at the end, between {length_band(facts.wall_left, units)}."
        )
        return style.svg(figure, "wall", "Canister wall left at its thinnest spot, with its band", said)


def _ends(line: panels.Curve, form: str) -> aims.Labels:
    """The last numbers of a band, as labels; only one where the band has no width to speak of."""
    last = np.flatnonzero(np.isfinite(line.mid))[-1]
    low, mid, high = (f"{values[last]:{form}}" for values in (line.low, line.mid, line.high))
    out: aims.Labels = [(float(line.mid[last]), mid, c.IRON)]
    out += [(float(line.low[last]), low, c.SOFT)] if low not in (mid, "nan") else []
    return out + ([(float(line.high[last]), high, c.SOFT)] if high not in (mid, "nan") else [])


def _hours(axes: Axes, last_s: float, steps: int = 9) -> None:
    """The time axis, with whole steps of hours where the run is long enough."""
    from matplotlib.ticker import MaxNLocator

    axes.set_xlim(0.0, last_s / 3600.0)
    axes.xaxis.set_major_locator(MaxNLocator(nbins=steps, steps=[1, 2, 3, 4, 6, 10], integer=last_s > 4.0 * 3600.0))
    axes.set_xlabel(TIME)


def _end_of_change(line: panels.Curve) -> float:
    """Where to end the time axis [s]: a little after the last change, if most of what follows would be flat."""
    change = 1.1 * thin.still_after(line.x, [line.low, line.mid, line.high])
    last = float(line.x[-1])
    return change if 0.0 < change < 0.6 * last else max(last, 60.0)


def _reached(band: Band, is_length: bool, units: Units) -> str:
    if is_length:
        return f"{units.length_text(band.mid)} ({length_band(band, units)})"
    return f"{carbon_text(band.mid)} ({carbon_band(band)})"
