"""Geometry, balance and the ways to close the surface. Numbers from outside are in tests/published/test_solver.py."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from soak.physics.diffusion import Close, Grid, constant_flux, grid, hold_surface, stack, step, transfer

Array = NDArray[np.float64]
Shape = Literal["strip", "round"]
shapes = st.sampled_from(["strip", "round"])
quick = settings(deadline=None, max_examples=30)


@given(shapes, st.floats(1e-4, 0.05), st.integers(3, 60), st.floats(1.0, 2.5))
def test_a_grid_holds_the_whole_piece(shape: Shape, half: float, nodes: int, grading: float) -> None:
    g = grid(shape, half, nodes, grading)
    # volume over surface: a strip's half thickness, half a round's radius
    assert float(g.volume.sum()) == pytest.approx(half if shape == "strip" else half / 2, rel=1e-12)
    assert float(g.weight.sum()) == pytest.approx(1.0, rel=1e-12)
    assert (g.volume > 0.0).all()
    assert (g.link[0, :-1] > 0.0).all()
    assert g.link[0, -1] == 0.0
    assert (g.depth[0, 0], g.depth[0, -1]) == (0.0, half)
    assert (np.diff(g.depth[0]) > 0.0).all()


def test_cells_crowd_toward_the_surface() -> None:
    gaps = np.diff(grid("strip", 2e-3).depth[0])
    assert gaps[0] < gaps[-1] / 8


def test_stacked_pieces_stay_themselves() -> None:
    a, b = grid("strip", 1e-3), grid("round", 3e-3)
    both = stack((a, b))
    assert both.depth.shape == (2, 31)
    assert np.array_equal(both.volume[0], a.volume[0])
    assert np.array_equal(both.link[1], b.link[0])


def _same(w: Array) -> Array:
    return np.full_like(w, 3e-11)


def _steep(w: Array) -> Array:
    return 3e-11 * np.exp(120.0 * w)


def _run(g: Grid, start: Array, close: Close, dt: float = 60.0, steps: int = 20) -> tuple[Array, float]:
    carbon, trend, came_in = start, np.zeros_like(start), 0.0
    for _ in range(steps):
        after, taken = step(carbon, trend, dt, g, _steep, close)
        trend, carbon = (after - carbon) / dt, after
        came_in += float(taken[0])
    return carbon, came_in


def _profile(g: Grid, seed: int) -> Array:
    return np.random.default_rng(seed).uniform(0.0, 0.012, g.depth.shape)


@quick
@given(shapes, st.floats(5e-4, 1e-2), st.floats(1.0, 600.0), st.integers(0, 999), st.floats(-2e-10, 5e-10))
def test_what_comes_in_is_in_the_iron(shape: Shape, half: float, dt: float, seed: int, flux: float) -> None:
    g = grid(shape, half)
    start = _profile(g, seed)
    for close in (hold_surface(0.01), transfer(0.012, 2e-7), constant_flux(flux)):
        after, came_in = _run(g, start, close, dt, 3)
        before_m = float((g.volume * start).sum())
        assert float((g.volume * after).sum()) - before_m == pytest.approx(came_in, rel=1e-9, abs=1e-15 + 1e-12 * half)


@quick
@given(shapes, st.integers(0, 999))
def test_nothing_comes_in_through_a_closed_surface_and_all_evens_out(shape: Shape, seed: int) -> None:
    g = grid(shape, 5e-4)
    start = _profile(g, seed)
    after, came_in = _run(g, start, constant_flux(0.0), 300.0, 200)
    assert came_in == 0.0
    level = float((g.weight * start).sum())
    assert after == pytest.approx(np.full_like(after, level), rel=1e-6)


@quick
@given(shapes, st.floats(1e-3, 0.015))
def test_an_even_piece_at_its_own_potential_stays(shape: Shape, level: float) -> None:
    g = grid(shape, 2e-3)
    start = np.full_like(g.depth, level)
    for close in (hold_surface(level), transfer(level, 1e-7), constant_flux(0.0)):
        after, came_in = _run(g, start, close)
        assert after == pytest.approx(start, rel=1e-12)
        assert came_in == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("shape", ["strip", "round"])
def test_a_held_surface_holds_and_all_stays_between(shape: Shape) -> None:
    g = grid(shape, 2e-3)
    after, _ = _run(g, np.full_like(g.depth, 0.001), hold_surface(0.012))
    assert float(after[0, 0]) == pytest.approx(0.012, rel=1e-12)
    assert (after >= 0.001 - 1e-12).all()
    assert (after <= 0.012 + 1e-12).all()
    assert (np.diff(after[0]) < 1e-12).all()  # falls toward the centre


@quick
@given(st.floats(1e-9, 1e-6), st.floats(1.1, 5.0))
def test_more_transfer_more_carbon_and_never_more_than_a_held_surface(beta: float, more: float) -> None:
    g = grid("strip", 1.5e-3)
    start = np.full_like(g.depth, 0.0005)
    little, much, all_ = (
        _run(g, start, close)[1] for close in (transfer(0.012, beta), transfer(0.012, beta * more), hold_surface(0.012))
    )
    assert 0.0 < little < much < all_


def test_transfer_so_quick_that_the_surface_is_held() -> None:
    g = grid("strip", 1.5e-3)
    start = np.full_like(g.depth, 0.0005)
    assert _run(g, start, transfer(0.012, 1.0))[1] == pytest.approx(_run(g, start, hold_surface(0.012))[1], rel=1e-6)


def test_transfer_so_slow_that_the_flux_is_constant() -> None:
    g = grid("strip", 1.5e-3)
    start = np.full_like(g.depth, 0.0005)
    beta = 1e-13
    assert _run(g, start, transfer(0.012, beta))[1] == pytest.approx(1200.0 * beta * 0.0115, rel=1e-5)


def test_flux_is_met_exactly_at_any_step() -> None:
    g = grid("round", 3e-3)
    _, came_in = _run(g, np.full_like(g.depth, 0.001), constant_flux(1e-10), 300.0, 20)
    assert came_in == pytest.approx(6000.0 * 1e-10, rel=1e-12)


def test_members_and_pieces_side_by_side_are_each_their_own() -> None:
    """Shape (member, piece, node): 4 members of a strip and a round give what each gives alone."""
    both = stack((grid("strip", 1.5e-3), grid("round", 3e-3)))
    carbon = np.random.default_rng(5).uniform(0.0, 0.01, (4, 2, 31))
    betas = np.array([[1e-8], [1e-7], [1e-6], [1e-5]]) * np.ones((4, 2))
    after, taken = step(carbon, np.zeros_like(carbon), 60.0, both, _steep, transfer(0.012, betas))
    for m in range(4):
        for p, g in enumerate((grid("strip", 1.5e-3), grid("round", 3e-3))):
            alone, came_in = step(
                carbon[m, p][None],
                np.zeros((1, 31)),
                60.0,
                g,
                _steep,
                transfer(0.012, betas[m, p]),
            )
            assert after[m, p] == pytest.approx(alone[0], rel=1e-12)
            assert taken[m, p] == pytest.approx(came_in[0], rel=1e-12)


def test_no_time_no_change() -> None:
    g = grid("strip", 1.5e-3)
    start = _profile(g, 1)
    after, taken = step(start, np.zeros_like(start), 1e-9, g, _same, transfer(0.012, 1e-7))
    assert after == pytest.approx(start, abs=1e-9)
    assert float(taken[0]) == pytest.approx(0.0, abs=1e-17)


def test_a_huge_step_ends_at_the_balance() -> None:
    # L-stable: no ringing, however long the step
    g = grid("strip", 1e-3)
    after, _ = _run(g, np.full_like(g.depth, 0.001), hold_surface(0.01), 1e7, 3)
    assert after == pytest.approx(np.full_like(after, 0.01), rel=1e-4)
    assert math.isfinite(float(after.sum()))
