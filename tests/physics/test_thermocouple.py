"""Thermocouples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import thermocouple as tc

KELVIN = 273.15
kinds = st.sampled_from(("K", "N", "S", "R"))
grades = st.sampled_from(("1", "2", "standard", "special"))


@pytest.mark.parametrize(
    ("kind", "grade", "celsius", "expected"),
    [
        ("K", "2", 1050, 7.875),
        ("S", "2", 1050, 2.625),
        ("K", "1", 1000, 4.0),
        ("S", "1", 1100, 1.0),
        ("R", "1", 1200, 1.3),
    ],
)
def test_tolerance_of_the_standard(kind: tc.Kind, grade: tc.Grade, celsius: float, expected: float) -> None:
    # IEC 60584-1
    assert tc.tolerance(kind, grade, celsius + KELVIN) == pytest.approx(expected, abs=1e-9)


def test_tolerance_of_the_american_standard() -> None:
    # ASTM E230: K 2.2 or 0.75 %, special 1.1 or 0.4 %; S 1.5 or 0.25 %, special 0.6 or 0.1 %, at 1000 degC
    values = [float(tc.tolerance(k, g, 1273.15)) for k in ("K", "S") for g in ("standard", "special")]  # type: ignore[arg-type]
    assert values == pytest.approx([7.5, 4.0, 2.5, 1.0])


def test_cold_couple_has_the_fixed_figure() -> None:
    assert tc.tolerance("K", "2", 293.15) == 2.5
    assert tc.tolerance("N", "1", 293.15) == 1.5


@given(kinds, grades, st.floats(273.15, 1600.0), st.floats(273.15, 1600.0))
def test_hotter_is_never_surer(kind: tc.Kind, grade: tc.Grade, t1: float, t2: float) -> None:
    low, high = sorted((t1, t2))
    assert 0.0 < tc.tolerance(kind, grade, low) <= tc.tolerance(kind, grade, high)


def test_range_of_the_standard_ends_below_a_hot_soak_for_class_1() -> None:
    low, high = tc.valid_k("K", "1")
    assert (low - KELVIN, high - KELVIN) == pytest.approx((-40.0, 1000.0))
    assert tc.valid_k("S", "2")[1] == pytest.approx(1600.0 + KELVIN)


def test_unknown_couple_is_refused() -> None:
    with pytest.raises(ValueError, match="type 'J', class '2': write K, N, S or R and 1, 2, standard or special"):
        tc.tolerance("J", "2", 1000.0)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="type 'K', class '7'"):
        tc.valid_k("K", "7")  # type: ignore[arg-type]


def test_lag_of_the_table() -> None:
    # worked out apart: 8 mm ceramic 15 and 143 s at 1050 and 300 degC; 3 mm metal 74, 18, 8 s at 300, 700, 1050 degC
    assert tc.sheath_lag(np.array([1050.0, 300.0]) + KELVIN, 0.008) == pytest.approx([15.0, 143.0], rel=0.025)
    metal = tc.sheath_lag(np.array([300.0, 700.0]) + KELVIN, 0.003, "metal")
    assert metal == pytest.approx([74.0, 18.0], rel=0.03)


@given(st.floats(293.0, 1400.0), st.floats(0.002, 0.02))
def test_lag_goes_with_thickness_and_falls_with_heat(T: float, d: float) -> None:
    assert tc.sheath_lag(T, 2 * d) == pytest.approx(2 * float(tc.sheath_lag(T, d)), rel=1e-12)
    assert tc.sheath_lag(T + 10.0, d) < tc.sheath_lag(T, d)
