"""Hollow rounds: geometry, balance, two surfaces at once. The series of Crank is in tests/published."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from soak.physics import diffusion, tube
from soak.physics.diffusion import Close, constant_flux, grid, hold_surface, transfer
from soak.physics.tube import Tube, open_tube, tube_grid

Array = NDArray[np.float64]
quick = settings(deadline=None, max_examples=25)
radii = st.floats(3e-3, 0.03)
walls = st.floats(0.05, 0.95)


def steep(w: Array) -> Array:
    return 3e-11 * np.exp(60.0 * w)


def march(t: Tube, start: Array, close: Close, dt: float, steps: int) -> tuple[Array, float]:
    carbon, trend, came_in = start, np.zeros_like(start), 0.0
    for _ in range(steps):
        after, taken = tube.step(carbon, trend, dt, t, steep, close)
        trend, carbon = (after - carbon) / dt, after
        came_in += float(taken[0])
    return carbon, came_in


@quick
@given(radii, walls)
def test_a_tube_holds_its_wall(outer: float, share: float) -> None:
    wall, bore = outer * share, outer * (1.0 - share)
    plugged, opened = tube_grid(outer, wall), open_tube(outer, wall)
    assert float(plugged.volume.sum()) == pytest.approx((outer**2 - bore**2) / (2 * outer), rel=1e-12)
    assert float(opened.grid.volume.sum()) == pytest.approx(0.5 * wall, rel=1e-12)
    assert float(opened.outside[0]) == pytest.approx(outer / (outer + bore), rel=1e-12)
    assert float(opened.outside[0] + opened.bore[0]) == 1.0
    for g in (plugged, opened.grid):
        assert (g.depth[0, 0], g.depth[0, -1]) == (0.0, pytest.approx(wall, rel=1e-12))
        assert (np.diff(g.depth[0]) > 0.0).all()
        assert (g.volume > 0.0).all()
        assert (g.link[0, :-1] > 0.0).all()
        assert g.link[0, -1] == 0.0


@pytest.mark.parametrize("wall_mm", [0.0, 8.0, 9.0, -1.0])
def test_a_wall_that_is_none(wall_mm: float) -> None:
    said = (
        rf"tube: wall {wall_mm:g} mm must be more than 0 and less than the outer radius, 8 mm; "
        "a bar without a bore is a round"
    )
    for make in (tube_grid, open_tube):
        with pytest.raises(ValueError, match=f"^{said}$"):
            make(8e-3, wall_mm * 1e-3)


@quick
@given(radii, walls, st.floats(1.0, 600.0), st.integers(0, 999))
def test_what_comes_in_is_in_the_iron(outer: float, share: float, dt: float, seed: int) -> None:
    t = open_tube(outer, outer * share)
    start = np.random.default_rng(seed).uniform(0.0, 0.012, (1, 41))
    for close in (hold_surface(0.01), transfer(0.012, 2e-7), constant_flux(np.array([1e-10, -1e-10]))):
        after, came_in = march(t, start, close, dt, 3)
        rise = float((t.grid.volume * (after - start)).sum())
        assert rise == pytest.approx(came_in, rel=1e-9, abs=1e-15 + 1e-12 * outer)


def test_each_surface_meets_its_own_law() -> None:
    t = open_tube(0.010, 0.002)
    after, _ = march(t, np.full((1, 41), 0.001), hold_surface(np.array([0.012, 0.006])), 60.0, 30)
    assert after[0, [0, -1]] == pytest.approx([0.012, 0.006], rel=1e-10)
    assert (np.diff(after[0, :12]) < 0.0).all()
    assert (np.diff(after[0, -12:]) > 0.0).all()


def test_each_surface_knows_of_the_other_through_a_thin_wall() -> None:
    """A wall of 0.2 mm in steps of half an hour: the flux of either surface reaches the other within the step."""
    t = open_tube(0.005, 0.0002)
    after, came_in = march(t, np.full((1, 41), 0.001), transfer(0.012, 1e-8), 1800.0, 8)
    many, much = march(t, np.full((1, 41), 0.001), transfer(0.012, 1e-8), 36.0, 400)
    assert after == pytest.approx(many, rel=2e-3)
    assert came_in == pytest.approx(much, rel=2e-3)
    held, _ = march(open_tube(0.005, 0.001), np.full((1, 41), 0.001), hold_surface(0.01), 1e5, 8)
    assert held == pytest.approx(np.full_like(held, 0.01), rel=1e-6)


def test_a_step_too_long_for_the_wall_says_so() -> None:
    said = "tube: outside and bore do not settle; the step is too long for so thin a wall"
    with pytest.raises(FloatingPointError, match=f"^{said}$"):
        march(open_tube(0.005, 0.0002), np.full((1, 41), 0.001), hold_surface(0.01), 1e7, 1)


def test_a_wide_thin_tube_is_a_strip() -> None:
    """2 mm of wall at 1 m of radius, open: a strip of 2 mm. Within 0.3 %, mostly from the different nodes."""
    t, flat = open_tube(1.0, 0.002), grid("strip", 0.001)
    close = transfer(0.012, 1e-7)
    after, came_in = march(t, np.full((1, 41), 0.001), close, 60.0, 60)
    carbon, trend, taken = np.full((1, 31), 0.001), np.zeros((1, 31)), 0.0
    for _ in range(60):
        then, more = diffusion.step(carbon, trend, 60.0, flat, steep, close)
        trend, carbon = (then - carbon) / 60.0, then
        taken += float(more[0])
    assert came_in == pytest.approx(taken, rel=3e-3)
    assert float(after[0, 20]) == pytest.approx(float(carbon[0, -1]), rel=5e-3)
    assert after[0] == pytest.approx(after[0, ::-1], rel=2e-3)  # curvature of 1 m is nothing


def test_a_plugged_tube_gains_less_than_an_open_one_and_more_slowly_than_a_round_of_its_size() -> None:
    outer, wall = 0.010, 0.002
    t, plugged, solid = open_tube(outer, wall), tube_grid(outer, wall), grid("round", outer)
    close = transfer(0.012, 1e-7)
    both, _ = march(t, np.full((1, 41), 0.001), close, 60.0, 240)
    means = [float((t.grid.weight * both).sum())]
    for g in (plugged, solid):
        carbon, trend = np.full((1, 31), 0.001), np.zeros((1, 31))
        for _ in range(240):
            then, _ = diffusion.step(carbon, trend, 60.0, g, steep, close)
            trend, carbon = (then - carbon) / 60.0, then
        means.append(float((g.weight * carbon).sum()))
    assert means[0] > means[1] > means[2]  # two faces, one face for the same wall, one face for the whole round
    assert (np.diff(carbon[0]) <= 0.0).all()


def test_members_side_by_side_are_each_their_own() -> None:
    t = open_tube(0.008, 0.003)
    carbon = np.random.default_rng(3).uniform(0.0, 0.01, (3, 1, 41))
    beta = np.array([1e-8, 1e-7, 1e-5])[:, None, None]
    after, taken = tube.step(carbon, np.zeros_like(carbon), 60.0, t, steep, transfer(0.012, beta))
    for m in range(3):
        alone, came_in = tube.step(carbon[m], np.zeros((1, 41)), 60.0, t, steep, transfer(0.012, float(beta[m, 0, 0])))
        assert after[m] == pytest.approx(alone, rel=1e-10)
        assert taken[m] == pytest.approx(came_in, rel=1e-10)
