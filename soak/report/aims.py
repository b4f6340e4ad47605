"""The target in words and in figures: a line, its tolerance as a shade, in the unit shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from soak.job.target import Target
from soak.report import colours as c
from soak.report.facts import CASE_CARBON, QUANTITY, Facts
from soak.report.show import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Labels = list[tuple[float, str, str]]  # what soak.report.style.beside puts right of the axes: y, text, colour
_DASH = (0, (5, 2))


@dataclass(frozen=True, slots=True)
class Aim:
    """`low` and `high` bound the tolerance; both equal `value` where the job gives none."""

    value: float
    low: float
    high: float
    text: str


def aim_of(facts: Facts, quantity: str, units: Units) -> Aim | None:
    """The target for one quantity of the trace; None if the job asks for another one, or cannot be read."""
    target = facts.target
    if target is None or QUANTITY[target.where] != quantity:
        return None
    if target.where != "depth":
        value, off = 100.0 * target.carbon, 100.0 * target.tolerance
        return Aim(value, value - off, value + off, f"{value:.2f} wanted")
    if target.depth_m is None or abs(target.carbon - CASE_CARBON) > 1e-6:
        return None  # the trace's case depth is measured to another carbon
    depth = units.span(1000.0 * target.depth_m)
    off = units.span(1000.0 * (target.depth_tolerance_m or 0.0))
    return Aim(depth, depth - off, depth + off, f"{units.length_number(1000.0 * target.depth_m)} wanted")


def wanted_text(target: Target, units: Units) -> str:
    """The target in words: "0.85 % C in the mean, within 0.08 %"."""
    carbon = f"{100.0 * target.carbon:.2f} % C"
    if target.where == "depth":
        text = f"{carbon} at a depth of {units.size_text(1000.0 * (target.depth_m or 0.0))}"
        if target.depth_tolerance_m is not None:
            return f"{text}, within {units.size_text(1000.0 * target.depth_tolerance_m)}"
    else:
        place = {"mean": "in the mean", "surface": "at the surface", "centre": "at the centre"}[target.where]
        text = f"{carbon} {place}"
    return f"{text}, within {100.0 * target.tolerance:.2f} %"


def draw(axes: Axes, aim: Aim | None) -> Labels:
    """The target as a dashed line with its tolerance as a shade; gives its label."""
    if aim is None:
        return []
    axes.axhspan(aim.low, aim.high, color=c.TOLERANCE, lw=0.0, zorder=0.5)
    axes.axhline(aim.value, color=c.TARGET, lw=1.2, ls=_DASH)
    return [(aim.value, aim.text, c.TARGET)]


def highest(target: Target | None) -> float:
    """The greatest carbon [mass %] that `draw_at_depth` draws."""
    if target is None:
        return 0.0
    return 100.0 * max(
        target.carbon + (target.tolerance if target.where != "depth" else 0.0), target.surface_max or 0.0
    )


def draw_at_depth(axes: Axes, target: Target | None, units: Units) -> Labels:
    """The target among carbon against depth: a line for mean, surface or centre; a cross where it is for one depth."""
    if target is None:
        return []
    value, labels = 100.0 * target.carbon, Labels()
    if target.where == "depth":
        depth = units.span(1000.0 * (target.depth_m or 0.0))
        off = units.span(1000.0 * (target.depth_tolerance_m or 0.0))
        axes.errorbar([depth], [value], xerr=[off], fmt="D", ms=5, capsize=4, color=c.TARGET, zorder=5)
        labels.append((value, f"{value:.2f} wanted", c.TARGET))
    else:
        off = 100.0 * target.tolerance
        labels += draw(axes, Aim(value, value - off, value + off, f"{value:.2f} wanted"))
    if target.surface_max is not None:
        axes.axhline(100.0 * target.surface_max, color=c.BAD, lw=1.0, ls=(0, (1, 2)))
        labels.append((100.0 * target.surface_max, f"{100.0 * target.surface_max:.2f} surface,\nat most", c.BAD))
    return labels
