"""Worked examples of metallurgy textbooks, solved with the project's own solver: semi-infinite iron, constant D.

(C - C0)/(Cs - C0) = 1 - erf(x/(2 sqrt(D t))). The exact column was recomputed with 30 digits (computed), tolerance
0.2 % because the solver has steps; the printed one comes from books that interpolate a table of erf, hence 3 %.
Givens and printed answers: seen or memory as said at each row. Carbon in %.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from marching import Array, march
from scipy.optimize import brentq

from soak.physics.diffusion import grid, hold_surface

H = 3600.0


@dataclass(frozen=True)
class Example:
    """After which time does the carbon reach `wanted` at depth `x_m`? exact, printed: hours."""

    name: str
    start: float
    wanted: float
    surface: float
    x_m: float
    D: float
    exact: float
    printed: float | None = None


def arrhenius(d0: float, q: float, r: float, kelvin: float) -> float:
    return d0 * math.exp(-q / (r * kelvin))


def _w2(celsius: float) -> float:
    return arrhenius(2.3e-5, 148000.0, 8.31, celsius + 273.0)


def _w7(celsius: float) -> float:
    return arrhenius(0.23e-4, 32900.0, 1.987, celsius + 273.0)


EXAMPLES = [
    # Callister example 5.2 (givens seen, answer memory)
    Example("W1", 0.25, 0.80, 1.20, 0.5e-3, 1.6e-11, 7.047, 7.1),
    # Callister design example 5.1 (givens seen, answers memory), 900 to 1050 degC
    Example("W2-900", 0.20, 0.60, 1.0, 0.75e-3, _w2(900), 29.31, 29.6),
    Example("W2-950", 0.20, 0.60, 1.0, 0.75e-3, _w2(950), 15.76, 15.9),
    Example("W2-1000", 0.20, 0.60, 1.0, 0.75e-3, _w2(1000), 8.894, 9.0),
    Example("W2-1050", 0.20, 0.60, 1.0, 0.75e-3, _w2(1050), 5.242, 5.3),
    # after Smith (givens seen): 0.030 in.
    Example("W3", 0.22, 0.30, 1.20, 0.030 * 25.4e-3, 1.28e-11, 7480 / H),
    Example("W4", 0.18, 0.35, 1.20, 1.00e-3, 1.28e-11, 5.673),
    # Smith, Foundations (answer memory: 143 min)
    Example("W5", 0.20, 0.40, 0.90, 0.5e-3, 1.28e-11, 142.8 / 60, 143 / 60),
    # an exercise of a chemistry forum (givens seen)
    Example("W6", 0.15, 0.60, 0.90, 0.2e-3, 2e-11, 1.010),
    # Askeland's design example. Printed (memory): 32.3, 10.1, 3.7, 1.55 h. Only the first is trusted and compared: the
    # others disagree with the same formula by 7 to 19 %, and were flagged doubtful when they were noted down.
    Example("W7-900", 0.10, 0.45, 1.20, 2e-3, _w7(900), 32.73, 32.3),
    Example("W7-1000", 0.10, 0.45, 1.20, 2e-3, _w7(1000), 10.80),
    Example("W7-1100", 0.10, 0.45, 1.20, 2e-3, _w7(1100), 4.187),
    Example("W7-1200", 0.10, 0.45, 1.20, 2e-3, _w7(1200), 1.847),
    # an exercise (givens seen), D as W2
    Example("W8", 0.20, 0.40, 1.20, 2e-3, _w2(1000), 17.52),
]


def carbon_at_depth(e: Example, seconds: float) -> float:
    """The solver's carbon at the depth after so long [%]; the piece is ten times the depth: without end."""
    where = grid("strip", 10 * e.x_m, 401, grading=1.0)  # node 40 lies at x
    profile, _ = march(where, e.start / 100, e.D, hold_surface(e.surface / 100), seconds, 60, stretch=2.0)
    return 100 * float(profile[0, 40])


