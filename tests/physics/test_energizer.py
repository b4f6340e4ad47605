"""What the carbonates do."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import energizer as en

KELVIN = 273.15
names = st.sampled_from(sorted(en.CARBONATES))


def test_lime_gas_reaches_one_atmosphere_where_published() -> None:
    # 893 degC without carbon, 787 degC with (NASA polynomials)
    assert en.lime_pressure(893 + KELVIN) == pytest.approx(1.01325, rel=0.01)
    assert en.lime_carbon_pressure(787.5 + KELVIN) == pytest.approx(1.01325, rel=0.01)


def test_pressures_of_the_table() -> None:
    # atm, NASA and Basu and Searcy: 850 degC CaCO3 0.514, with carbon 2.92; 950 degC BaCO3 with carbon 0.238
    assert en.lime_pressure(850 + KELVIN) / en.ATM == pytest.approx(0.514, rel=0.02)
    assert en.lime_carbon_pressure(850 + KELVIN) / en.ATM == pytest.approx(2.92, rel=0.02)
    assert en.barium_carbon_pressure(950 + KELVIN) / en.ATM == pytest.approx(0.238, rel=0.02)
    assert en.barium_pressure(1000 + KELVIN) / en.ATM == pytest.approx(0.00206, rel=0.02)


def test_lime_is_whole_in_the_cold_and_gone_at_heat() -> None:
    assert en.lime_converted(np.array([293.0, 1083.0, 1323.0])) == pytest.approx([0.0, 0.5, 1.0], abs=1e-4)


@given(st.floats(0.0, 3000.0), st.floats(0.0, 3000.0))
def test_lime_goes_one_way(t1: float, t2: float) -> None:
    low, high = sorted((t1, t2))
    assert 0.0 <= en.lime_converted(low) <= en.lime_converted(high) <= 1.0


def test_gas_and_carbon_by_stoichiometry() -> None:
    assert en.co_per_kg("CaCO3") == pytest.approx(2 / 0.100087)
    assert en.co_per_kg("BaCO3") == pytest.approx(10.1, rel=0.01)
    assert en.co_per_kg("Na2CO3") == pytest.approx(28.3, rel=0.01)
    assert en.co_per_kg("K2CO3") == pytest.approx(21.7, rel=0.01)
    assert en.carbon_per_kg("BaCO3") == pytest.approx(0.061, rel=0.01)


def test_ten_percent_gives_92_percent_of_the_factor() -> None:
    # Afonja: no gain beyond about 10 %
    assert en.catalyst({"CaCO3": 0.10}) == pytest.approx(1 + 2 * 0.918, abs=0.001)
    assert en.catalyst({"K2CO3": 0.10}) == pytest.approx(1 + 9 * 0.918, abs=0.001)


def test_plain_charcoal_is_one() -> None:
    assert en.catalyst({}) == 1.0
    assert en.catalyst({"CaCO3": 0.0}) == 1.0
    assert en.strongest({"CaCO3": 0.0}) is None


def test_the_strongest_rules_and_they_do_not_add() -> None:
    assert en.strongest({"CaCO3": 0.05, "Na2CO3": 0.08}) == "Na2CO3"
    assert en.catalyst({"CaCO3": 0.05, "Na2CO3": 0.08}) == en.catalyst({"Na2CO3": 0.08})


def test_used_pack_is_weaker_but_never_below_half() -> None:
    fresh = en.catalyst({"Na2CO3": 0.10})
    assert en.catalyst({"Na2CO3": 0.10}, reuse=1.0, uses=1) == pytest.approx(0.3 * fresh)
    assert en.catalyst({"BaCO3": 0.10}, reuse=1.0, uses=1) == pytest.approx(0.7 * en.catalyst({"BaCO3": 0.10}))
    assert en.catalyst({"Na2CO3": 0.10}, reuse=0.75, uses=1) == pytest.approx((0.25 + 0.75 * 0.3) * fresh)
    assert en.catalyst({}, reuse=1.0, uses=9) == 0.5


@given(names, st.floats(0.0, 0.5), st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.integers(0, 9))
def test_factor_is_bounded_and_falls_with_reuse(name: str, share: float, r1: float, r2: float, uses: int) -> None:
    low, high = sorted((r1, r2))
    f_low, f_high = en.catalyst({name: share}, low, uses), en.catalyst({name: share}, high, uses)
    assert 0.5 <= f_high <= f_low * (1 + 1e-12)
    assert f_low <= en.CARBONATES[name].factor


def test_alkali_goes_in_ten_hours_at_1050_and_forty_at_1000() -> None:
    tau_h = 1.0 / en.alkali_decay_rate(np.array([1000.0, 1050.0]) + KELVIN) / 3600.0
    assert tau_h == pytest.approx([40.0, 10.0])
    assert en.alkali_decay_rate(949.0 + KELVIN) == 0.0


@given(st.floats(300.0, 1500.0), st.floats(300.0, 1500.0))
def test_alkali_goes_quicker_hotter(t1: float, t2: float) -> None:
    low, high = sorted((t1, t2))
    assert 0.0 <= en.alkali_decay_rate(low) <= en.alkali_decay_rate(high)


def test_only_alkali_boils_away() -> None:
    T = np.full((3, 1), 1323.15)
    assert en.decay_rate({"CaCO3": 0.1, "K2CO3": 0.1}, T) == pytest.approx(en.alkali_decay_rate(T))
    for mix in ({}, {"CaCO3": 0.1}, {"BaCO3": 0.1}):
        np.testing.assert_array_equal(en.decay_rate(mix, T), np.zeros((3, 1)))


def test_barium_loses_half_above_1000() -> None:
    # factor 10 below, 5 above; of f - 1 that is 4/9
    T = np.array([950.0, 1000.0, 1050.0]) + KELVIN
    assert en.heat_factor({"BaCO3": 0.2}, T) == pytest.approx([1.0, (1 + 4 / 9) / 2, 4 / 9])
    assert en.heat_factor({"Na2CO3": 0.2}, T) == pytest.approx([1.0, 1.0, 1.0])


def test_charcoal_needed() -> None:
    # +0.8 % on a kilogram with 75 % fixed carbon is 10.7 g
    assert math.isclose(float(en.charcoal_needed(1.0, 0.008, 0.75)), 0.01067, rel_tol=0.001)


def test_unknown_energizer_is_refused() -> None:
    with pytest.raises(ValueError, match=r"energizer: 'Li2CO3' is not known; write one of CaCO3, Na2CO3, K2CO3, BaCO3"):
        en.catalyst({"Li2CO3": 0.1})
