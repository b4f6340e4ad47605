"""Outside checks of scaling and of what a breach or the gas means."""

import csv
from pathlib import Path

import numpy as np
import pytest

from soak.physics import energizer, gas, heat, scaling

KELVIN = 273.15
HOUR = 3600.0
DATA = Path(__file__).parent / "data"


def _ramp(low: float, high: float, rate_c_per_h: float) -> float:
    """Integral of K over a straight ramp, m2."""
    celsius = np.linspace(low, high, 4001)
    return float(np.trapezoid(scaling.steel_rate(celsius + KELVIN), celsius)) / rate_c_per_h * HOUR


def _loss(material: str, celsius: float, hours: float) -> float:
    return float(np.sqrt(scaling.rate(material, celsius + KELVIN) * hours * HOUR))


def test_rate_at_1000() -> None:
    # C1: 6.81e-7 g2/(cm4 s)
    assert scaling.oxygen_rate(1000 + KELVIN) / 100 == pytest.approx(6.81e-7, rel=0.005)


def test_four_hours_at_1000() -> None:
    # C2: 99.0 mg/cm2 oxygen, 0.412 mm metal, 0.746 mm scale
    w = np.sqrt(scaling.oxygen_rate(1000 + KELVIN) * 4 * HOUR)  # kg/m2; 1 kg/m2 is 100 mg/cm2
    assert 100 * w == pytest.approx(99.0, rel=0.01)
    assert 1e3 * _loss("steel", 1000, 4) == pytest.approx(0.412, rel=0.01)
    assert 1e3 * w / scaling.SCALE_OXYGEN.value == pytest.approx(0.746, rel=0.01)


def test_measured_scale_lies_between_central_and_high() -> None:
    # C3: thermobalance, 5 K/min to 1000 degC, 15 min, 5 K/min down: 401 um porous (Materials 18 (2025) 2463, seen)
    k_t = 2 * _ramp(300, 1000, 300) + float(scaling.steel_rate(1000 + KELVIN)) * 900
    dense, twice = (1.81e6 * np.sqrt(n * k_t) for n in (1.0, 2.0))
    assert (dense, twice) == pytest.approx((317, 449), rel=0.01)
    assert dense < 401 < twice


def test_another_model_within_a_third() -> None:
    # C4: 670.6 um of scale for 135 min at 1000 degC in the model quoted by the same paper (reading of the time ours)
    assert 1.81e6 * _loss("steel", 1000, 2.25) == pytest.approx(670.6, rel=0.30)


def test_stanley_within_a_factor_two() -> None:
    # C5: 0.37 exp(-33000 cal/RT) at 900 degC = 2.63e-7 (seen, unit taken), against 1.74e-7
    ours = float(scaling.oxygen_rate(900 + KELVIN)) / 100
    stanley = 0.37 * np.exp(-33000 / (1.987 * (900 + KELVIN)))
    assert ours == pytest.approx(1.74e-7, rel=0.01)
    assert stanley / ours == pytest.approx(1.5, rel=0.03)


def test_two_steps() -> None:
    # C6: 2 h at 900, 1 h at 1000 degC from bare metal
    k_t = float(scaling.steel_rate(900 + KELVIN)) * 2 * HOUR + float(scaling.steel_rate(1000 + KELVIN)) * HOUR
    assert 1e3 * np.sqrt(k_t) == pytest.approx(0.253, rel=0.01)


def test_with_ramps() -> None:
    # C7: 200 K/h to 1000 degC, 4 h, 200 K/h down
    k_t = 2 * _ramp(20, 1000, 200) + float(scaling.steel_rate(1000 + KELVIN)) * 4 * HOUR
    assert 1e3 * np.sqrt(k_t) == pytest.approx(0.447, rel=0.01)


@pytest.mark.parametrize(
    ("material", "celsius", "cycles", "model", "measured", "low", "high"),
    [
        ("310", 980, 2000, 401, 406, 0.7, 1.3),  # C9
        ("330", 1090, 1000, 445, 391, 0.7, 1.3),  # C10
        ("800H", 980, 2000, 1069, 582, 0.5, 2.0),  # C11: the reading is conservative by 1.8
    ],
)
def test_half_hour_cycles_of_a_burner_rig(
    material: str, celsius: float, cycles: int, model: float, measured: float, low: float, high: float
) -> None:
    # producer burner rig, 0.3 Mach, cooled every 30 min (seen), um; the model lets all scale fall at every cycle. The
    # model figures were worked out with the constants at 982 and 1093 degC, 2 to 3 K hotter than the rig: 3 % apart
    ours = 1e6 * cycles * _loss(material, celsius, 0.5)
    assert ours == pytest.approx(model, rel=0.03)
    assert low < ours / measured < high


