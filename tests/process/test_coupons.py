"""Coupons: beside the work, not waited for, and what the balance will say of them."""

from __future__ import annotations

import dataclasses

import pytest
from charges import MILD, charge, fold, held, job, line, strip

from soak.job.stock import Iron
from soak.job.target import Target
from soak.physics import coupon
from soak.process import result
from soak.process.outcome import mean, reached, slowest

OLD = Iron("old", "old", {"C": 0.0005}, slag_feo=0.014)
THICK, THIN = strip(5, 1, MILD, width_mm=30), strip(2, 1, OLD)


def _job(*coupons: object) -> object:
    return dataclasses.replace(job([strip(3, 2)]), coupons=coupons)  # type: ignore[type-var]


def test_a_coupon_lies_in_the_core_behind_the_work() -> None:
    made = charge(_job(THICK, THIN), measured="oven")  # type: ignore[arg-type]
    assert [(p.label, p.where, p.role) for p in made.pieces] == [
        ("1 wall", "wall", "work"),
        ("1 core", "core", "work"),
        ("coupon 1", "core", "coupon"),
        ("coupon 2", "core", "coupon"),
    ]
    assert made.work == 2
    state, _ = fold(made, line([(0, 20), (2, 950)]))
    assert state.piece_k[0, 2] == pytest.approx(state.piece_k[0, 1])


def test_nobody_waits_for_a_coupon() -> None:
    """The thick coupon is poorest by far; the slowest piece is still one of the work, and the work does not feel it."""
    made, alone = charge(_job(THICK)), charge(job([strip(3, 2)]))  # type: ignore[arg-type]
    state, bare = fold(made, held(980, 2))[0], fold(alone, held(980, 2))[0]
    target = Target(0.006)
    got = reached(made, state, target)[0]
    assert got[2] < got[:2].min()
    assert slowest(made, state, target) < made.work
    assert len(result.pieces(made, state, target)) == made.work
    assert mean(made, state)[0, :2] == pytest.approx(mean(alone, bare)[0], rel=1e-9)


def test_the_gain_foretold_is_the_mass_balance() -> None:
    """Carbon that came in, less the CO that slag gave off: 0.1672 kg C and 0.2227 kg O for each kg of FeO."""
    made = charge(_job(THICK, THIN))  # type: ignore[arg-type]
    state, _ = fold(made, held(1000, 3))
    clean, old = result.coupons(made, state)
    for row, i in ((clean, 2), (old, 3)):
        surface_m2 = made.pieces[i].mass_kg / 7870.0 / float(made.volume_m[i])
        came_in_g = 1e3 * 7870.0 * float(state.carbon_in[0, i]) * surface_m2
        eaten_g = 1e3 * 7870.0 * float(state.eaten[0, i]) * surface_m2
        oxygen_g = eaten_g * 0.2227 / 0.1672
        # a share of the mass afterwards: the balance sees a little more than the rise of that share
        stays_g = (came_in_g - eaten_g) / (1.0 - row["mean_carbon_pct"]["mid"] / 100.0)
        assert row["gains_g"]["mid"] == pytest.approx(stays_g - oxygen_g, abs=1.5e-4)
        assert row["mean_carbon_pct"]["mid"] == pytest.approx(100 * float(mean(made, state)[0, i]), abs=1e-4)
    assert clean["weighs_g"] == pytest.approx(0.5 * 3 * 15 * 7.87, rel=1e-4)
    assert (clean["coupon"], clean["iron"], clean["thickness_mm"]) == ("coupon 1", "mild", 5.0)


def test_what_was_foretold_is_read_back_from_the_balance() -> None:
    made = charge(_job(THICK))  # type: ignore[arg-type]
    state, _ = fold(made, held(1000, 3))
    row = result.coupons(made, state)[0]
    before = row["weighs_g"] / 1e3
    assay = coupon.carbon_from(coupon.Weighed(before, before + row["gains_g"]["mid"] / 1e3, MILD.carbon, 1e-6))
    assert 100 * assay.carbon == pytest.approx(row["mean_carbon_pct"]["mid"], abs=1e-3)
    # a kilogram gains ten grams a per cent, nearly
    per_kg = row["gains_g"]["mid"] / before
    assert per_kg == pytest.approx(10.0 * (row["mean_carbon_pct"]["mid"] - 0.08), rel=0.02)


def test_no_coupons_no_rows() -> None:
    made = charge()
    assert result.coupons(made, fold(made, held(950, 0.5))[0]) == []
