"""Slag that eats carbon: the stoichiometry, the balance, and nothing where there is none."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from charges import bar, charge, fold, held, job, line, strip
from hypothesis import given, settings
from hypothesis import strategies as st

from soak.job.stock import Iron
from soak.process import slag
from soak.process.outcome import mean

OLD = Iron("old", "old wrought iron", {"C": 0.0005}, slag_feo=0.014)  # 2 % slag that is 70 % FeO
CLEAN = dataclasses.replace(OLD, slag_feo=0.0)
UP_AND_DOWN = line([(0, 20), (2, 980), (4, 980), (5, 640)])


def test_one_per_cent_of_oxide_takes_a_sixth_of_a_per_cent() -> None:
    """FeO + C = Fe + CO: 0.167 % C for each % of FeO; 2 % slag with 70 % FeO swallows 0.23 % (computed)."""
    carbon, oxide = np.full((1, 1, 1), 0.010), np.full((1, 1, 1), 0.010)
    after, reduced = slag.step(carbon, oxide, np.ones((1, 1, 1), dtype=bool), 1e9)
    assert 100 * float((carbon - after)[0, 0, 0]) == pytest.approx(0.167, abs=0.0005)
    assert float(reduced[0, 0, 0]) == pytest.approx(0.010)
    assert 100 * 0.02 * 0.70 * slag.CARBON_PER_FEO.value == pytest.approx(0.23, abs=0.005)


values = st.floats(0.0, 0.02)


@settings(deadline=None)
@given(values, values, st.floats(1.0, 1e5), st.booleans())
def test_no_more_than_there_is_of_either(carbon: float, oxide: float, dt: float, hot: bool) -> None:
    """Never more carbon than there is, never more oxide; nothing while cold; longer is never less."""
    c, o, active = np.full((1, 1, 1), carbon), np.full((1, 1, 1), oxide), np.full((1, 1, 1), hot)
    after, reduced = slag.step(c, o, active, dt)
    assert -1e-18 <= float(after[0, 0, 0]) <= carbon
    assert 0.0 <= float(reduced[0, 0, 0]) <= oxide
    assert float((c - after)[0, 0, 0]) == pytest.approx(slag.CARBON_PER_FEO.value * float(reduced[0, 0, 0]), abs=1e-17)
    if not hot:
        assert float(reduced[0, 0, 0]) == 0.0
    assert float(slag.step(c, o, active, 2.0 * dt)[1][0, 0, 0]) >= float(reduced[0, 0, 0])


def test_carbon_balance_with_slag() -> None:
    """What came in over the surface is the rise and what the slag ate, 1e-12 relative: flats, rounds and sections."""
    stock = [strip(4, 2, OLD), bar(8, 2, OLD), strip(3, 2, OLD, width_mm=9)]
    made = charge(job(stock), 4, "oven")
    state, _ = fold(made, UP_AND_DOWN)
    rise = (mean(made, state) - made.start) * made.volume_m
    assert (state.eaten > 1e-7).all()
    assert np.abs((rise + state.eaten) / state.carbon_in - 1.0).max() < 1e-12


def test_what_is_eaten_is_what_the_oxide_lost_and_no_more_than_its_capacity() -> None:
    made = charge(job([strip(3, 1, OLD)]), 6)
    state, _ = fold(made, held(1000, 12))
    eaten = state.eaten[:, 0] / made.volume_m[0]  # mean over the piece, mass fraction
    left = (state.slag[:, 0] * made.grid.weight[0]).sum(axis=-1)
    assert eaten == pytest.approx(slag.CARBON_PER_FEO.value * (made.slag[:, 0] - left), rel=1e-9)
    capacity = slag.CARBON_PER_FEO.value * made.slag[:, 0]
    assert (eaten <= capacity * (1 + 1e-12)).all()
    assert eaten == pytest.approx(capacity, rel=0.01)  # carbon was everywhere for hours: hardly any oxide is left
    assert capacity[0] == pytest.approx(0.1672 * 0.5 * 0.014)  # the central estimate: half of it can be reduced
    assert (state.slag >= 0.0).all()


def test_no_slag_no_change() -> None:
    """Clean iron keeps its oxide of nothing, and old iron whose slag cannot be reduced is clean iron, bit for bit."""
    clean = charge(job([strip(3, 1, CLEAN)]))
    inert = charge(job([strip(3, 1, OLD)]))
    inert = dataclasses.replace(inert, slag=np.zeros_like(inert.slag))
    (a, _), (b, _) = fold(clean, UP_AND_DOWN), fold(inert, UP_AND_DOWN)
    assert np.array_equal(a.carbon, b.carbon)
    assert float(a.eaten.max()) == 0.0
    eaten, _ = fold(charge(job([strip(3, 1, OLD)])), UP_AND_DOWN)
    assert float(mean(clean, eaten)[0, 0]) < float(mean(clean, a)[0, 0])


def test_cold_slag_eats_nothing() -> None:
    made = charge(job([strip(3, 1, Iron("rich", "rich", {"C": 0.006}, slag_feo=0.014))]))
    state, _ = fold(made, held(715, 5))
    assert float(state.eaten[0, 0]) == 0.0
    assert np.array_equal(state.carbon, np.full_like(state.carbon, 0.006))