def test_304_in_one_long_test() -> None:
    # C12: 982 degC, 1008 h, no scale lost: 193 um with K = 37; measured 140 lost, 206 affected (seen)
    ours = 1e6 * _loss("304", 982, 1008)
    assert 1e6 * _loss("304", 980, 1008) == pytest.approx(193, rel=0.01)
    assert ours == pytest.approx(140, rel=0.50)
    assert ours == pytest.approx(206, rel=0.50)


def test_310_is_calibrated() -> None:
    # C14
    assert 1e6 * _loss("310", 1093, 1008) == pytest.approx(24, rel=0.05)


def test_soaks_of_a_steel_box() -> None:
    # C15: 3 mm wall down to 0.5 mm, 4 h at 1000 degC, all scale lost each time: 6 by the mean, 2 with all cautions
    _, high = scaling.rate_bounds("steel", 1000 + KELVIN)
    assert int(2.5e-3 / _loss("steel", 1000, 4)) == 6
    assert int(2.5e-3 / (scaling.LOCAL.value * np.sqrt(high * 4 * HOUR))) == 2


def test_wet_oven() -> None:
    # C16: Rahmel and Tobolski 1965 (seen)
    assert scaling.wet_factor(np.array([850.0, 950.0]) + KELVIN) == pytest.approx([1.2, 1.6], rel=0.05)


def test_heat_of_air_leaking_in() -> None:
    # C17: W per litre a minute; C18: 8.9 m3 of air and 32.8 MJ for a kilogram of carbon
    watts = [heat.air_heat(r) / 6e4 for r in ("carbon to CO2", "carbon to CO", "iron to FeO")]
    assert watts == pytest.approx([61, 34, 83], rel=0.03)
    air = heat.air_for_carbon("carbon to CO2")
    assert air == pytest.approx(8.9, rel=0.02)
    assert air * heat.air_heat("carbon to CO2") == pytest.approx(32.8e6, rel=0.02)


def test_gas_of_100_g_of_lime() -> None:
    # C19: 44.8 L of CO (STP) when all of it meets carbon
    assert 0.1 * energizer.co_per_kg("CaCO3") * 22.414 == pytest.approx(44.8, rel=0.01)


def test_oxygen_and_heat_of_scaling() -> None:
    # C20: 2000 cm2, 1000 degC, 4 h: 198 g of oxygen, 3.3 MJ, 228 W
    oxygen = 0.2 * float(np.sqrt(scaling.oxygen_rate(1000 + KELVIN) * 4 * HOUR))
    joule = oxygen / 0.015999 * 265e3
    assert 1e3 * oxygen == pytest.approx(198, rel=0.03)
    assert joule == pytest.approx(3.3e6, rel=0.03)
    assert joule / (4 * HOUR) == pytest.approx(228, rel=0.03)


def test_co_in_a_closed_room() -> None:
    # C21: 100 L of CO at room temperature in 50 m3
    mol = 101325 * 0.1 / (8.314462618 * 293.15)
    assert gas.co_ppm(mol, 50.0) == pytest.approx(2000, rel=0.01)


def test_a_gram_lost() -> None:
    # C22: 1 g on 2000 cm2 is 0.64 um
    assert pytest.approx(0.64, rel=0.01) == 1e6 * 1e-3 / scaling.STEEL_DENSITY / 0.2


def test_scale_is_thicker_than_the_metal_it_took() -> None:
    # C25: 1.81
    assert 1 / (scaling.SCALE_OXYGEN.value * scaling.RECESSION.value) == pytest.approx(1.81, rel=0.02)


def _table() -> list[dict[str, str]]:
    lines = [x for x in (DATA / "canister_metal_loss.csv").read_text().splitlines() if not x.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize("material", ["steel", "304", "309", "310", "330", "600", "601", "800H"])
def test_table_of_metal_lost(material: str) -> None:
    # 7 temperatures x 5 times, low, central and high. The table was made from the tests themselves, ours from anchors
    # kept to two figures: that is up to 1 % in loss
    rows = [x for x in _table() if x["material"] == material]
    assert len(rows) == 35
    for row in rows:
        T, seconds = float(row["temperature_c"]) + KELVIN, float(row["hours"]) * HOUR
        low, high = scaling.rate_bounds(material, T)
        for k, column in ((low, "low_mm"), (scaling.rate(material, T), "central_mm"), (high, "high_mm")):
            assert 1e3 * np.sqrt(k * seconds) == pytest.approx(float(row[column]), rel=0.01), (row, column)
