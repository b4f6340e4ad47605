"""Small figures of one kind side by side, one a piece: how they are laid out, and what a band looks like in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from soak.record.rows import Band
from soak.report import colours as c
from soak.report import style, thin
from soak.report.facts import Facts, PieceFacts
from soak.report.show import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

MOST_PIECES = 12  # six rows of panels fill a printed page
MOST_POINTS = 300  # a panel is 180 points wide and its curves are smooth
LEFT, RIGHT, HEAD, FOOT = 0.5, 0.98, 0.3, 0.5  # inch around each panel's axes


@dataclass(frozen=True, slots=True)
class Curve:
    """A band against x: low, mid, high, shape (point,); NaN where there is no number."""

    x: Array
    low: Array
    mid: Array
    high: Array

    def at(self, few: NDArray[np.intp]) -> Curve:
        return Curve(self.x[few], self.low[few], self.mid[few], self.high[few])

    @property
    def known(self) -> bool:
        return bool(np.isfinite(self.mid).any())


def curve(x: Sequence[float], bands: Sequence[Band], factor: float = 1.0) -> Curve:
    """A curve of bands over x; `factor` brings them to the unit shown."""
    ends = (thin.numbers(getattr(b, end) for b in bands) * factor for end in ("low", "mid", "high"))
    return Curve(np.array(x, dtype=np.float64), *ends)


def draw(axes: Axes, line: Curve, scale: float = 1.0, most: int = MOST_POINTS) -> None:
    """The band as a shade, the central estimate as a line; x is divided by `scale`."""
    few = line.at(thin.keep([line.mid, line.low, line.high], most))
    axes.fill_between(few.x / scale, few.low, few.high, color=c.BAND, linewidth=0.0)
    axes.plot(few.x / scale, few.mid, color=c.IRON, linewidth=1.8)


def shown(facts: Facts) -> tuple[PieceFacts, ...]:
    """The pieces that get a panel: all, or the slowest where there are too many for one page; in the job's order."""
    if len(facts.pieces) <= MOST_PIECES:
        return facts.pieces
    behind = sorted(
        facts.pieces, key=lambda p: (p.bands[facts.quantity].mid is None, p.bands[facts.quantity].mid or 0.0)
    )
    return tuple(p for p in facts.pieces if p in behind[:MOST_PIECES])


def height_in(count: int) -> float:
    """Height of a figure with this many panels."""
    return -(-count // 2) * _row_in(count) if count > 1 else 2.9


def lay(figure: Figure, count: int) -> list[Axes]:
    """Axes for the panels: one across the page, or two columns."""
    columns = 1 if count == 1 else 2
    wide = style.WIDTH_IN / columns
    high = height_in(count) if count == 1 else _row_in(count)
    return [
        style.place(
            figure,
            ((i % columns) * wide + LEFT, (i // columns) * high + HEAD, wide - LEFT - RIGHT, high - HEAD - FOOT),
        )
        for i in range(count)
    ]


def name(piece: PieceFacts, units: Units) -> str:
    """What a piece is called in a figure: its label, and its thickness or diameter."""
    if piece.stock is None:
        return f"piece {piece.label}"
    size = units.size_text(1000.0 * piece.stock.thickness_m)
    return f"piece {piece.label}: {piece.stock.shape} {size}"


def heading(axes: Axes, text: str, strong: bool) -> None:
    """The panel's name, above it on the left."""
    weight = "bold" if strong else "normal"
    style.words(axes, 0.0, 1.03, text, transform=axes.transAxes, va="bottom", fontsize=9.0, fontweight=weight)


def _row_in(count: int) -> float:
    return 2.4 if count <= 4 else 1.72
