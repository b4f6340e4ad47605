"""What costs time, measured with pytest-benchmark (off by default: then each runs once, as a plain test).

pytest tests/bench -n 0 --benchmark-enable
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from scipy.linalg import solve_banded

from soak.physics.diffusion import hold_surface, step
from soak.physics.tridiagonal import solve
from soak.process.advance import advance
from soak.process.outcome import mean
from soak.process.state import cold

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import at, charge, fold, job, line, strip

# drying hold, ramp, seven hours at heat, and the fall: 13 h
NIGHT = line([(0, 20), (0.3, 120), (1.3, 120), (4, 1000), (11, 1000), (13, 600)])


def test_a_night_of_thirteen_hours_with_64_members(benchmark: BenchmarkFixture) -> None:
    made = charge(job([strip(4, 8)]), members=64, measured="oven")
    state, events = benchmark.pedantic(fold, (made, NIGHT), rounds=3, iterations=1)
    assert events == []
    assert 0.006 < float(mean(made, state)[0].min()) < 0.012


def _systems() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """64 members of 2 pieces of 31 nodes, two right-hand sides: what one stage of one step solves."""
    rng = np.random.default_rng(1)
    off = -rng.uniform(0.0, 5.0, (64, 2, 31))
    off[..., -1] = 0.0
    diagonal = rng.uniform(0.1, 2.0, off.shape) - off
    diagonal[..., 1:] -= off[..., :-1]
    return diagonal, off, rng.normal(size=(2, 64, 2, 31))


def _peer(diagonal: np.ndarray, off: np.ndarray, right: np.ndarray) -> np.ndarray:
    """The same systems with the general banded solver of scipy."""
    banded = np.zeros((3, diagonal.size))
    banded[0, 1:], banded[1], banded[2, :-1] = off.ravel()[:-1], diagonal.ravel(), off.ravel()[:-1]
    found: np.ndarray = solve_banded((1, 1), banded, right.reshape(len(right), -1).T).T.reshape(right.shape)
    return found


@pytest.mark.benchmark(group="one stage: 128 profiles of 31 nodes")
def test_stacked_systems(benchmark: BenchmarkFixture) -> None:
    systems = _systems()
    found = benchmark(solve, *systems)
    assert found == pytest.approx(_peer(*systems), rel=1e-10, abs=1e-12)


@pytest.mark.benchmark(group="one stage: 128 profiles of 31 nodes")
def test_the_same_by_scipys_banded_solver(benchmark: BenchmarkFixture) -> None:
    systems = _systems()
    found = benchmark(_peer, *systems)
    assert found.shape == systems[2].shape


def test_ratio_to_the_peer(benchmark: BenchmarkFixture, record_property: Callable[[str, object], None]) -> None:
    """The peer in the same process, turn by turn, best of 30 each. Reported, not asserted: the machine decides."""
    systems = _systems()

    def best(of) -> float:  # type: ignore[no-untyped-def]
        spent = []
        for _ in range(30):
            begin = time.perf_counter()
            of(*systems)
            spent.append(time.perf_counter() - begin)
        return min(spent)

    ratio = best(_peer) / best(solve)
    record_property("peer_over_ours", ratio)
    benchmark.extra_info["peer_over_ours"] = ratio
    print(f"scipy.linalg.solve_banded takes {ratio:.1f} times as long")
    found = benchmark(solve, *systems)
    assert found == pytest.approx(_peer(*systems), rel=1e-10, abs=1e-12)


def test_one_diffusion_step_of_64_members(benchmark: BenchmarkFixture) -> None:
    made = charge(job([strip(4, 4)]), members=64)
    state = cold(made)

    def once() -> tuple[np.ndarray, np.ndarray]:
        return step(state.carbon, state.trend, 60.0, made.grid, lambda w: np.full_like(w, 3e-11), hold_surface(0.012))

    carbon, came_in = benchmark(once)
    assert carbon[0, 0, 0] == pytest.approx(0.012)
    assert (came_in > 0.0).all()


def test_one_reading_that_makes_no_step(benchmark: BenchmarkFixture) -> None:
    made = charge(members=64, measured="oven")
    state, _ = advance(made, cold(made), at(0.0, 900.0))
    state, _ = advance(made, state, at(1.0, 900.0))
    after, events = benchmark(advance, made, state, at(2.0, 900.0))
    assert (after.time_s, events) == (state.time_s, ())
    assert after.carbon is state.carbon  # nothing was computed


def test_one_process_step_of_64_members(benchmark: BenchmarkFixture) -> None:
    made = charge(job([strip(4, 4)]), members=64, measured="oven")
    state, _ = fold(made, line([(0, 20), (3, 1000)]))
    last = state.time_s
    after, _ = benchmark(advance, made, state, at(last + 60.0, 1010.0))
    assert after.time_s == last + 60.0
