"""How every figure looks, and how it becomes one SVG text: the same bytes for the same record.

matplotlib is imported inside functions only: it is heavy, and most verbs draw nothing.
"""

from __future__ import annotations

import html
import io
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from soak.report import colours as c
from soak.report.tags import clean

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_IN = 7.08  # 180 mm: an A4 page within its margins, so that print is one to one
_FONT = "DejaVu Sans"  # comes with matplotlib, so sizes are measured alike everywhere
_SHOWN_FONT = "'DejaVu Sans', Verdana, sans-serif"  # where it is missing: one as wide, then any
_SETTINGS: Any = {
    "font.family": [_FONT],
    "font.size": 9.0,
    "text.color": c.INK,
    "axes.edgecolor": c.SOFT,
    "axes.labelcolor": c.INK,
    "axes.labelsize": 9.0,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.grid.axis": "y",
    "axes.axisbelow": True,
    "grid.color": c.GRID,
    "grid.linewidth": 0.7,
    "xtick.color": c.SOFT,
    "ytick.color": c.SOFT,
    "xtick.labelcolor": c.INK,
    "ytick.labelcolor": c.INK,
    "xtick.labelsize": 8.5,
    "ytick.labelsize": 8.5,
    "xtick.major.size": 3.0,
    "ytick.major.size": 0.0,
    "lines.linewidth": 1.5,
    "figure.facecolor": c.CARD,
    "axes.facecolor": c.CARD,
    "path.simplify": True,
    "svg.fonttype": "none",  # text stays text: small, can be searched and read aloud
    "svg.hashsalt": "soak",
}


@contextmanager
def sheet(height_in: float) -> Iterator[Figure]:
    """An empty figure of full width under our settings only, whatever a user's own matplotlib settings say."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with matplotlib.rc_context(), warnings.catch_warnings():
        # A piece may be named in a script the font lacks; the reader's own font shows it.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font", category=UserWarning)
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        figure = Figure(figsize=(WIDTH_IN, height_in))
        FigureCanvasSVG(figure)
        yield figure


def place(figure: Figure, box_in: tuple[float, float, float, float]) -> Axes:
    """Axes at (left, top, width, height) [inch] from the figure's upper left corner."""
    width, height = figure.get_size_inches()
    left, top, wide, high = box_in
    return figure.add_axes((left / width, 1.0 - (top + high) / height, wide / width, high / height))


def words(axes: Axes, x: float, y: float, text: str, **how: Any) -> None:
    """Text that is never read as mathematics: it may come from a file."""
    axes.text(x, y, clean(text), **({"parse_math": False} | how))


def beside(axes: Axes, labels: Sequence[tuple[float, str, str]], size: float = 8.5) -> None:
    """Labels right of the axes at heights y, pushed apart until none covers another. labels: (y, text, colour)."""
    low, high = axes.get_ylim()
    height_pt = axes.get_position().height * axes.figure.get_size_inches()[1] * 72.0  # type: ignore[union-attr]
    order = sorted(labels, key=lambda label: label[0])
    share = [(y - low) / (high - low) for y, _, _ in order]
    heights = [(1 + text.count("\n")) * size * 1.25 / height_pt for _, text, _ in order]
    for (_, text, colour), y in zip(order, apart(share, heights), strict=True):
        how = {"transform": axes.transAxes, "color": colour, "fontsize": size, "va": "center", "linespacing": 1.1}
        words(axes, 1.0 + 5.0 / _width_pt(axes), y, text, **how)


def apart(wanted: Sequence[float], heights: Sequence[float]) -> list[float]:
    """Places near the wanted ones (rising) where things of these heights do not overlap; touching ones share the shift.

    >>> apart([0.5, 0.5], [0.2, 0.2])
    [0.4, 0.6]
    """
    groups: list[tuple[list[int], float, float]] = []  # members, middle, height
    for i, (y, height) in enumerate(zip(wanted, heights, strict=True)):
        members, middle, tall = [i], y, height
        while groups and groups[-1][1] + 0.5 * groups[-1][2] > middle - 0.5 * tall + 1e-12:
            below, at, high = groups.pop()
            middle = (at * len(below) + middle * len(members)) / (len(below) + len(members))
            members, tall = below + members, high + tall
        groups.append((members, middle, tall))
    out = [0.0] * len(wanted)
    for members, middle, tall in groups:
        y = middle - 0.5 * tall
        for i in members:
            out[i] = round(y + 0.5 * heights[i], 9)
            y += heights[i]
    return out


def svg(figure: Figure, name: str, title: str, description: str) -> str:
    """The figure as SVG text for a page or a file of its own. `name` keeps its ids apart from other figures'."""
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    text = out.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    text = re.sub(r"<[^>]*>", _tidied, text)
    text = (
        re.sub(r">\s+<", "><", text).replace(f"'{_FONT}'", _SHOWN_FONT).replace("sans-serif, sans-serif", "sans-serif")
    )
    text = _own_ids(text, name)
    said = f"<title>{_safe(title)}</title><desc>{_safe(description)}</desc>"
    label = _safe(f"{title}. {description}")
    head, _, rest = text.partition(">")
    head = re.sub(r' (?:xmlns:xlink|version)="[^"]*"', "", head)
    # As an attribute, not as a style element: inside a page that would reach everything on it.
    rest = re.sub(r"<defs><style.*?</style></defs>", "", rest, count=1, flags=re.DOTALL)
    head += ' style="stroke-linejoin:round;stroke-linecap:butt"'
    return f'{head} role="img" aria-label="{label}">{said}{rest.strip()}'


def _safe(text: str) -> str:
    return html.escape(clean(text))


def _tidied(found: re.Match[str]) -> str:
    """A tag in one line, numbers to a hundredth of a point: finer than any printer."""
    return re.sub(r"(\.\d\d)\d+", r"\1", " ".join(found.group().split())).replace("xlink:href", "href")


def _own_ids(text: str, name: str) -> str:
    """Only ids that something points to, each led by the figure's name: a page may hold many figures."""
    used = set(re.findall(r'(?:url\(|href=")#([^)"]+)', text))
    text = re.sub(r' id="([^"]+)"', lambda m: f' id="{name}-{m.group(1)}"' if m.group(1) in used else "", text)
    return re.sub(r'(url\(|href=")#', rf"\g<1>#{name}-", text)


def _width_pt(axes: Axes) -> float:
    width: float = axes.get_position().width * axes.figure.get_size_inches()[0] * 72.0  # type: ignore[union-attr]
    return width
