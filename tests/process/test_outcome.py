"""Arrays read back in the words people use."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from charges import PIPE, charge, fold, held, job, line, strip
from hypothesis import given
from hypothesis import strategies as st

from soak.job.pack import Pack, Surface
from soak.job.target import Target
from soak.process import outcome, result
from soak.process.charge import Charge
from soak.process.state import State, cold

numbers = st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=80)


def test_band_is_the_tenths_and_member_nought() -> None:
    values = np.append(50.0, np.arange(0.0, 100.0))
    b = outcome.band(values, np.full(101, 1 / 101))
    assert (b.low, b.mid, b.high) == pytest.approx((10.0, 50.0, 90.0), abs=0.6)


def test_a_lopsided_band_still_holds_the_middle() -> None:
    b = outcome.band(np.array([5.0, 1.0, 1.0, 1.0]), np.full(4, 0.25))
    assert b.low <= b.mid <= b.high == 5.0


@given(numbers)
def test_a_band_lies_within_its_members(values: list[float]) -> None:
    b = outcome.band(np.array(values), np.full(len(values), 1 / len(values)))
    assert min(values) <= b.low <= b.mid <= b.high <= max(values)
    assert b.mid == values[0]


@given(numbers, st.floats(-1e6, 1e6))
def test_a_member_of_no_weight_does_not_pull(values: list[float], stray: float) -> None:
    weight = np.full(len(values) + 1, 1 / len(values))
    weight[-1] = 0.0
    assert outcome.band(np.array([*values, stray]), weight) == outcome.band(np.array(values), weight[:-1])


def test_nobody_left_is_nan() -> None:
    b = outcome.band(np.array([1.0, 2.0]), np.zeros(2))
    assert all(math.isnan(v) for v in (b.low, b.mid, b.high))


def test_a_band_for_people() -> None:
    assert outcome.Band(0.1, 0.2, 0.3).scaled(10.0).as_dict(2) == {"low": 1.0, "mid": 2.0, "high": 3.0}


def _with(profile: np.ndarray) -> tuple[Charge, State]:
    made = charge(job([strip(4, 1)]))
    state = cold(made)
    return made, dataclasses.replace(state, carbon=np.broadcast_to(profile, state.carbon.shape).copy())


def test_case_depth_of_a_straight_profile() -> None:
    made = charge(job([strip(4, 1)]))
    x = made.grid.depth[0]
    made, state = _with(0.012 - 5.0 * x)  # 0.40 % at 1.6 mm
    assert outcome.case_depth(made, state)[0, 0] == pytest.approx(1.6e-3, rel=1e-9)
    assert outcome.at_depth(made, state, 1.6e-3)[0, 0] == pytest.approx(0.004, rel=1e-9)
    assert outcome.at_depth(made, state, 0.0)[0, 0] == 0.012
    assert outcome.at_depth(made, state, 9.0)[0, 0] == pytest.approx(float(0.012 - 5.0 * 2e-3))  # deeper: the centre
    assert outcome.mean(made, state)[0, 0] == pytest.approx(0.012 - 5.0 * 1e-3, rel=1e-6)
    assert (outcome.surface(made, state)[0, 0], outcome.centre(made, state)[0, 0]) == pytest.approx((0.012, 0.002))


def test_case_depth_where_there_is_none_or_all() -> None:
    made, poor = _with(np.full(31, 0.001))
    assert outcome.case_depth(made, poor)[0, 0] == 0.0
    made, rich = _with(np.full(31, 0.008))
    assert outcome.case_depth(made, rich)[0, 0] == made.pieces[0].half_m


def test_case_depth_to_another_carbon() -> None:
    made = charge(job([strip(4, 1)]))
    made, state = _with(0.012 - 5.0 * made.grid.depth[0])
    assert outcome.case_depth(made, state, 0.0035)[0, 0] == pytest.approx(1.7e-3, rel=1e-9)


@pytest.mark.parametrize(
    ("target", "expected"),
    [
        (Target(0.01, "surface"), 0.012),
        (Target(0.01, "centre"), 0.002),
        (Target(0.01, "mean"), 0.007),
        (Target(0.004, "depth", depth_m=1.6e-3), 0.004),
    ],
    ids=lambda v: v.where if isinstance(v, Target) else "",
)
def test_what_a_target_speaks_of(target: Target, expected: float) -> None:
    made = charge(job([strip(4, 1)]))
    made, state = _with(0.012 - 5.0 * made.grid.depth[0])
    assert outcome.reached(made, state, target)[0, 0] == pytest.approx(expected, rel=1e-6)


def test_the_slowest_is_the_one_furthest_behind() -> None:
    made = charge(job([strip(2, 1), strip(6, 1)]))
    state, _ = fold(made, held(980, 2))
    assert outcome.slowest(made, state, Target(0.006)) == 1
    assert result.predicted(made, state, Target(0.006))["piece"] == "2 core"


def test_chance_is_the_share_that_lands_inside() -> None:
    made = charge(job([strip(4, 1)]), members=5)
    state = cold(made)
    state.carbon[:] = np.array([0.006, 0.0067, 0.0069, 0.005, 0.0053])[:, None, None]
    target = Target(0.006, tolerance=0.0008)
    assert outcome.chance_in_tolerance(made, state, target, 0) == pytest.approx(3 / 5)
    assert outcome.chance_in_tolerance(made, dataclasses.replace(state, weight=np.zeros(5)), target, 0) == 0.0
    state.weight[2] = 0.0
    assert outcome.chance_in_tolerance(made, state, target, 0) == pytest.approx(3 / 4)


def test_chance_by_depth() -> None:
    made = charge(job([strip(4, 1)]), members=2)
    state = cold(made)
    state.carbon[0] = 0.012 - 5.0 * made.grid.depth  # 0.4 % at 1.6 mm
    state.carbon[1] = 0.012 - 8.0 * made.grid.depth  # at 1.0 mm
    target = Target(0.004, "depth", depth_m=1.5e-3, depth_tolerance_m=0.2e-3)
    assert outcome.chance_in_tolerance(made, state, target, 0) == 0.5


def _scaled(state: State, by_m: float) -> State:
    """Scale that holds so much metal, on the wall now."""
    return dataclasses.replace(state, wall_square=np.where(state.wall_area > 0.0, by_m**2, 0.0))


def test_wall_left_and_breach() -> None:
    """The loss so far times the local factor, from a wall with its tolerance; earlier soaks count.

    What has gone through is remembered by the fold (see test_canister_wall), not read off the wall that is left.
    """
    made = charge(job(), members=16)
    made = dataclasses.replace(made, wall_lost_m=0.0008)
    state = _scaled(cold(made), 0.0006)
    assert outcome.wall_lost(made, state) == pytest.approx(np.full(16, 0.0006))
    assert outcome.wall_left(made, state) == pytest.approx(made.wall_m - made.local * 0.0014)
    assert outcome.wall_left(made, state)[0] == pytest.approx(0.004 - 2.0 * 0.0014)
    assert outcome.breach_chance(made, state) == 0.0
    through = outcome.wall_left(made, state) <= np.median(outcome.wall_left(made, state))
    assert outcome.breach_chance(made, dataclasses.replace(state, breached=through)) == pytest.approx(through.mean())
    frozen = dataclasses.replace(state, breached=through, weight=np.where(through, 0.0, state.weight))
    assert outcome.breach_chance(made, frozen) == 0.0
    assert outcome.breach_chance(made, dataclasses.replace(state, weight=np.zeros(16))) == 0.0


def test_soaks_left_and_the_reserve() -> None:
    """Decision 3: a quarter of the wall is kept in reserve (0.5 mm at least); an expendable canister gives it up."""
    made = charge()
    state = _scaled(cold(made), 0.0004)
    # left 4 - 2 x 0.4 = 3.2 mm; each soak takes 0.8 mm of the worst spot
    assert result.canister(made, state, PIPE)["soaks_left"]["mid"] == math.floor((3.2 - 1.0) / 0.8)
    thrown = dataclasses.replace(PIPE, expendable=True)
    assert result.canister(made, state, thrown)["soaks_left"]["mid"] == math.floor((3.2 - 0.5) / 0.8)


def test_a_wall_that_does_not_scale_is_not_the_limit() -> None:
    made = charge(job(canister=dataclasses.replace(PIPE, material="fireclay", wall_m=0.02)))
    state, _ = fold(made, held(1000, 1))
    said = result.canister(made, state, dataclasses.replace(PIPE, material="fireclay", wall_m=0.02))
    assert said["wall_lost_mm"]["mid"] == 0.0
    assert said["soaks_left"] == {"low": 200, "mid": 200, "high": 200}


def test_the_line_of_the_carbon_trace() -> None:
    made = charge(job([strip(4, 4)]), members=8, measured="oven")
    state, _ = fold(made, line([(0, 20), (2, 980), (3, 980), (3.5, 920)]))
    line_ = outcome.numbers(made, state)
    assert [p["piece"] for p in line_["pieces"]] == ["1 wall", "1 core"]
    for piece in line_["pieces"]:
        for name in ("mean_carbon_pct", "surface_carbon_pct", "centre_carbon_pct", "case_depth_mm"):
            assert piece[name]["low"] <= piece[name]["mid"] <= piece[name]["high"]
    assert 920.0 < line_["charge_wall_c"] < line_["charge_core_c"] < 980.0  # cooling: the core trails
    assert 3.0 < line_["wall_left_mm"]["mid"] < 4.0
    assert line_["pco"] == pytest.approx(float(state.co[0]), abs=1e-4)


def test_pieces_with_their_profiles() -> None:
    made = charge(job([strip(4, 4)], pack=Pack("x", "x", surface=Surface("carbon", 0.012))), members=4)
    state, _ = fold(made, held(980, 2))
    rows = result.pieces(made, state, Target(0.006), profile=True)
    assert [(r["piece"], r["where"], r["count"]) for r in rows] == [("1 wall", "wall", 2.0), ("1 core", "core", 2.0)]
    profile = rows[0]["profile"]
    assert [profile[0]["depth_mm"], profile[-1]["depth_mm"]] == [0.0, 2.0]
    assert profile[0]["carbon_pct"]["mid"] == pytest.approx(1.2)
    mids = [point["carbon_pct"]["mid"] for point in profile]
    assert mids == sorted(mids, reverse=True)
    assert "profile" not in result.pieces(made, state, Target(0.006))[0]


def test_a_depth_targets_case_is_measured_to_its_own_carbon() -> None:
    made = charge(job([strip(4, 1)], pack=Pack("x", "x", surface=Surface("carbon", 0.012))))
    state, _ = fold(made, held(980, 2))
    to_035 = result.carbon(made, state, Target(0.0035, "depth", depth_m=1e-3), 0)["case_depth_mm"]["mid"]
    to_040 = result.carbon(made, state, Target(0.006), 0)["case_depth_mm"]["mid"]
    assert to_035 > to_040 > 0.0
