"""Diffusivity of carbon."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import diffusivity as diff

temperatures = st.floats(1073.0, 1473.0)


def test_austenite_is_the_published_one() -> None:
    # Agren 1986 at 927 degC, 0.1 / 0.4 / 0.8 / 1.2 % C
    d = diff.austenite(np.array([0.001, 0.004, 0.008, 0.012]), 927 + 273.15)
    assert 1e12 * d == pytest.approx([9.7045, 13.293, 19.991, 29.757], rel=1e-3)


def test_without_carbon_only_the_arrhenius_term_is_left() -> None:
    assert diff.austenite(0.0, 1300.0) == pytest.approx(4.53e-7 * np.exp(-(1 / 1300.0 - 2.221e-4) * 17767.0), rel=1e-12)


@given(st.floats(0.0, 0.015), st.floats(0.0, 0.015), temperatures)
def test_rises_with_carbon(w1: float, w2: float, T: float) -> None:
    low, high = sorted((w1, w2))
    assert diff.austenite(low, T) <= diff.austenite(high, T)


@given(st.floats(0.0, 0.015), temperatures, temperatures)
def test_rises_with_heat(w: float, t1: float, t2: float) -> None:
    low, high = sorted((t1, t2))
    assert diff.austenite(w, low) <= diff.austenite(w, high)
    assert diff.ferrite(low) <= diff.ferrite(high)


def test_coefficients_give_the_same_and_leave_the_carbon_alone() -> None:
    w = np.linspace(0.0, 0.015, 2 * 3 * 5).reshape(2, 3, 5)
    T = np.array([1173.15, 1323.15]).reshape(2, 1, 1)
    before = w.copy()
    np.testing.assert_array_equal(diff.austenite_at(w, diff.austenite_coefficients(T)), diff.austenite(w, T))
    np.testing.assert_array_equal(w, before)


def test_one_profile_under_many_temperatures() -> None:
    assert diff.austenite(np.linspace(0, 0.01, 4), np.full((3, 1), 1300.0)).shape == (3, 4)


def test_ferrite_is_far_quicker_than_austenite() -> None:
    # about 70 times at 850 degC and 0.1 % C
    assert 60 < diff.ferrite(1123.15) / diff.austenite(0.001, 1123.15) < 80


def test_phosphorus_figures_are_ten_apart_and_slow() -> None:
    low, high = diff.phosphorus(1273.15)
    assert (low, high) == (pytest.approx(3.0e-15, rel=0.03), pytest.approx(3.2e-14, rel=0.03))
    assert high < 0.002 * diff.austenite(0.004, 1273.15)


def test_handbook_depth_goes_as_the_root_of_time() -> None:
    one, four = diff.handbook_depth(1200.0, np.array([3600.0, 4 * 3600.0]))
    assert four == pytest.approx(2.0 * one, rel=1e-12)
