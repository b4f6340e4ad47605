"""Rows P-1 to P-8 of the check table on published pack experiments, through the project's own fold.

They are loose on purpose: they catch a wrong order, sign, unit or law of time, not an error of 10 %. Numbers published
and how they are known: tests/published/experiments/cases.toml; what is asked of the model stands beside each check.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent / "experiments"))

from experiment_cases import Point, load
from experiment_fold import KELVIN, Folds, all_folds

from soak.physics.activity import acm

E1_C, E2_C = 843.3, 898.9  # 1550 and 1650 degF
EXPONENT_HOURS = (1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
CRITERIA = ("0.40", "+0.05")  # depth to 0.40 % C, and to 0.05 % C above the core: nobody said which was meant


@pytest.fixture(scope="module")
def folds() -> Folds:
    return all_folds()


def depth_ratio(folds: Folds, top: Point, bottom: Point, criterion: str) -> float:
    return float(folds.depth_mm(top, criterion)[0] / folds.depth_mm(bottom, criterion)[0])


@pytest.mark.parametrize("criterion", CRITERIA)
@pytest.mark.parametrize(("celsius", "seen"), [(E1_C, 0.58), (E2_C, 0.54)])
def test_p1_depth_grows_as_a_power_of_time(folds: Folds, celsius: float, seen: float, criterion: str) -> None:
    """1 to 8 h. The model must give 0.45 to 0.60; E1 and E2 (seen) give 0.58 and 0.54 themselves."""
    rows = [r for r in load().rows if r.case == ("E1" if celsius == E1_C else "E2") and r.at[0].setup == "pot-plain"]
    depths = {r.at[0].hours: r.published[0] for r in rows}
    slope = np.polyfit(np.log(EXPONENT_HOURS), np.log([depths[h] for h in EXPONENT_HOURS]), 1)[0]
    assert slope == pytest.approx(seen, abs=0.01)
    points = [Point("pot-plain", celsius, h) for h in EXPONENT_HOURS]
    assert 0.45 <= folds.exponent(points, criterion)[0] <= 0.60


@pytest.mark.parametrize("hours", [4.0, 8.0])
def test_p2_hotter_is_deeper(folds: Folds, hours: float) -> None:
    """E2/E1, 899 over 843 degC: seen 1.17 at 4 h and 1.34 at 8 h; the check asks 1.2 to 1.55, a handbook law says 1.44.

    Ours is met only by a pack with energizer and a depth read to the last trace of carbon (1.52). It is NOT met by
    plain charcoal read so (1.57 at 4 h; 1.55 at 8 h touches the end), nor by either pack read to 0.40 % C (1.63 to
    1.69): ours grows more with heat than these two pots did. At 843 degC the surface of ours is poorer too, which
    moves a depth to a fixed carbon more than a depth to the core.
    """

    def of(setup: str, criterion: str) -> float:
        return depth_ratio(folds, Point(setup, E2_C, hours), Point(setup, E1_C, hours), criterion)

    assert 1.2 <= of("pot-active", "+0.05") <= 1.55
    assert of("pot-plain", "+0.05") == pytest.approx(1.57 if hours == 4.0 else 1.55, abs=0.01)
    assert of("pot-active", "0.40") == pytest.approx(1.63, abs=0.01)
    assert of("pot-plain", "0.40") == pytest.approx(1.69 if hours == 4.0 else 1.67, abs=0.01)


@pytest.mark.parametrize("criterion", CRITERIA)
@pytest.mark.parametrize(("hours", "seen", "square_root"), [(6.0, 2.0, 1.73), (12.0, 2.5, 2.45)])
def test_p3_three_times_and_six_times_as_long(
    folds: Folds, hours: float, seen: float, square_root: float, criterion: str
) -> None:
    """E3 over its 2 h: 2.0 and 2.5 (seen). 20 % is allowed. The temperature is not stated; 927 degC here."""
    ratio = depth_ratio(folds, Point("pot-barium", 927.0, hours), Point("pot-barium", 927.0, 2.0), criterion)
    assert ratio == pytest.approx(seen, rel=0.20)
    assert ratio == pytest.approx(square_root, rel=0.20)


@pytest.mark.parametrize("setup", ["pot-plain", "pot-active"])
def test_p4_a_depth_of_the_trade(folds: Folds, setup: str) -> None:
    """E4: 7 h at 899 to 927 degC give 1/32 in. (seen). At that depth 0.3 to 0.9 % C: the criterion is not known."""
    carbon = folds.at_depth_pct(Point(setup, 913.0, 7.0), 0.794e-3)[0]
    assert 0.3 < carbon < 0.9


SURFACE = [(815.6, 0.90), (871.1, 1.00), (898.9, 1.10), (926.7, 1.25), (954.4, 1.40)]


@pytest.mark.parametrize(("celsius", "seen"), SURFACE)
def test_p5_surface_of_an_active_charcoal_pack(folds: Folds, celsius: float, seen: float) -> None:
    """E5 (seen): potential within 0.10 %; surface after 4 to 6 h between 0.20 % below and 0.10 % above, because the
    analysis is of turnings and the pack takes its time.
    """
    point = Point("pot-active", celsius, 5.0)
    assert folds.graphite_pct(point)[0] == pytest.approx(seen, abs=0.10)
    assert -0.20 <= folds.surface_pct(point)[0] - seen <= 0.10


def test_p5_ends_below_982(folds: Folds) -> None:
    """At 982 degC 1.75 % was published: more than austenite holds even beside cementite (1.48 %), so carbide was in the
    turnings or the pyrometer was wrong. Ours must not follow it.
    """
    point = Point("pot-active", 982.2, 5.0)
    limit = 100.0 * float(acm(982.2 + KELVIN))
    assert limit < 1.60
    assert folds.surface_pct(point)[0] < limit < 1.75


def test_p6_welded_layers_even_out(folds: Folds) -> None:
    """E8: layers of 0.15 mm, 2 min at 1100 degC (found even, seen): less than 5 % of the first difference is left.

    And the near miss: 20 s are not enough.
    """
    assert folds.layer_spread_pct(Point("layers", 1100.0, 2 / 60))[0] < 5.0
    assert folds.layer_spread_pct(Point("layers", 1100.0, 20 / 3600))[0] > 5.0


@pytest.mark.parametrize("celsius", [1000.0, 1050.0])
def test_p7_cemented_bars(folds: Folds, celsius: float) -> None:
    """E9: bars of 16 mm, 9 to 11 days: 1.0 to 1.7 % in the mean (analyses 1.01 to 1.51 %, seen), and nowhere in any
    member more than austenite holds beside cementite at its own temperature.
    """
    for days in (9, 11):
        point = Point("chest", celsius, 24.0 * days)
        assert 1.0 < folds.mean_pct(point)[0] < 1.7
        look = folds.after(point)
        limit = acm(celsius + KELVIN + folds.draws["temperature_offset_k"])
        assert (look.state.carbon[:, look.piece].max(axis=-1) <= limit + 1e-9).all()


def test_p8_an_hour_beside_barium(folds: Folds) -> None:
    """E11: 900 degC, 1 h, 40 % BaCO3, 677 HV as quenched (seen): the surface has 0.45 % C or more, in every member."""
    assert folds.surface_pct(Point("box-barium", 900.0, 1.0)).min() >= 0.45
