"""The gas over charcoal."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import gas

KELVIN = 273.15


def test_constant_is_the_published_one() -> None:
    # NASA polynomials for C, CO and CO2: 53.0 bar at 927 degC, 253.5 bar at 1050 degC
    np.testing.assert_allclose(gas.boudouard_k(np.array([927.0, 1050.0]) + KELVIN), [53.02, 253.51], rtol=0.01)


def test_much_pressure_makes_co2_and_none_makes_co() -> None:
    assert gas.co_share(1200.0, p=1e-9) == pytest.approx(1.0, abs=1e-9)
    assert gas.co_share(1200.0, p=1e9) < 1e-3


@given(st.floats(900.0, 1450.0), st.floats(0.01, 1.1), st.floats(0.05, 2.0))
def test_gas_in_balance_has_the_activity_asked(T: float, a: float, p: float) -> None:
    share = float(gas.co_share(T, a, p))
    assert 0.0 < share < 1.0
    # near 1 the CO2 is a small difference, so the tolerance follows it
    assert gas.carbon_activity(T, share * p, (1.0 - share) * p) == pytest.approx(a, rel=1e-10 / (1.0 - share))


def test_sealed_air_is_close_to_the_constant_used() -> None:
    assert float(gas.sealed_air_co()) == pytest.approx(0.347, abs=0.0005)
    assert gas.SEALED_AIR_CO.value == pytest.approx(float(gas.sealed_air_co()), abs=0.005)


def test_co_in_a_room_is_a_share_of_its_volume() -> None:
    mol_of_100_litres = 101325.0 * 0.1 / (gas.R * 293.15)
    assert gas.co_ppm(mol_of_100_litres, 50.0) == pytest.approx(2000.0, rel=1e-12)


def test_shapes_broadcast() -> None:
    assert gas.co_share(np.full((4, 1), 1200.0), np.full(3, 0.9)).shape == (4, 3)
