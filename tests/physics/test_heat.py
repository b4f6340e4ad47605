"""Heat in the charge."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import heat

KELVIN = 273.15


def test_conductivity_of_a_4_mm_bed() -> None:
    # Zehner-Bauer-Schluender, W/m/K at 20, 600, 900 and 1050 degC
    k = heat.pack_conductivity(np.array([20.0, 600.0, 900.0, 1050.0]) + KELVIN)
    assert k == pytest.approx([0.0705, 0.324, 0.530, 0.654], rel=0.02)


def test_other_grains_within_the_fit() -> None:
    # the same model at 1050 degC, 1, 2, 6 and 10 mm; the fit claims 9 %
    k = heat.pack_conductivity(1050 + KELVIN, np.array([0.001, 0.002, 0.006, 0.010]))
    assert k == pytest.approx([0.398, 0.504, 0.778, 1.00], rel=0.09)


@given(st.floats(293.0, 1400.0), st.floats(0.001, 0.009))
def test_conductivity_rises_with_heat_and_grain(T: float, grain: float) -> None:
    k = heat.pack_conductivity(T, grain)
    assert k > 0.0
    assert heat.pack_conductivity(T + 5.0, grain) > k
    assert heat.pack_conductivity(T, grain * 1.1) > k


def test_heat_capacities_at_their_points() -> None:
    # graphite by NASA polynomials 1731 at 900 K; mild steel 1400 at the change to austenite
    assert heat.charcoal_heat(np.array([298.0, 900.0, 1323.0])) == pytest.approx([850.0, 1731.0, 1931.0])
    assert heat.steel_heat(np.array([20.0, 727.0, 900.0]) + KELVIN) == pytest.approx([450.0, 1400.0, 620.0])


@pytest.mark.parametrize(("celsius", "kilojoule"), [(700.0, 417.0), (950.0, 643.0)])
def test_enthalpy_of_iron(celsius: float, kilojoule: float) -> None:
    # pure iron from 25 degC (NASA polynomials), kJ/kg
    T = np.linspace(25.0, celsius, 5001) + KELVIN
    assert np.trapezoid(heat.steel_heat(T), T) / 1e3 == pytest.approx(kilojoule, rel=0.03)


def test_heat_to_bring_steel_to_1050() -> None:
    # pure iron by NASA polynomials: 709 J/kg/K on average from 25 to 1050 degC; the table is 4 % low
    T = np.linspace(298.15, 1323.15, 5001)
    assert np.trapezoid(heat.steel_heat(T), T) / 1025.0 == pytest.approx(709.0, rel=0.05)


def test_sinks_hold_the_heat_they_should() -> None:
    T = np.linspace(250.0, 1400.0, 23001)
    assert np.trapezoid(heat.lime_sink(T), T) == pytest.approx(3.39e6, rel=1e-6)
    assert np.trapezoid(heat.water_sink(T), T) == pytest.approx(2.26e6, rel=1e-6)
    assert T[np.argmax(heat.lime_sink(T))] == pytest.approx(1083.0)
    assert T[np.argmax(heat.water_sink(T))] == pytest.approx(373.15)


def test_exchange_of_the_worked_case() -> None:
    # oven 1050, wall 1000 degC, emissivities 0.8, area ratio 0.3: 19.0 kW/m2
    assert 50.0 * heat.wall_exchange(1323.15, 1273.15) == pytest.approx(19.0e3, rel=0.01)


def test_black_wall_in_a_large_oven_is_plain_radiation() -> None:
    h = heat.wall_exchange(1300.0, 1300.0, 1.0, 1.0, 0.0)
    assert h - heat.CONVECTION.value == pytest.approx(4.0 * heat.SIGMA * 1300.0**3, rel=1e-12)


@given(st.floats(293.0, 1400.0), st.floats(293.0, 1400.0), st.floats(0.3, 1.0))
def test_exchange_is_positive_and_bounded_by_a_black_wall(oven: float, wall: float, emissivity: float) -> None:
    h = heat.wall_exchange(oven, wall, emissivity)
    assert heat.CONVECTION.value < h <= heat.wall_exchange(oven, wall, 1.0) * (1 + 1e-12)


def test_shape_rule() -> None:
    # eigenvalues 4.935, 5.783, 7.402: square 1.083, cube 0.884 half widths
    assert heat.equivalent_radius(1.0, 1.0) == pytest.approx(1.083, rel=0.005)
    assert heat.equivalent_radius(1.0, 1.0, 1.0) == pytest.approx(0.884, rel=0.005)


def test_a_slab_is_set_by_its_thickness() -> None:
    assert heat.equivalent_radius(0.05, 1e6) == pytest.approx(float(heat.equivalent_radius(0.05)), rel=1e-9)


def test_shape_needs_a_width() -> None:
    with pytest.raises(ValueError, match="give one to three half widths in metres"):
        heat.equivalent_radius()


def test_air_is_used_up_with_the_known_heat() -> None:
    # a litre a minute: carbon to CO2 61 W, to CO 34 W, iron 83 W (heats of formation)
    watts = [heat.air_heat(r) / 1000 / 60 for r in ("carbon to CO2", "carbon to CO", "iron to FeO")]
    assert watts == pytest.approx([61.0, 34.0, 83.0], rel=0.03)
    assert heat.air_for_carbon("carbon to CO") == pytest.approx(heat.air_for_carbon("carbon to CO2") / 2)
