"""The surface law."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import surface
from soak.physics.gas import ATM, boudouard_k

temperatures = st.floats(1050.0, 1400.0)
pressures = st.floats(0.05, 1.2)


@pytest.mark.parametrize(("celsius", "bed", "whole"), [(950.0, 0.0912, 0.0875), (1050.0, 0.350, 0.304)])
def test_thick_bed_of_clean_charcoal(celsius: float, bed: float, whole: float) -> None:
    # worked out apart from this code, per atm; a vanishing grain leaves the bed alone
    T = celsius + 273.15
    assert ATM * surface.conductance(T, 1.0, 1.0, 1.0, 1e-9, 10.0) == pytest.approx(bed, rel=0.002)
    assert ATM * surface.conductance(T, 1.0, 1.0, 1.0, 0.004, 10.0) == pytest.approx(whole, rel=0.002)


def test_thin_bed_gives_what_its_charcoal_can() -> None:
    # depth far below the reaction length: G = k_v depth
    T, depth = 1123.15, 1e-5
    g = surface.conductance(T, 1.0, 1.0, 1.0, 1e-9, depth)
    assert g == pytest.approx(float(surface.char_rate(T, 1.0)) * depth, rel=1e-5)


def test_any_catalyst_stops_at_the_gap() -> None:
    T = 1323.15
    film = 1.6e-5 * (T / 273.15) ** 1.75 * 1e5 / (8.314462618 * T) / (0.004 / 4)
    assert surface.conductance(T, 1.0, 1e12, 1.0, 0.004, 10.0) == pytest.approx(film, rel=1e-4)


@given(
    temperatures, pressures, st.floats(0.5, 30.0), st.floats(0.1, 10.0), st.floats(0.001, 0.01), st.floats(0.002, 0.05)
)
def test_more_of_what_helps_helps(T: float, pco: float, f: float, factor: float, grain: float, depth: float) -> None:
    g = surface.conductance(T, pco, f, factor, grain, depth)
    assert g > 0.0
    assert surface.conductance(T, pco, 2 * f, factor, grain, depth) > g
    assert surface.conductance(T, pco, f, 2 * factor, grain, depth) > g
    assert surface.conductance(T, pco, f, factor, 2 * grain, depth) < g
    assert surface.conductance(T, pco, f, factor, grain, 2 * depth) >= g
    assert surface.conductance(T + 10, pco, f, factor, grain, depth) > g
    assert surface.conductance(T, 1.1 * pco, f, factor, grain, depth) < g  # CO holds the charcoal back


def test_flux_of_a_known_case() -> None:
    # G 0.3, 1050 degC, pCO 1 bar, a 0.5: 0.3/253.45*(1/0.5 - 1) mol/(m2 s)
    j, slope = surface.carbon_flux(0.3, 1323.15, 1.0, np.log(0.5))
    assert j == pytest.approx(0.3 / 253.45, rel=1e-4)
    assert slope == pytest.approx(-2 * 0.3 / 253.45, rel=1e-4)


@given(temperatures, pressures)
def test_no_flux_at_the_balance(T: float, pco: float) -> None:
    j, slope = surface.carbon_flux(0.3, T, pco, 0.0)
    if pco < boudouard_k(T):  # the balance asks less CO2 than there is CO
        assert j == pytest.approx(0.0, abs=1e-15)
        assert slope < 0.0


def test_carbon_free_iron_cannot_ask_more_co2_than_there_is_co() -> None:
    T, pco = 1223.15, 0.35
    j, slope = surface.carbon_flux(0.1, T, pco, np.array([-40.0, -20.0]))
    limit = 0.1 * (pco - pco**2 / float(boudouard_k(T)))
    assert j == pytest.approx([limit, limit], rel=1e-12)
    assert np.all(slope == 0.0)


@given(temperatures, pressures, st.floats(-12.0, 0.3))
def test_flux_falls_with_activity_and_its_slope_is_right(T: float, pco: float, ln_a: float) -> None:
    h = 1e-5
    (low, _), (j, slope), (high, _) = (surface.carbon_flux(0.2, T, pco, ln_a + d) for d in (-h, 0.0, h))
    assert high <= j <= low
    kink = np.log(pco) - np.log(boudouard_k(T))
    if abs(ln_a - kink) > 2 * h:
        assert slope == pytest.approx(float((high - low) / (2 * h)), rel=1e-4, abs=1e-9)


def test_no_co_no_carbon() -> None:
    j, slope = surface.carbon_flux(0.3, 1300.0, 0.0, -1.0)
    assert (float(j), float(slope)) == (0.0, 0.0)


def test_shapes_broadcast() -> None:
    T, pco = np.full((64, 1), 1300.0), np.linspace(0.3, 1.0, 64).reshape(64, 1)
    g = surface.conductance(T, pco, 3.0, np.ones((64, 1)), 0.004, np.array([[0.012, 0.02]]))
    j, slope = surface.carbon_flux(g, T, pco, np.full((64, 2), -0.7))
    assert g.shape == j.shape == slope.shape == (64, 2)
