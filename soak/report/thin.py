"""Long traces made short for drawing, extremes kept; and where a trace has holes. Pure arrays."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST = 1500  # points a line: three times the points of a printed page's width, so nothing visible is lost
_HOLE_TICKS = 10.0  # judgement: a pause this many times the usual one is a hole, not a late reading
_HOLE_LEAST_S = 60.0  # judgement: shorter pauses tell nobody anything


def numbers(values: Iterable[float | None]) -> Array:
    """Values as an array; None becomes NaN, which draws as a hole."""
    return np.array([np.nan if v is None else v for v in values], dtype=np.float64)


def keep(series: Sequence[Array], most: int = MOST) -> NDArray[np.intp]:
    """Which points to draw so that no series loses its extremes.

    The trace is cut into equal stretches; each keeps its first and last point, one hole if it has any, and the least
    and greatest point of every series.

    Args:
        series: arrays of one length, shape (point,); NaN is a hole.
        most: about how many points to keep, at least 8.

    >>> keep([np.array([0.0, 0.0, 9.0] + [0.0] * 97)], most=20)[:3]
    array([ 0,  2, 19])
    """
    length = len(series[0])
    if length <= most:
        return np.arange(length)
    chosen: set[int] = set()
    for part in np.array_split(np.arange(length), max(1, most // (2 + 2 * len(series)))):
        chosen |= {int(part[0]), int(part[-1])}
        for values in series:
            here = values[part]
            finite = np.isfinite(here)
            if finite.any():
                chosen |= {int(part[np.nanargmin(here)]), int(part[np.nanargmax(here)])}
            if not finite.all():
                chosen.add(int(part[np.argmin(finite)]))
    return np.array(sorted(chosen), dtype=np.intp)


def holes(time_s: Array) -> list[tuple[float, float]]:
    """Stretches without a reading: (last before, first after) [s]."""
    if len(time_s) < 3:
        return []
    step = np.diff(time_s)
    usual = float(np.median(step))
    wide = np.flatnonzero(step > max(_HOLE_LEAST_S, _HOLE_TICKS * usual))
    return [(float(time_s[i]), float(time_s[i + 1])) for i in wide]


def opened(time_s: Array, values: Array) -> tuple[Array, Array]:
    """The trace with a NaN in every hole, so that no line is drawn across what nobody saw."""
    found = holes(time_s)
    if not found:
        return time_s, values
    at = np.searchsorted(time_s, [after for _, after in found])
    middle = np.array([0.5 * (a + b) for a, b in found])
    return np.insert(time_s, at, middle), np.insert(values, at, np.nan)


def still_after(time_s: Array, series: Sequence[Array], share: float = 0.005) -> float:
    """The time [s] after which no series moves by more than `share` of its own range; the first time if none moves."""
    moved = float(time_s[0])
    for values in series:
        if not np.isfinite(values).any():
            continue
        last = values[np.isfinite(values)][-1]
        span = float(np.nanmax(values) - np.nanmin(values))
        away = np.flatnonzero(np.abs(values - last) > share * span) if span > 0.0 else np.array([], dtype=np.intp)
        if len(away):
            moved = max(moved, float(time_s[min(away[-1] + 1, len(time_s) - 1)]))
    return moved
