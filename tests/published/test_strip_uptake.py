"""Outside checks of carbon taken up by strips and bars, with the diffusivity the tool uses.

Numbers were worked out apart from this code with finite volumes, extrapolated to no step (computed), unless said.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from marching import Array, at, march, uniform

from soak.job.pack import Pack, Surface
from soak.job.stock import Iron
from soak.physics.diffusion import Close, grid, hold_surface, transfer
from soak.physics.diffusivity import austenite, handbook_depth

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import PURE, H, bar, charge, fold, held, job, strip

from soak.process.outcome import centre, mean

KELVIN = 273.15


def default_d(celsius: float) -> Callable[[Array], Array]:
    return lambda w: austenite(w, celsius + KELVIN)


# --- S-10: the diffusivity of Agren 1986, tolerance 0.003 % C absolute


@pytest.mark.parametrize(
    ("celsius", "start", "surface", "expected", "uptake"),
    [
        (927, 0.1, 1.2, [1.05112, 0.88445, 0.52600, 0.24352, 0.12700, 0.10306], 0.07262),
        (1000, 0.1, 1.2, [1.09942, 0.99077, 0.75479, 0.51521, 0.31395, 0.18621], 0.10757),
        (1000, 0.02, 1.4, [1.28860, 1.16668, 0.89327, 0.59693, 0.32587, 0.14171], 0.14224),
        (1050, 0.02, 1.2, [1.11584, 1.02607, 0.83171, 0.62547, 0.42516, 0.25576], 0.14566),
    ],
)
def test_s10_eight_hours_without_end(
    celsius: float, start: float, surface: float, expected: list[float], uptake: float
) -> None:
    where = uniform(10e-3, 25e-6)
    x = [0.25e-3, 0.5e-3, 1e-3, 1.5e-3, 2e-3, 2.5e-3]
    profile, came_in = march(where, start / 100, default_d(celsius), hold_surface(surface / 100), 8 * H, 480)
    assert 100 * at(where, profile, x) == pytest.approx(expected, abs=0.003)
    assert 7600.0 * came_in == pytest.approx(uptake, rel=0.003)  # kg/m2, hot iron of 7600 kg/m3


S13 = [  # shape, mm, degC, hours, beta m/s (None: surface held), mean, centre, surface
    ("strip", 3, 950, 8, None, 0.79997, 0.50375, None),
    ("strip", 3, 1000, 4, None, 0.74186, 0.39831, None),
    ("strip", 3, 950, 8, 2e-8, 0.31631, 0.13118, 0.6367),
    ("strip", 6, 1050, 8, None, 0.67512, 0.28385, None),
    ("round", 6, 1000, 8, None, 0.86000, 0.25403, None),
]


def _s13_close(beta: float | None) -> Close:
    return hold_surface(0.012) if beta is None else transfer(0.012, beta)


@pytest.mark.parametrize("row", S13, ids=lambda r: f"{r[0]}-{r[1]}mm-{r[2]}C-{r[4]}")
def test_s10_pieces(
    row: tuple[Literal["strip", "round"], float, float, float, float | None, float, float, float | None],
) -> None:
    """On the grid of the process (31 nodes, graded), steps of 60 s; start 0.05 %, potential 1.2 %."""
    shape, mm, celsius, hours, beta, expected_mean, expected_centre, surface = row
    where = grid(shape, 0.5e-3 * mm)
    profile, _ = march(where, 0.0005, default_d(celsius), _s13_close(beta), hours * H, round(hours * 60))
    assert 100 * float((where.weight * profile).sum()) == pytest.approx(expected_mean, abs=0.003)
    assert 100 * float(profile[0, -1]) == pytest.approx(expected_centre, abs=0.003)
    if surface is not None:
        assert 100 * float(profile[0, 0]) == pytest.approx(surface, abs=0.003)


# --- P-9, H-3


@pytest.mark.parametrize(("beta", "percent"), [(None, 5.4), (2e-8, 2.1)])
def test_p9_ten_degrees_hotter(beta: float | None, percent: float) -> None:
    # 3 mm strip, 950 -> 960 degC, 8 h, start 0.05, surface or potential 1.2 % at both; 0.3 percentage points
    where = grid("strip", 1.5e-3)
    rises = []
    for celsius in (950, 960):
        profile, _ = march(where, 0.0005, default_d(celsius), _s13_close(beta), 8 * H, 480)
        rises.append(float((where.weight * profile).sum()) - 0.0005)
    assert 100 * (rises[1] / rises[0] - 1) == pytest.approx(percent, abs=0.3)


@pytest.mark.parametrize(
    ("celsius", "surface", "low", "high"),
    [(899, 1.22, 0.060, 0.065), (927, 1.30, 0.070, 0.076), (954, 1.38, 0.081, 0.088)],
)
def test_h3_carbon_at_the_handbook_depth(celsius: float, surface: float, low: float, high: float) -> None:
    """The handbook's case depth lies where carbon is "about 0.07 %" above the core (a trade page on Harris, seen).

    Accepted 0.04 to 0.12, because its surface carbon is uncertain by 0.1 %. Ours also lies where it was computed apart
    from this code, for cores of 0.1 to 0.2 %, to the last figure given.
    """
    where = uniform(8e-3, 20e-6)
    depth = float(handbook_depth(celsius + KELVIN, 4 * H))
    above = []
    for core in (0.1, 0.2):
        profile, _ = march(where, core / 100, default_d(celsius), hold_surface(surface / 100), 4 * H, 240)
        above.append(100 * float(np.interp(depth, where.depth[0], profile[0])) - core)
    assert all(0.04 < rise < 0.12 for rise in above)
    assert (min(above), max(above)) == pytest.approx((low, high), abs=0.001)


# --- the fold of the process with a stated activity: rows 17 and 18; and 19, constant D


def _mean_after(iron: Iron) -> float:
    """3 mm strip, both faces at carbon activity 0.9, 4 h at 1000 degC from no carbon: mean, %."""
    pack = Pack("x", "x", surface=Surface("activity", 0.9))
    made = charge(job([strip(3, 1, iron)], pack=pack))
    state, _ = fold(made, held(1000, 4))
    return 100 * float(mean(made, state)[0, 0])


def test_a_strip_at_activity_nine_tenths() -> None:
    assert _mean_after(PURE) == pytest.approx(0.899, abs=0.01)


def test_phosphorus_takes_off_eight_per_cent() -> None:
    iron = Iron("p", "phosphoric", {"P": 0.005})
    assert _mean_after(iron) / _mean_after(PURE) == pytest.approx(0.922, abs=0.01)


def test_mean_fraction_with_constant_diffusivity() -> None:
    # D 5e-11, 1.5 mm half thickness, 4 h: 0.6319 by the series (analytic)
    where = grid("strip", 1.5e-3)
    profile, _ = march(where, 0.0, lambda w: np.full_like(w, 5e-11), hold_surface(1.0), 14400.0, 240)
    assert float((where.weight * profile).sum()) == pytest.approx(0.6319, abs=0.0005)


# --- what the process makes of a fixed surface: the same as the solver alone


def test_the_fold_is_the_solver() -> None:
    """S13's first and last rows again, through readings: the iron at temperature from the start, surface 1.2 %."""
    for stock, celsius, hours, expected in ((strip(3, 1, PURE), 950, 8, 0.79997), (bar(6, 1, PURE), 1000, 8, 0.86000)):
        pack = Pack("x", "x", surface=Surface("carbon", 0.012))
        made = charge(job([stock], pack=pack), start=0.0005)
        state, _ = fold(made, held(celsius, hours))
        assert 100 * float(mean(made, state)[0, 0]) == pytest.approx(expected, abs=0.003)
        assert 100 * float(centre(made, state)[0, 0]) == pytest.approx(
            0.50375 if celsius == 950 else 0.25403, abs=0.003
        )


def test_the_fold_with_a_potential() -> None:
    pack = Pack("x", "x", surface=Surface("potential", 0.012, 2e-8))
    made = charge(job([strip(3, 1, PURE)], pack=pack), start=0.0005)
    state, _ = fold(made, held(950, 8))
    assert 100 * float(mean(made, state)[0, 0]) == pytest.approx(0.31631, abs=0.003)
    assert 100 * float(state.carbon[0, 0, 0]) == pytest.approx(0.6367, abs=0.003)
