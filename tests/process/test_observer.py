"""A couple in the pack corrects how well the pack is thought to conduct."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from charges import charge, fold, held, line

from soak.process.advance import advance
from soak.process.charge import Charge
from soak.process.state import ZERO_C, State, cold
from soak.trace import Reading

UP = line([(0, 20), (3, 950)])
TRUE = 0.7


def _true(factor: float = TRUE) -> Charge:
    made = charge(measured="oven")
    return dataclasses.replace(made, heat=dataclasses.replace(made.heat, multiplier=np.array([factor])))


def _with_couple(trace: list[Reading], made: Charge) -> tuple[State, list[Reading]]:
    """The trace as a couple in the middle of that charge would have filled it in."""
    state, out = cold(made), []
    for reading in trace:
        state, _ = advance(made, state, reading)
        out.append(dataclasses.replace(reading, pack_c=float(state.nodes[0, -1]) - ZERO_C))
    return state, out


def test_a_pack_that_conducts_worse_is_found_out() -> None:
    """Truth: 0.7 times the law. The factor comes within 0.1 of it, and the core's error halves.

    It goes a little beyond (0.63): while the factor is being corrected the core still carries the error of before.
    """
    truth, seen = _with_couple(UP, _true())
    made = charge(measured="oven", members=4)
    blind, _ = fold(made, UP)
    taught, _ = fold(made, seen)
    assert np.array_equal(blind.k_mult, made.heat.multiplier)
    assert float(taught.k_mult[0]) == pytest.approx(TRUE, abs=0.1)
    error = np.abs(taught.nodes[:, -1] - truth.nodes[0, -1])
    before = np.abs(blind.nodes[:, -1] - truth.nodes[0, -1])
    assert before[0] > 20.0
    assert error[0] < 0.5 * before[0]
    assert error.max() < 0.5 * before.max()


def test_the_members_come_together() -> None:
    """The band of the core narrows: what the couple taught all of them was in doubt between them."""
    _, seen = _with_couple(UP, _true(1.0))
    made = charge(measured="oven", members=6)
    made = dataclasses.replace(made, offset_k=np.zeros(6))  # only the conductivity is in doubt
    blind, _ = fold(made, UP)
    taught, _ = fold(made, seen)
    assert np.ptp(np.log(taught.k_mult)) < 0.6 * np.ptp(np.log(blind.k_mult))
    assert np.ptp(taught.nodes[:, -1]) < 0.6 * np.ptp(blind.nodes[:, -1])


@pytest.mark.parametrize(("factor", "left"), [(0.6, 0.5), (0.8, 0.5), (1.3, 0.75)])
def test_toward_the_truth_from_either_side(factor: float, left: float) -> None:
    """Slower for a pack that conducts better: its core errs by less, and what errs little teaches little."""
    _, seen = _with_couple(UP, _true(factor))
    taught, _ = fold(charge(measured="oven"), seen)
    assert abs(np.log(float(taught.k_mult[0]) / factor)) < left * abs(np.log(factor))


def test_nothing_is_learnt_while_still() -> None:
    """A couple that reads 15 K off in a steady soak is a couple that reads off, not a pack that conducts badly."""
    made = charge(measured="oven")
    still, _ = fold(made, held(950, 8))
    wrong = [dataclasses.replace(r, pack_c=935.0) for r in held(950, 4, begin_s=8 * 3600.0 + 60.0)]
    after, _ = fold(made, wrong, still)
    assert float(after.k_mult[0]) == float(still.k_mult[0]) == 1.0


def test_no_couple_nothing_learnt_and_the_bounds_hold() -> None:
    made = charge(measured="oven")
    state, _ = fold(made, UP)
    assert float(state.k_mult[0]) == 1.0
    for nonsense, bound in ((1500.0, 5.0), (-200.0, 0.2)):
        state, _ = fold(made, [dataclasses.replace(r, pack_c=nonsense) for r in line([(0, 20), (6, 1100)])])
        assert 0.2 <= float(state.k_mult[0]) <= 5.0
        assert abs(np.log(float(state.k_mult[0]) / bound)) < abs(np.log(bound))
