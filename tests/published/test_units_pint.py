"""soak.units against pint's own full registry and against exact definitions.

Definitions: SI Brochure (9th edition, BIPM) for degC = K - 273.15, h, d, litre; the international yard and pound
(1959) for 1 in = 25.4 mm, 1 lb = 0.45359237 kg. Fahrenheit: t(degF) = 9/5 t(degC) + 32.
"""

import pint
import pytest

from soak import units


@pytest.fixture(scope="module")
def full():
    return pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize(
    ("read", "number", "ours", "theirs", "wanted"),
    [
        (units.length_m, 3.7, "in", "inch", "meter"),
        (units.length_m, 3.7, "ft", "foot", "meter"),
        (units.length_m, 3.7, "um", "micrometer", "meter"),
        (units.temperature_c, 1750.0, "degF", "degree_Fahrenheit", "degree_Celsius"),
        (units.temperature_c, 1300.0, "K", "kelvin", "degree_Celsius"),
        (units.difference_c, 20.0, "degF", "delta_degree_Fahrenheit", "delta_degree_Celsius"),
        (units.rate_c_per_h, 5.0, "degC/min", "delta_degree_Celsius / minute", "delta_degree_Celsius / hour"),
        (units.rate_c_per_h, 450.0, "degF/h", "delta_degree_Fahrenheit / hour", "delta_degree_Celsius / hour"),
        (units.hours, 1.3, "d", "day", "hour"),
        (units.share, 0.85, "%", "percent", "dimensionless"),
        (units.share, 85.0, "ppm", "ppm", "dimensionless"),
        (units.mass_kg, 2.2, "lb", "pound", "kilogram"),
        (units.mass_kg, 5.0, "oz", "ounce", "kilogram"),
        (units.speed_m_s, 4.5, "mm/h", "millimeter / hour", "meter / second"),
        (units.density_kg_m3, 14.3, "lb/ft3", "pound / foot ** 3", "kilogram / meter ** 3"),
        (units.density_kg_m3, 230.0, "g/l", "gram / liter", "kilogram / meter ** 3"),
        (units.power_w, 3.6, "kW", "kilowatt", "watt"),
    ],
)
def test_same_as_the_full_registry(full, read, number, ours, theirs, wanted):
    expected = full.Quantity(number, theirs).to(wanted).magnitude
    assert read(f"{number} {ours}") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("read", "text", "exact"),
    [
        (units.length_m, "1 in", 0.0254),
        (units.length_m, "1 ft", 0.3048),
        (units.mass_kg, "1 lb", 0.45359237),
        (units.mass_kg, "16 oz", 0.45359237),
        (units.temperature_c, "273.15 K", 0.0),
        (units.temperature_c, "212 degF", 100.0),
        (units.temperature_c, "32 degF", 0.0),
        (units.temperature_c, "0 K", -273.15),
        (units.hours, "1 d", 24.0),
        (units.hours, "3600 s", 1.0),
        (units.density_kg_m3, "1 g/l", 1.0),
    ],
)
def test_definitions_exactly(read, text, exact):
    assert read(text) == exact


def test_the_trap_this_module_exists_for(full):
    """Pint alone takes the C of "950 C" for coulomb; if that ever changes, the comment in units.py should too."""
    assert full.Quantity("950 C").dimensionality == full.coulomb.dimensionality
