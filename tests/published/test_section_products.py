"""Outside checks of the two-dimensional sections and of tubes: closed forms of linear diffusion.

In a rectangle with constant D and the same linear law on all faces, what is still missing is the product of what is
missing in the two plates (Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 5.6; memory). The
plate's and the hollow cylinder's series: Crank, The Mathematics of Diffusion, 2nd ed. 1975, 4.3.1, 4.3.6 and 5.4
(memory). Tolerances as those of the one-dimensional checks: 0.001 of the whole step, 400 steps.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import j0, y0

from soak.physics import diffusion, section, tube
from soak.physics.diffusion import Close, hold_surface, transfer
from soak.physics.section import Section

Array = NDArray[np.float64]
Place = Literal["mean", "surface", "centre"]

D = 2e-11  # m2/s
HALF = 1.5e-3


def same(w: Array) -> Array:
    return np.full_like(w, D)


# --- one plate: what is missing, 1 where nothing has come in yet


def held(fo: float, x: float | None) -> float:
    """Plate whose faces are held at once; x = 1 at the face, 0 at the centre, None for the mean."""
    n = 2 * np.arange(200) + 1
    fall = np.exp(-((n * math.pi) ** 2) * fo / 4.0)
    if x is None:
        return float((8.0 / (n * math.pi) ** 2 * fall).sum())
    return float((4.0 * (-1.0) ** ((n - 1) // 2) / (n * math.pi) * fall * np.cos(0.5 * n * math.pi * x)).sum())


def resisted(fo: float, biot: float, x: float | None) -> float:
    """Plate with a surface resistance, biot = beta half / D; roots of b tan b = biot."""
    total = 0.0
    for k in range(80):
        b = brentq(lambda b: b * math.sin(b) - biot * math.cos(b), k * math.pi + 1e-12, (k + 0.5) * math.pi)
        share = 2.0 * biot / ((b * b + biot * biot + biot) * math.cos(b))
        total += share * (math.sin(b) / b if x is None else math.cos(b * x)) * math.exp(-b * b * fo)
    return total


def test_the_plate_series_give_printed_values() -> None:
    # the one-dimensional tables of test_solver.py: plate held at Fo 0.1 and 0.5; resistance L = 1, Fo 0.5
    assert [1 - held(0.1, None), 1 - held(0.5, 0.0)] == pytest.approx([0.35682340, 0.62922257], abs=1e-7)
    printed = [0.49547807, 0.22747362, 0.31889543]
    assert [1 - resisted(0.5, 1.0, x) for x in (1.0, 0.0, None)] == pytest.approx(printed, abs=1e-6)


# --- sections


def march(grid: Section, close: Close, seconds: float, steps: int = 400) -> Array:
    carbon = np.zeros((1, *grid.weight.shape[1:]))
    for _ in range(steps):
        carbon, _ = section.step(carbon, np.zeros_like(carbon), seconds / steps, grid, same, close)
    return carbon


WIDE = [1.0, 2.0, 5.5]


@pytest.mark.parametrize("wide", WIDE)
@pytest.mark.parametrize("fo", [0.05, 0.1, 0.2, 0.5, 1.0])
def test_faces_held_at_once(fo: float, wide: float) -> None:
    g = section.section(2 * HALF, 2 * HALF * wide)
    carbon = march(g, hold_surface(1.0), fo * HALF**2 / D)
    across = fo / wide**2
    assert float(section.mean(g, carbon)[0]) == pytest.approx(1 - held(fo, None) * held(across, None), abs=1e-3)
    assert float(section.centre(carbon)[0]) == pytest.approx(1 - held(fo, 0.0) * held(across, 0.0), abs=1e-3)
    for i, j in ((4, 4), (3, 6), (7, 2)):
        x, y = (1.0 - axis.depth[0] / axis.half for axis in (g.x, g.y))
        exact = 1 - held(fo, float(x[i])) * held(across, float(y[j]))
        # nodes near the corner, where the jump of the first step is still in sight at Fo 0.05
        assert float(carbon[0, i, j]) == pytest.approx(exact, abs=2e-3)


@pytest.mark.parametrize("wide", WIDE)
@pytest.mark.parametrize(("biot", "fo"), [(1.0, 0.1), (1.0, 0.5), (1.0, 1.0), (0.5, 1.0), (5.0, 0.5), (20.0, 0.1)])
def test_faces_with_a_resistance(biot: float, fo: float, wide: float) -> None:
    g = section.section(2 * HALF, 2 * HALF * wide)
    carbon = march(g, transfer(1.0, biot * D / HALF), fo * HALF**2 / D)

    def exact(x: float | None, y: float | None) -> float:
        return 1 - resisted(fo, biot, x) * resisted(fo / wide**2, biot * wide, y)

    assert float(section.mean(g, carbon)[0]) == pytest.approx(exact(None, None), abs=1e-3)
    assert float(section.centre(carbon)[0]) == pytest.approx(exact(0.0, 0.0), abs=1e-3)
    assert float(section.corner(carbon)[0]) == pytest.approx(exact(1.0, 1.0), abs=1e-3)
    _, across = section.profile(g, carbon)
    assert float(across[0, 0]) == pytest.approx(exact(1.0, 0.0), abs=1e-3)
    faces = (wide * exact(1.0, None) + exact(None, 1.0)) / (1.0 + wide)
    assert float(section.surface(g, carbon)[0]) == pytest.approx(faces, abs=1e-3)


@pytest.mark.parametrize(("fo", "biot"), [(0.1, None), (0.3, None), (0.1, 20.0), (0.3, 3.0)])
def test_the_mean_of_a_typical_square_to_a_thousandth_of_itself(fo: float, biot: float | None) -> None:
    """What the number of nodes was chosen for: the mean of the square, relative, in few enough steps (60)."""
    g = section.section(2 * HALF, 2 * HALF)
    close = hold_surface(1.0) if biot is None else transfer(1.0, biot * D / HALF)
    carbon = march(g, close, fo * HALF**2 / D, 60)
    missing = held(fo, None) if biot is None else resisted(fo, biot, None)
    assert float(section.mean(g, carbon)[0]) == pytest.approx(1 - missing**2, rel=1e-3)


# --- tubes


def hollow(ratio: float, fo: float) -> float:
    """Share gained by a hollow cylinder whose two surfaces are held; ratio bore/outside, fo = D t / outer radius^2.

    1 - 4/(1 - k^2) sum (J0(k s) - J0(s)) / (s^2 (J0(k s) + J0(s))) exp(-s^2 fo), s the roots of
    J0(k s) Y0(s) - J0(s) Y0(k s).
    """
    k = ratio

    def cross(s: float) -> float:
        return float(j0(k * s) * y0(s) - j0(s) * y0(k * s))

    grid = np.linspace(0.5, 60.0, 6000) * math.pi / (1.0 - k) / math.pi
    values = np.array([cross(s) for s in grid])
    total = 0.0
    for i in np.flatnonzero(values[:-1] * values[1:] < 0.0):
        s = brentq(cross, grid[i], grid[i + 1], xtol=1e-13)
        total += (j0(k * s) - j0(s)) / (s * s * (j0(k * s) + j0(s))) * math.exp(-s * s * fo)
    return 1.0 - 4.0 / (1.0 - k * k) * float(total)


@pytest.mark.parametrize(("outer_mm", "wall_mm"), [(10.0, 2.0), (10.0, 5.0), (6.0, 4.0)])
@pytest.mark.parametrize("share", [0.05, 0.1, 0.3])
def test_open_tube_with_both_surfaces_held(outer_mm: float, wall_mm: float, share: float) -> None:
    outer, wall = outer_mm * 1e-3, wall_mm * 1e-3
    t = tube.open_tube(outer, wall)
    seconds = share * (0.5 * wall) ** 2 / D
    carbon = np.zeros((1, 41))
    for _ in range(400):
        carbon, _ = tube.step(carbon, np.zeros_like(carbon), seconds / 400, t, same, hold_surface(1.0))
    exact = hollow((outer - wall) / outer, D * seconds / outer**2)
    assert float((t.grid.weight * carbon).sum()) == pytest.approx(exact, abs=1e-3)


def test_plugged_tube_whose_bore_is_a_needle_is_a_round() -> None:
    """Against the series of the solid cylinder at Fo 0.1 and 0.5, as in the table of test_solver.py."""
    for fo, mean in ((0.1, 0.60582419), (0.5, 0.96162129)):
        g = tube.tube_grid(3e-3, 2.99e-3)
        carbon = np.zeros((1, 31))
        seconds = fo * 9e-6 / D
        for _ in range(400):
            carbon, _ = diffusion.step(carbon, np.zeros_like(carbon), seconds / 400, g, same, hold_surface(1.0))
        assert float((g.weight * carbon).sum()) == pytest.approx(mean, abs=1e-3)
