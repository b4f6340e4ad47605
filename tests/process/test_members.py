"""The ensemble: member 0 is the run without one, and one that goes wrong harms no other."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from charges import at, charge, fold, held, job, line, strip

from soak.process.advance import advance
from soak.process.charge import Charge
from soak.process.outcome import numbers
from soak.process.state import ARRAYS, cold

TRACE = line([(0, 600), (0.5, 980), (1, 980), (1.25, 900)])


def test_member_nought_is_the_run_without_an_ensemble() -> None:
    many, _ = fold(charge(members=64, measured="oven"), TRACE)
    one, _ = fold(charge(members=1, measured="oven"), TRACE)
    for name in ARRAYS:
        if name != "weight":
            alone = getattr(one, name)[0]
            assert getattr(many, name)[0] == pytest.approx(
                alone, rel=1e-9, abs=1e-9 * float(np.abs(alone).max(initial=0.0))
            ), name


def test_any_member_alone_is_the_same_member() -> None:
    # steps as the grid has them: else member 0 says when they grow, and a member alone is its own member 0
    made = charge(members=5, measured="oven", longest_s=60.0)
    together, _ = fold(made, TRACE)
    alone, _ = fold(made.member(3), TRACE)
    assert together.member(3).carbon == pytest.approx(alone.carbon, rel=1e-9)
    assert together.member(3).nodes == pytest.approx(alone.nodes, rel=1e-12)


POISON = {
    "pack_conductance": np.nan,
    "offset_k": np.inf,
    "diffusivity": np.nan,
    "ln_activity": np.nan,
    "scaling": np.nan,
}


def _poisoned(made: Charge, name: str, value: float, member: int = 2) -> Charge:
    draws = getattr(made, name).copy()
    draws[member] = value
    return dataclasses.replace(made, **{name: draws})


@pytest.mark.parametrize("name", POISON)
def test_a_member_that_goes_wrong_is_frozen_and_harms_no_other(name: str) -> None:
    made = charge(members=4, measured="oven")
    healthy, none = fold(made, TRACE)
    sick, events = fold(_poisoned(made, name, POISON[name]), TRACE)
    assert none == []
    assert [(e.code, e.severity) for e in events] == [("member-frozen", "warning")]
    assert events[0].text == "1 of 4 members went wrong and were frozen; the band leaves them out"
    assert list(sick.weight) == [0.25, 0.25, 0.0, 0.25]
    others = [0, 1, 3]
    for array in ARRAYS:
        if array != "weight":
            a, b = (np.asarray(getattr(state, array)[others], dtype=float) for state in (healthy, sick))
            assert np.abs(a - b).max(initial=0.0) <= 1e-12 * max(1.0, float(np.abs(a).max(initial=0.0))), array
            assert np.isfinite(getattr(sick, array)).all(), array


def test_a_member_that_leaks_nonsense_too() -> None:
    made = charge(members=3, measured="oven")
    leak = made.gas.leak.copy()
    leak[1] = np.nan
    state, events = fold(dataclasses.replace(made, gas=dataclasses.replace(made.gas, leak=leak)), TRACE)
    assert [e.code for e in events] == ["member-frozen"]
    assert list(state.weight > 0) == [True, False, True]


def test_the_band_leaves_the_frozen_out() -> None:
    made = charge(job([strip(3, 1)]), members=4)
    sick = _poisoned(made, "pack_conductance", np.nan)
    state, _ = fold(sick, held(980, 2))
    frozen = float(state.carbon[2, 0, 0])
    assert frozen == pytest.approx(made.start[0])  # where it stood
    band = numbers(sick, state)["pieces"][0]["surface_carbon_pct"]
    others = 100 * np.delete(state.carbon[:, 0, 0], 2)
    assert others.min() - 1e-5 <= band["low"] <= band["mid"] <= band["high"] <= others.max() + 1e-5


def test_all_members_gone_is_said_and_nothing_is_invented() -> None:
    made = charge(members=2)
    sick = dataclasses.replace(made, diffusivity=np.full(2, np.nan))
    state, events = fold(sick, held(980, 1))
    assert [e.text for e in events] == ["2 of 2 members went wrong and were frozen; the band leaves them out"]
    assert list(state.weight) == [0.0, 0.0]
    assert np.isnan(numbers(sick, state)["pieces"][0]["mean_carbon_pct"]["mid"])


def test_frozen_members_are_counted_once_and_stay() -> None:
    made = _poisoned(charge(members=3), "diffusivity", np.nan, member=1)
    state = cold(made)
    seen = 0
    for r in [at(60.0 * i, 950.0) for i in range(60)]:
        state, events = advance(made, state, r)
        seen += len(events)
    assert seen == 1
    assert state.weight[1] == 0.0
