"""Sag of a hot floor, and when a wall is done."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import creep

KELVIN = 273.15


def test_stress_of_the_deformation_map() -> None:
    # Frost and Ashby 1982: 7.8 MPa at 1050 degC and 1e-7 per s (constants from memory)
    assert creep.iron_stress(1050 + KELVIN) / 1e6 == pytest.approx(7.8, rel=0.01)


def test_stress_follows_the_power_law() -> None:
    ratio = creep.iron_stress(1200.0, 1e-6) / creep.iron_stress(1200.0, 1e-7)
    assert ratio == pytest.approx(10 ** (1 / 4.5))


@given(st.floats(1000.0, 1400.0), st.floats(1.0, 100.0), st.sampled_from(["steel", "310"]))
def test_hotter_carries_less(T: float, more: float, material: str) -> None:
    assert creep.allowed_stress(material, T + more) < creep.allowed_stress(material, T)


def test_fireclay_does_not_creep() -> None:
    stress = creep.allowed_stress("fireclay", np.full(3, 1300.0))
    np.testing.assert_array_equal(creep.sag_thickness(5000.0, 0.2, stress), np.zeros(3))


def test_datasheet_goes_on_beyond_its_points() -> None:
    inside = creep.strength_1_4835(np.array([1050.0, 1100.0]) + KELVIN)
    outside = float(creep.strength_1_4835(1150 + KELVIN))
    assert outside == pytest.approx(float(inside[1] ** 2 / inside[0]))
    assert creep.strength_1_4835(850 + KELVIN) == pytest.approx(13.0e6 * 13.0 / 9.6)


def test_a_long_floor_needs_more_than_a_square_one() -> None:
    # clamped plates, even load: 0.308 square, 0.4974 at 2 to 1, 0.5 endless (plate tables, memory)
    square, double, endless = (creep.sag_thickness(1e3, 0.1, 1e7, long) for long in (0.1, 0.2, 5.0))
    assert (double / square) ** 2 == pytest.approx(0.4974 / 0.308)
    assert (endless / square) ** 2 == pytest.approx(0.5 / 0.308)
    assert creep.sag_thickness(1e3, 0.2, 1e7, 0.1) == pytest.approx(float(double))  # sides in either order


@given(st.floats(0.0, 1e4), st.floats(1.0, 3.0), st.floats(0.02, 0.5), st.floats(1.0, 2.0))
def test_more_load_or_span_never_needs_less(load: float, heavier: float, side: float, wider: float) -> None:
    least = creep.sag_thickness(load, side, 1e7)
    assert least <= creep.sag_thickness(load * heavier, side, 1e7)
    assert least <= creep.sag_thickness(load, side * wider, 1e7)


@pytest.mark.parametrize(
    ("new_mm", "sag_mm", "expendable", "done_mm"),
    [
        (1.5, 0.0, False, 0.5),
        (3.0, 0.0, False, 0.75),
        (3.0, 0.9, False, 0.9),
        (3.0, 0.0, True, 0.5),
        (3, 0.9, True, 0.9),
    ],
)
def test_retire_at(new_mm: float, sag_mm: float, expendable: bool, done_mm: float) -> None:
    # judgement: 0.5 mm for tightness, a quarter in reserve, the sag limit where nothing carries the floor
    assert 1e3 * creep.retire_at(new_mm / 1e3, sag_mm / 1e3, expendable) == pytest.approx(done_mm)


def test_share_of_the_budget() -> None:
    share = creep.used_share(np.array([3e-3, 3e-3, 0.4e-3]), np.array([0.0, 1.25e-3, 0.1e-3]), 0.5e-3)
    np.testing.assert_allclose(share, [0.0, 0.5, np.inf])
