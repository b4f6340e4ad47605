"""The closure of the surface: exact, one way only, capped. And why it is not linearised."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest
from charges import PURE, charge, fold, held, job, sealed, strip
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from soak.job.pack import Pack, Surface
from soak.job.stock import Iron
from soak.physics import surface as law
from soak.physics.activity import acm, activity_at, activity_coefficients, carbon_at, ln_activity
from soak.physics.diffusion import Close, step
from soak.physics.diffusivity import austenite
from soak.process import boundary
from soak.process.charge import STEEL_DENSITY, Charge
from soak.process.outcome import mean

Array = NDArray[np.float64]

PLAIN = Pack("x", "x", grain_m=0.004)
CO = np.array([1.0])
FELT = np.array([10.0])
WHOLE = np.array([False])  # no breach


def _plate(start: float = 2e-5, pack: Pack = PLAIN) -> Charge:
    return sealed(charge(job([strip(3, 1, PURE)], pack=pack), depth_s=1.0, start=start))


def _close(made: Charge, piece_k: Array, co: Array, felt: Array, breached: NDArray[np.bool_] = WHOLE) -> Close:
    return boundary.close(made, boundary.Supply(piece_k, co, felt, breached), made.flat)


Law = Callable[[Array], Array]


def _march(
    made: Charge, close: Close, diffusivity: Law, seconds: float, steps: int, stretch: float = 1.0
) -> tuple[Array, float]:
    carbon = np.full((1, 1, 31), made.start[0])
    trend, came_in = np.zeros_like(carbon), 0.0
    for dt in np.diff(seconds * np.linspace(0.0, 1.0, steps + 1) ** stretch):
        after, taken = step(carbon, trend, float(dt), made.grid, diffusivity, close)
        trend, carbon = (after - carbon) / dt, after
        came_in += float(taken[0, 0])
    return carbon[0, 0], came_in


def _constant(w: Array) -> Array:
    return np.full_like(w, 2e-11)


@pytest.mark.parametrize("celsius", [900.0, 950.0, 1050.0])
def test_steps_of_five_minutes_from_bare_iron(celsius: float) -> None:
    """From 0.002 % C in steps of 300 s. The exact closure agrees with 800 small steps: within 0.5 % after 25 min, and
    within 15 % at the first step, before the profile is there. One Newton step from the start, which is what a
    linearised flux is, misses by more than 10 % at the first step and after 25 min (by a factor of ten and more: the
    law is flat in poor iron, so the straight line never bends). So nobody simplifies it.
    """
    made, piece_k = _plate(), np.full((1, 1), celsius + 273.15)
    exact, linear = _close(made, piece_k, CO, FELT), _linearised(made, piece_k)
    for minutes, within in ((5, 0.15), (25, 0.005)):
        seconds = 60.0 * minutes
        fine, fine_in = _march(made, exact, _constant, seconds, 800, stretch=2.0)
        coarse, coarse_in = _march(made, exact, _constant, seconds, minutes // 5)
        assert coarse[0] == pytest.approx(fine[0], rel=within)
        assert coarse_in == pytest.approx(fine_in, rel=within)
        wrong, wrong_in = _march(made, linear, _constant, seconds, minutes // 5)
        assert abs(wrong[0] / fine[0] - 1.0) > 0.10
        assert abs(wrong_in / fine_in - 1.0) > 0.10


def test_the_first_minute_with_the_diffusivity_that_rises() -> None:
    # the process's own grid step of 60 s, five of them: 0.4 % at the surface, 1.4 % of the uptake so far
    made, kelvin = _plate(), 1223.15
    exact = _close(made, np.full((1, 1), kelvin), CO, FELT)
    fine, fine_in = _march(made, exact, lambda w: austenite(w, kelvin), 300.0, 800, stretch=2.0)
    coarse, coarse_in = _march(made, exact, lambda w: austenite(w, kelvin), 300.0, 5)
    assert coarse[0] == pytest.approx(fine[0], rel=0.01)
    assert coarse_in == pytest.approx(fine_in, rel=0.02)


@pytest.mark.parametrize("celsius", [900, 1000, 1050])
def test_bare_iron_that_is_hot_at_once_is_not_left_bare(celsius: int) -> None:
    """The flux is flat in poor iron, and Newton alone leaps to and fro there for ever: no carbon came in at all.

    A forge log may well begin hot; pure iron has 0.005 %.
    """
    made = charge(job([strip(3, 1, Iron("pure", "pure", {"C": 5e-5}))]))
    state, _ = fold(made, held(celsius, 2))
    poor = 100 * float(mean(made, state)[0, 0])
    richer = charge(job([strip(3, 1, Iron("mild", "mild", {"C": 8e-4}))]))
    state, _ = fold(richer, held(celsius, 2))
    rich = 100 * float(mean(richer, state)[0, 0])
    assert rich - 0.08 < poor < rich  # it starts 0.075 % lower and takes a little more


def _linearised(made: Charge, piece_k: Array) -> Close:
    """The flux law as a straight line through the carbon the step starts with."""
    g = law.conductance(piece_k, CO[:, None], FELT[:, None], 1.0, made.grain_m, made.depth_s)
    at = activity_coefficients(piece_k, made.alloy)
    w0 = np.full_like(piece_k, made.start[0])
    ln_a, per_carbon = activity_at(w0, at)
    flux, slope = law.carbon_flux(g, piece_k, CO[:, None], ln_a)
    scale = 0.012011 / STEEL_DENSITY
    flux, slope = flux * scale, slope * per_carbon * scale

    def close(p: Array, q: Array) -> Array:
        return (flux + slope * (p - w0)) / (1.0 - q * slope)

    return close


surfaces = st.floats(1e-6, 0.016)


@settings(deadline=None, max_examples=60)
@given(st.floats(1050.0, 1400.0), st.floats(0.35, 1.0), st.floats(1.0, 30.0), surfaces, st.floats(1e3, 1e7))
def test_the_law_is_met_where_the_surface_ends_up(T: float, co: float, felt: float, p: float, q: float) -> None:
    """J belongs to the surface it makes: J(w) with w = p + q J, unless the cap or the one-way rule holds it back."""
    made = _plate()
    piece_k = np.full((1, 1), T)
    flux = _close(made, piece_k, np.array([co]), np.array([felt]))(np.full((1, 1), p), np.full((1, 1), q))
    w = p + q * float(flux[0, 0])
    cap = float(acm(T))
    assert flux[0, 0] >= 0.0
    assert w <= max(cap, p) + 1e-12
    g = law.conductance(T, co, felt, 1.0, made.grain_m, 1.0)
    wanted = law.carbon_flux(g, T, co, ln_activity(max(w, 1e-7), T, made.alloy))[0].item() * 0.012011 / STEEL_DENSITY
    if w >= cap - 1e-9 or p >= cap:
        assert flux[0, 0] <= max(wanted, 0.0) + 1e-12  # the cap refused some of it
    else:
        assert q * float(flux[0, 0]) == pytest.approx(q * max(wanted, 0.0), abs=2e-9)


def test_no_carbon_leaves_for_the_pack() -> None:
    made = _plate()
    rich = np.full((1, 1), 0.02)  # above every balance there is
    flux = _close(made, np.full((1, 1), 1200.0), np.array([0.35]), FELT)(rich, np.full((1, 1), 1e5))
    assert float(flux[0, 0]) == 0.0


def test_where_air_enters_nothing_more_comes_in() -> None:
    """One member gone through, one whole: only the whole one takes carbon, whatever feeds it."""
    p, q, hot = np.full((2, 1), 0.001), np.full((2, 1), 1e5), np.full((2, 1), 1273.15)
    for surface in (None, Surface("carbon", 0.012), Surface("activity", 0.9), Surface("potential", 0.012, 1e-7)):
        made = sealed(charge(job([strip(3, 1, PURE)], pack=dataclasses.replace(PLAIN, surface=surface)), members=2))
        flux = _close(made, hot, np.ones(2), np.full(2, 10.0), np.array([True, False]))(p, q)
        assert float(flux[0, 0]) == 0.0
        assert float(flux[1, 0]) > 0.0


def test_below_a1_nothing_moves_whatever_is_stated() -> None:
    cold = np.full((1, 1), 990.0)
    p, q = np.full((1, 1), 0.001), np.full((1, 1), 1e5)
    for surface in (None, Surface("carbon", 0.012), Surface("activity", 0.9), Surface("potential", 0.012, 1e-7)):
        made = _plate(pack=dataclasses.replace(PLAIN, surface=surface))
        assert float(_close(made, cold, CO, FELT)(p, q)[0, 0]) == 0.0
        hot = _close(made, cold + 200.0, CO, FELT)(p, q)
        assert float(hot[0, 0]) > 0.0


def test_a_stated_activity_is_the_carbon_of_that_activity() -> None:
    made = _plate(pack=dataclasses.replace(PLAIN, surface=Surface("activity", 0.9)))
    T = 1273.15
    flux = _close(made, np.full((1, 1), T), CO, FELT)(np.full((1, 1), 0.001), np.full((1, 1), 1e5))
    w = 0.001 + 1e5 * float(flux[0, 0])
    assert w == pytest.approx(carbon_at(np.log(0.9), T, made.alloy).item(), rel=1e-9)


def test_a_stated_potential_flows_with_beta() -> None:
    made = _plate(pack=dataclasses.replace(PLAIN, surface=Surface("potential", 0.012, 1.3e-7)))
    flux = _close(made, np.full((1, 1), 1273.15), CO, FELT)(np.full((1, 1), 0.002), np.zeros((1, 1)))
    assert float(flux[0, 0]) == pytest.approx(1.3e-7 * 0.010, rel=1e-12)


def test_the_drawn_doubt_of_the_activity_shifts_the_surface() -> None:
    """A member whose iron holds carbon less willingly (ln a higher) takes less."""
    made = _plate()
    taken = []
    for shift in (-0.06, 0.0, 0.06):
        shifted = dataclasses.replace(made, ln_activity=np.array([shift]))
        close = _close(shifted, np.full((1, 1), 1273.15), CO, FELT)
        taken.append(_march(shifted, close, _constant, 7200.0, 120)[1])
    assert taken[0] > taken[1] > taken[2] > 0.0