@pytest.mark.parametrize("e", EXAMPLES, ids=lambda e: e.name)
def test_hours_to_reach_a_carbon_at_a_depth(e: Example) -> None:
    seconds = brentq(lambda s: carbon_at_depth(e, s) - e.wanted, 0.7 * e.exact * H, 1.4 * e.exact * H, rtol=1e-5)
    assert seconds / H == pytest.approx(e.exact, rel=0.002)
    if e.printed is not None:
        assert seconds / H == pytest.approx(e.printed, rel=0.03)


def test_w4_after_eight_hours() -> None:
    # the page mixes the time to reach 0.35 % with the carbon after 8 h; both belong to the same givens
    e = next(e for e in EXAMPLES if e.name == "W4")
    assert carbon_at_depth(e, 8 * H) == pytest.approx(0.4291, rel=0.002)


def test_w9_which_temperature() -> None:
    # an exercise (givens seen): 0.10 -> 0.20 at 2.0 mm in 50 h, Cs 1.4
    def short(D: float) -> float:
        return carbon_at_depth(Example("W9", 0.10, 0.20, 1.4, 2e-3, D, 50.0), 50 * H) - 0.20

    D = float(brentq(short, 2e-12, 6e-12, rtol=1e-5))
    assert pytest.approx(3.5513e-12, rel=0.002) == D
    kelvin = 148000.0 / (8.31 * math.log(2.3e-5 / D))
    assert kelvin == pytest.approx(1135.6, rel=0.002)


def _steady_diffusivity(thickness_m: float, rich: float, poor: float, flux: float) -> float:
    """D of a sheet through which carbon flows steadily; fractions by mass, flux kg/m2 s; iron 7.87, carbon 2.25 g/cm3.

    The textbook's way: kilograms of carbon in a cubic metre of both.
    """

    def density(w: float) -> float:
        return w / (w / 2250.0 + (1.0 - w) / 7870.0)

    return flux * thickness_m / (density(rich) - density(poor))


@pytest.mark.parametrize(
    ("thickness_m", "rich", "poor", "flux", "exact", "printed"),
    [
        (2e-3, 0.015e-2, 0.0068e-2, 7.36e-9, 2.282e-11, 2.3e-11),  # W10 (printed: seen)
        (1.8e-3, 0.013e-2, 0.0069e-2, 3.8e-8, 1.426e-10, None),  # W11 (givens seen)
    ],
    ids=["W10", "W11"],
)
def test_steady_flow_through_a_sheet(
    thickness_m: float, rich: float, poor: float, flux: float, exact: float, printed: float | None
) -> None:
    """The textbook's arithmetic gives the exact column, and with that D the solver carries the flux that was given.

    The solver has no sheet with a far face that gives off carbon: it starts from the steady straight line, and what
    comes in through the held face is watched for so short a time that the far face has not been noticed.
    """
    assert _steady_diffusivity(thickness_m, rich, poor, flux) == pytest.approx(exact, rel=0.002)
    if printed is not None:
        assert exact == pytest.approx(printed, rel=0.03)
    where = grid("strip", thickness_m, 101, grading=1.0)
    line: Array = rich + (poor - rich) * where.depth / thickness_m
    seconds = 1e-3 * thickness_m**2 / exact
    _, came_in = march(where, line, exact, hold_surface(rich), seconds, 20)
    # kg of carbon in a cubic metre of iron per mass fraction, of so poor an iron
    assert 7870.0 * came_in / seconds == pytest.approx(flux, rel=0.002)


def test_w12_half_rise_depth() -> None:
    # D0 0.15 cm2/s, Q 135 kJ/mol, 925 degC, 4 h: half the rise stands at 0.5053 mm (formula seen)
    D = arrhenius(0.15e-4, 135000.0, 8.314, 925 + 273)
    where = grid("strip", 6e-3, 601, grading=1.0)
    profile, _ = march(where, 0.0, D, hold_surface(1.0), 4 * H, 100, stretch=2.0)
    depth = float(np.interp(-0.5, -profile[0], where.depth[0]))
    assert depth * 1e3 == pytest.approx(0.5053, rel=0.002)
