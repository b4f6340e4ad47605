"""Scale on the canister, and how hot each material may go."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import scaling

KELVIN = 273.15
materials = st.sampled_from(scaling.MATERIALS)


def test_steel_loses_what_was_worked_out() -> None:
    # Chen and Yuen 2003: kp 6.81e-7 g2/(cm4 s) at 1000 degC; 0.412 mm in 4 h
    assert scaling.oxygen_rate(1000 + KELVIN) == pytest.approx(6.81e-5, rel=0.005)
    assert np.sqrt(scaling.steel_rate(1000 + KELVIN) * 4 * 3600) == pytest.approx(0.412e-3, rel=0.01)


@pytest.mark.parametrize("material", list(scaling.ANCHORS))
def test_alloys_go_through_their_tests(material: str) -> None:
    celsius, k = np.array(scaling.ANCHORS[material]).T
    assert scaling.alloy_rate(material, celsius + KELVIN) * 3600e12 == pytest.approx(k, rel=1e-9)


def test_310_lost_what_the_test_lost() -> None:
    # producer test, 1008 h at 1093 degC in flowing air: 24 um
    assert np.sqrt(scaling.alloy_rate("310", 1093 + KELVIN) * 1008 * 3600) == pytest.approx(24e-6, rel=0.01)


@pytest.mark.parametrize(("low", "high", "q"), [(850.0, 900.0, 250e3), (1160.0, 1190.0, 350e3)])
def test_outside_the_tests_the_activation_energy_is_the_stated_one(low: float, high: float, q: float) -> None:
    T = np.array([low, high]) + KELVIN
    k = scaling.alloy_rate("310", T)
    assert np.log(k[1] / k[0]) * 8.314462618 / (1 / T[0] - 1 / T[1]) == pytest.approx(q, rel=1e-6)


@given(materials, st.floats(300.0, 1500.0), st.floats(300.0, 1500.0))
def test_hotter_is_never_slower(material: str, t1: float, t2: float) -> None:
    low, high = sorted((t1, t2))
    assert 0.0 <= scaling.rate(material, low) <= scaling.rate(material, high)


@given(materials, st.floats(900.0, 1450.0))
def test_central_lies_between_its_bounds(material: str, T: float) -> None:
    low, high = scaling.rate_bounds(material, T)
    assert low <= scaling.rate(material, T) <= high


def test_fireclay_does_not_scale() -> None:
    T = np.full((2, 3), 1300.0)
    np.testing.assert_array_equal(scaling.rate("fireclay", T), np.zeros((2, 3)))
    np.testing.assert_array_equal(scaling.rate_bounds("fireclay", T)[1], np.zeros((2, 3)))


def test_breakaway_of_304_begins_at_870() -> None:
    _, below = scaling.rate_bounds("304", 869 + KELVIN)
    _, above = scaling.rate_bounds("304", 871 + KELVIN)
    assert below == pytest.approx(4.7 * float(scaling.rate("304", 869 + KELVIN)))
    assert above > 20 * below


def test_wet_oven() -> None:
    # Rahmel and Tobolski 1965: 1.0, 1.2, 1.6 at 750, 850, 950 degC; held outside
    T = np.array([600.0, 750.0, 850.0, 950.0, 1100.0]) + KELVIN
    assert scaling.wet_factor(T) == pytest.approx([1.0, 1.0, 1.2, 1.6, 1.6])


def test_unknown_material_is_refused() -> None:
    with pytest.raises(ValueError, match=r"canister material 'lead' has no scaling law; write one of steel, 304, 309"):
        scaling.rate("lead", 1200.0)
    with pytest.raises(ValueError, match="canister material 'lead'"):
        scaling.limits("lead")


def _celsius(material: str, code: str) -> float:
    return next(x.above_K - KELVIN for x in scaling.limits(material) if x.code == code)


@pytest.mark.parametrize(
    ("material", "code", "celsius"),
    [
        ("steel", "canister-hot", 1100),
        ("steel", "canister-melts", 1130),
        ("304", "above-intermittent", 870),
        ("304", "above-continuous", 925),
        ("309", "above-intermittent", 980),
        ("309", "above-continuous", 1093),
        ("310", "above-intermittent", 1035),
        ("310", "above-continuous", 1150),
        ("330", "inside-scale", 1050),
        ("310", "canister-too-hot", 1199),
        ("601", "canister-too-hot", 1250),
        ("fireclay", "canister-too-hot", 1250),
    ],
)
def test_limits_are_the_published_ones(material: str, code: str, celsius: float) -> None:
    # stainless trade tables (seen), metals handbook (memory), judgement: see each Limit
    assert _celsius(material, code) == pytest.approx(celsius)


@pytest.mark.parametrize("material", scaling.MATERIALS)
def test_each_material_is_refused_somewhere_and_coolest_comes_first(material: str) -> None:
    found = scaling.limits(material)
    heights = [x.above_K for x in found]
    assert heights == sorted(heights)
    assert [x.severity for x in found].count("refuse") == 1
    assert max(heights) <= 1250.0 + KELVIN
