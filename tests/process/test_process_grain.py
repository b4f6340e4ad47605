"""The grain over the trace, the ferrite that stays in a poor core, and the floor that sags."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from charges import MILD, PIPE, charge, fold, full_of_co, held, job, line, strip

from soak.job.pack import Pack, Surface
from soak.job.stock import Iron
from soak.physics import creep, grain
from soak.physics.activity import a3
from soak.process import result
from soak.process.state import ZERO_C, cold

INERT = Pack("x", "x", surface=Surface("potential", 0.012, 0.0))  # nothing comes in


def test_the_fold_is_the_law() -> None:
    """No carbon comes in, one temperature: the laws' own ten hours at 950 degC, 123, 84 and 102 um (memory)."""
    made = charge(job([strip(3, 1, Iron("c", "c", {"C": 0.002}))], pack=INERT))
    state, _ = fold(made, held(950, 10))
    alone = grain.step(grain.fresh(), 950 + ZERO_C, 36000.0, 0.002)
    assert state.grain[0, 0] == pytest.approx(alone, rel=1e-6)
    assert (1e6 * state.grain[0, 0]).round() == pytest.approx([123, 84, 102])
    assert result.grain_band(state, 0).scaled(1e6).as_dict(0) == {"low": 84.0, "mid": 123.0, "high": 123.0}


def test_it_starts_afresh_when_heated_through_a1_and_not_before() -> None:
    made = charge(job([strip(3, 1)], pack=INERT))
    hot, _ = fold(made, held(1000, 4))
    cool, _ = fold(made, line([(4.01, 1000), (5, 600)]), hot)
    assert (cool.grain >= hot.grain).all()  # what has grown stays while it cools
    again, _ = fold(made, line([(5.01, 600), (5.3, 760)]), cool)
    assert (again.grain < 1.5 * grain.START.value).all()
    # a dip that stays above A1 refines nothing
    dip, _ = fold(made, line([(4.01, 1000), (4.5, 760), (5, 1000)]), hot)
    assert (dip.grain >= hot.grain).all()


def test_cold_iron_keeps_its_grain_and_so_does_a_trial_that_does_not_watch() -> None:
    made = charge(job([strip(3, 1)]))
    assert np.array_equal(fold(made, held(700, 3))[0].grain, cold(made).grain)
    blind = dataclasses.replace(made, watch_grain=False)
    (a, _), (b, _) = fold(made, held(1000, 1)), fold(blind, held(1000, 1))
    assert np.array_equal(b.grain, cold(made).grain)
    assert np.array_equal(a.carbon, b.carbon)  # nothing else depends on it


def test_a_coarse_grain_asks_for_more_heats() -> None:
    made = charge(job([strip(3, 1)], pack=INERT))
    short, _ = fold(made, held(900, 0.2))
    long, _ = fold(made, held(1080, 12))
    assert len(result.normalising(made, short, 0)["heats_c"]) < len(result.normalising(made, long, 0)["heats_c"])


# --- ferrite


def test_ferrite_stays_where_there_is_less_carbon_than_a3_asks() -> None:
    """At 860 degC plain iron needs the carbon of the A3 line to be austenite; the core of a short soak has it not."""
    made = charge(job([strip(4, 1, Iron("iron", "iron", {"C": 0.0003}))]))
    state, _ = fold(made, held(860, 2), full_of_co(cold(made)))
    front_mm = result.ferrite_from_mm(made, state, 0)
    assert front_mm is not None
    needed = float(a3(860 + ZERO_C))
    inside = made.depth[0] * 1e3 >= front_mm - 1e-3
    assert (state.carbon[0, 0, inside] < needed).all()
    assert (state.carbon[0, 0, ~inside] >= needed).all()
    shown = result.profile_points(made, state, 0)
    assert all(p["carbon_pct"]["mid"] <= 0.01 for p in shown if p["depth_mm"] >= front_mm)
    assert shown[0]["carbon_pct"]["mid"] > 0.2


def test_above_a3_of_pure_iron_there_is_no_ferrite() -> None:
    made = charge(job([strip(4, 1, Iron("iron", "iron", {"C": 0.0003}))]))
    assert result.ferrite_from_mm(made, fold(made, held(920, 0.5))[0], 0) is None
    assert result.ferrite_from_mm(made, fold(made, held(700, 0.5))[0], 0) is None  # never was austenite: not a front


def test_phosphorus_holds_ferrite_where_plain_iron_has_none() -> None:
    """0.3 % P at 950 degC needs some carbon to be all austenite; a short soak leaves ferrite within (computed)."""
    iron = Iron("p", "p", {"C": 0.0001, "P": 0.003})
    made = charge(job([strip(4, 1, iron)]))
    assert result.ferrite_from_mm(made, fold(made, held(950, 0.5))[0], 0) is not None
    plain = charge(job([strip(4, 1, Iron("i", "i", {"C": 0.0001}))]))
    assert result.ferrite_from_mm(plain, fold(plain, held(950, 0.5))[0], 0) is None


def test_the_front_moves_inward_with_time() -> None:
    made = charge(job([strip(6, 1, Iron("iron", "iron", {"C": 0.0003}), width_mm=36)]))
    fronts = []
    for hours in (1, 2, 4):
        fronts.append(result.ferrite_from_mm(made, fold(made, held(870, hours), full_of_co(cold(made)))[0], 0))
    assert None not in fronts
    assert fronts == sorted(fronts)  # type: ignore[type-var]
    assert fronts[0] < fronts[-1]  # type: ignore[operator]


# --- sag


def test_an_unsupported_floor_sags() -> None:
    """A clamped square floor of 100 mm with 2 kPa at 1000 degC: 0.8 mm (computed); ours: b sqrt(c q / sigma)."""
    can = dataclasses.replace(
        PIPE, form="box", width_m=0.108, height_m=0.108, length_m=0.108, diameter_m=0.0, floor_supported=False
    )
    made = charge(job([strip(3, 1)], canister=can))
    state, _ = fold(made, held(1000, 1))
    kg = 0.01 * 2000.0 / 9.80665  # 2 kPa on 100 x 100 mm
    loaded = dataclasses.replace(made, pack_kg=kg - made.pieces[0].mass_kg)
    assert 1e3 * result.sag(loaded, state, can) == pytest.approx(0.8, abs=0.05)
    assert result.sag(loaded, state, dataclasses.replace(can, floor_supported=True)) == 0.0
    said = result.canister(loaded, state, can)
    assert said["sags_below_mm"] == pytest.approx(0.8, abs=0.05)
    assert said["done_at_mm"] == 1.0  # a quarter of 4 mm is more
    assert "sags_below_mm" not in result.canister(loaded, state, dataclasses.replace(can, floor_supported=True))


def test_heavier_or_hotter_sags_sooner_and_brick_never() -> None:
    can = dataclasses.replace(PIPE, floor_supported=False)
    made = charge(job([strip(3, 1)], canister=can))
    warm, hot = (fold(made, held(c, 0.5))[0] for c in (950, 1050))
    heavy = dataclasses.replace(made, pack_kg=made.pack_kg + 5.0)
    assert 0.0 < result.sag(made, warm, can) < result.sag(made, hot, can) < result.sag(heavy, hot, can)
    assert result.sag(made, hot, dataclasses.replace(can, material="fireclay")) == 0.0
    thick = creep.retire_at(0.004, result.sag(heavy, hot, can))
    assert float(thick) >= result.sag(heavy, hot, can)
    assert MILD.carbon > 0.0
