"""CO in the pack as a state: made, pushed out, crept in."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soak.process import gas
from soak.process.charge import Gas

VOID, T = 1e-3, np.array([1273.0])
OPEN = Gas(VOID, np.array([1e-3]), 0.0, 1.0, 0.0)


def _path(of: Gas) -> float:
    return float(of.leak[0]) * 2.0e-5 * (1273.0 / 273.0) ** 1.75  # m3/s


def test_nothing_made_nitrogen_comes_back() -> None:
    """Falls from 1 toward 0.35 with the void over the path as its time."""
    tau = VOID / _path(OPEN)
    after = gas.step(OPEN, np.array([1.0]), np.zeros(1), T, T, tau)
    assert float(after[0]) == pytest.approx(0.35 + 0.65 * np.exp(-1.0), rel=1e-6)


def test_much_made_all_air_is_pushed_out() -> None:
    """The stream keeps nitrogen from creeping in at all: purging by so many voids leaves exp(-voids)."""
    voids = 5.0
    mol = voids * VOID * 101325.0 / (8.314462618 * float(T[0]))
    slow = Gas(VOID, np.array([1e-9]), 0.0, 0.0, 0.0)
    after = gas.step(slow, np.array([0.35]), np.array([mol]), T, T, 600.0)
    assert float(after[0]) == pytest.approx(1.0 - 0.65 * np.exp(-voids), rel=1e-4)


@settings(deadline=None)
@given(st.floats(0.35, 1.0), st.floats(0.0, 1.0), st.floats(1e-6, 1.0), st.floats(1.0, 300.0))
def test_always_between_sealed_air_and_all_co(co: float, made: float, leak: float, dt: float) -> None:
    of = Gas(VOID, np.array([leak]), 0.0, 0.0, 0.0)
    after = float(gas.step(of, np.array([co]), np.array([made]), T, T, dt)[0])
    assert 0.35 - 1e-12 <= after <= 1.0 + 1e-12


def test_one_step_or_many_the_same() -> None:
    co = np.array([0.9])
    whole = gas.step(OPEN, co, np.array([0.01]), T, T, 300.0)
    for _ in range(5):
        co = gas.step(OPEN, co, np.array([0.002]), T, T, 60.0)
    assert co == pytest.approx(whole, rel=1e-12)


def test_barium_answers_a_lack_of_co_and_no_more_than_it_has() -> None:
    hot = np.array([1323.0])
    given_ = gas.barium_made(OPEN, np.array([1.0]), np.array([0.35]), hot, 60.0)
    assert 0.0 < float(given_[0]) < 1.0
    assert float(gas.barium_made(OPEN, np.array([1e-9]), np.array([0.35]), hot, 60.0)[0]) == 1e-9
    cold = np.array([1100.0])
    assert float(gas.barium_made(OPEN, np.array([1.0]), np.array([0.9]), cold, 60.0)[0]) == 0.0


def test_volatiles_leave_on_first_heating() -> None:
    shares = gas.volatile_released(np.array([293.0, 873.0, 1273.0]))
    assert float(shares[0]) < 1e-4
    assert shares[1:] == pytest.approx([0.5, 1.0], abs=0.002)
