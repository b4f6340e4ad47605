"""Many profiles, one LAPACK call: against a peer, and that profiles do not hear one another."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.linalg import solve_banded

from soak.physics.tridiagonal import solve

Array = NDArray[np.float64]


def _systems(seed: int, members: int, pieces: int, n: int) -> tuple[Array, Array]:
    """Diagonally dominant, as diffusion gives them; the last coupling of each profile is 0."""
    rng = np.random.default_rng(seed)
    off = -rng.uniform(0.0, 5.0, (members, pieces, n))
    off[..., -1] = 0.0
    diagonal = rng.uniform(0.1, 2.0, off.shape) - off
    diagonal[..., 1:] -= off[..., :-1]
    return diagonal, off


def _alone(diagonal: Array, off: Array, right: Array) -> Array:
    """One profile by the general banded solver, which knows nothing of symmetry."""
    banded = np.zeros((3, len(diagonal)))
    banded[0, 1:], banded[1], banded[2, :-1] = off[:-1], diagonal, off[:-1]
    return np.asarray(solve_banded((1, 1), banded, right))


def test_two_unknowns_by_hand() -> None:
    # 2x - y = 1, -x + 3y = 2: x = y = 1
    assert solve(np.array([2.0, 3.0]), np.array([-1.0, 0.0]), np.array([[1.0, 2.0]])) == pytest.approx(
        np.array([[1.0, 1.0]])
    )


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 10**6), st.integers(1, 5), st.integers(1, 3), st.integers(2, 31))
def test_the_same_as_a_general_banded_solver(seed: int, members: int, pieces: int, n: int) -> None:
    diagonal, off = _systems(seed, members, pieces, n)
    right = np.random.default_rng(seed + 1).normal(size=(2, members, pieces, n))
    got = solve(diagonal, off, right)
    assert got.shape == right.shape
    for m in range(members):
        for p in range(pieces):
            for k in range(2):
                peer = _alone(diagonal[m, p], off[m, p], right[k, m, p])
                assert got[k, m, p] == pytest.approx(peer, rel=1e-10, abs=1e-12)


def test_a_profile_does_not_hear_its_neighbours() -> None:
    diagonal, off = _systems(3, 8, 2, 31)
    right = np.ones((1, 8, 2, 31))
    before = solve(diagonal, off, right)
    diagonal[4] *= 7.0
    right[0, 4] = 1e6
    after = solve(diagonal, off, right)
    others = [0, 1, 2, 3, 5, 6, 7]
    assert np.array_equal(before[:, others], after[:, others])
    assert not np.allclose(before[:, 4], after[:, 4])


def test_arguments_are_left_alone() -> None:
    diagonal, off = _systems(1, 2, 1, 5)
    right = np.ones((1, 2, 1, 5))
    kept = diagonal.copy(), off.copy(), right.copy()
    solve(diagonal, off, right)
    assert all(np.array_equal(a, b) for a, b in zip((diagonal, off, right), kept, strict=True))


def test_what_is_not_positive_definite_is_said() -> None:
    with pytest.raises(FloatingPointError, match="tridiagonal system is not positive definite at row 1"):
        solve(np.array([-1.0, 2.0]), np.array([0.0, 0.0]), np.ones((1, 2)))


def test_one_nan_never_leaves_a_silent_answer() -> None:
    """It is refused, or stands in the solution: `advance` then solves member by member."""
    diagonal, off = _systems(2, 3, 1, 5)
    diagonal[1, 0, 2] = np.nan
    try:
        x = solve(diagonal, off, np.ones((1, 3, 1, 5)))
    except FloatingPointError:
        return
    assert not np.isfinite(x[0, 1]).all()
