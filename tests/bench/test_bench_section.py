"""What a step of two-dimensional sections costs beside a step of strips, in one process, with the pack's own law.

pytest tests/bench/test_bench_section.py -n 0 --benchmark-enable; off, each runs once, as a plain test. No times are
asserted. The ratio is written with the section's row (extra_info, shown with --benchmark-json).
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from pytest_benchmark.fixture import BenchmarkFixture

from soak.physics import diffusion, section
from soak.physics.activity import IRON, acm, activity_at, activity_coefficients
from soak.physics.diffusion import Close, Diffusivity, transfer
from soak.physics.diffusivity import austenite_at, austenite_coefficients
from soak.physics.surface import carbon_flux, conductance

Array = NDArray[np.float64]
Step = Callable[[], tuple[Array, Array]]

MEMBERS, PIECES = 64, 2
KELVIN = np.linspace(1243.0, 1303.0, MEMBERS)[:, None] * np.ones(PIECES)
LAWS = ("pack", "transfer")


def law(name: str, kelvin: Array) -> Close:
    """A plain transfer, which costs nothing, or the pack's law in five rounds of Newton, as the process takes."""
    if name == "transfer":
        return transfer(0.012, 1e-7)
    at, limit = activity_coefficients(kelvin, IRON), acm(kelvin)
    g = conductance(kelvin, 1.0, 10.0, 1.0, 0.004, 0.005)
    per_metre = 0.012011 / 7870.0

    def close(p: Array, q: Array) -> Array:
        w, flux = np.maximum(p, 1e-7), np.zeros_like(p)
        for _ in range(5):
            ln_a, slope = activity_at(w, at)
            flux, fall = carbon_flux(g, kelvin, 1.0, ln_a)
            w = np.clip(w + (p + q * per_metre * flux - w) / (1.0 - q * per_metre * fall * slope), 1e-7, 0.05)
        return np.clip(per_metre * flux, 0.0, np.maximum(limit - p, 0.0) / q)

    return close


def agren(kelvin: Array) -> Diffusivity:
    at, limit = austenite_coefficients(kelvin), acm(kelvin)
    return lambda w: austenite_at(np.clip(w, 0.0, limit), at)


def strips(name: str) -> Step:
    """64 members of 2 strips of 31 nodes, half an hour on the way."""
    grid = diffusion.stack((diffusion.grid("strip", 0.003),) * PIECES)
    d, close = agren(KELVIN[..., None]), law(name, KELVIN)
    w = np.full((MEMBERS, PIECES, 31), 0.0008)
    trend = np.zeros_like(w)
    for _ in range(15):
        after, _ = diffusion.step(w, trend, 120.0, grid, d, close)
        trend, w = (after - w) / 120.0, after
    return lambda: diffusion.step(w, trend, 120.0, grid, d, close)


def bars(name: str, nodes: int) -> Step:
    """64 members of 2 square bars of nodes x nodes."""
    grid = section.stack((section.section(0.006, 0.006, (nodes, nodes)),) * PIECES)
    d, close = agren(KELVIN[..., None, None]), law(name, KELVIN[..., None])
    w = np.full((MEMBERS, PIECES, nodes, nodes), 0.0008)
    trend = np.zeros_like(w)
    for _ in range(15):
        after, _ = section.step(w, trend, 120.0, grid, d, close)
        trend, w = (after - w) / 120.0, after
    return lambda: section.step(w, trend, 120.0, grid, d, close)


@pytest.mark.parametrize("name", LAWS)
@pytest.mark.benchmark(group="one step of 64 members x 2 pieces")
def test_strips(benchmark: BenchmarkFixture, name: str) -> None:
    after, taken = benchmark(strips(name))
    assert after.shape == (MEMBERS, PIECES, 31)
    assert (taken > 0.0).all()


@pytest.mark.parametrize("nodes", [10, 16])
@pytest.mark.parametrize("name", LAWS)
@pytest.mark.benchmark(group="one step of 64 members x 2 pieces")
def test_sections(benchmark: BenchmarkFixture, name: str, nodes: int) -> None:
    ours = bars(name, nodes)
    after, taken = benchmark(ours)
    assert after.shape == (MEMBERS, PIECES, nodes, nodes)
    assert (taken > 0.0).all()
    if benchmark.enabled:
        benchmark.extra_info["times a step of strips"] = round(_ratio(ours, strips(name)), 2)


def _ratio(ours: Step, peer: Step, rounds: int = 60) -> float:
    """Median of the times over the median of the peer's, taken in turns so that both meet the same machine."""
    seconds: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        for run, kept in zip((ours, peer), seconds, strict=True):
            begin = time.perf_counter()
            run()
            kept.append(time.perf_counter() - begin)
    return statistics.median(seconds[0]) / statistics.median(seconds[1])
