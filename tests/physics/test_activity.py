"""Carbon activity of austenite, its inverse, and the phase lines."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import activity as act

KELVIN = 273.15
OLD_IRON = act.alloy({"C": 0.0005, "P": 0.003, "Si": 0.002, "Mn": 0.0005, "Cu": 0.0003})
temperatures = st.floats(750.0 + KELVIN, 1200.0 + KELVIN)
carbons = st.floats(1e-4, 0.022)
alloys = st.builds(
    lambda p, si, mn, cr, ni: act.alloy({"P": p, "Si": si, "Mn": mn, "Cr": cr, "Ni": ni}),
    *(
        st.floats(0.0, 0.006),
        st.floats(0.0, 0.005),
        st.floats(0.0, 0.012),
        st.floats(0.0, 0.012),
        st.floats(0.0, 0.012),
    ),
)


@pytest.mark.parametrize(
    ("w", "celsius", "expected"),
    [(0.008, 1050.0, 0.3492), (0.004, 927.0, 0.2279), (0.002, 900.0, 0.1166), (0.012, 1100.0, 0.5185)],
)
def test_activity_of_plain_iron(w: float, celsius: float, expected: float) -> None:
    # Gustafson 1985 as evaluated by an equilibrium program on three database files
    assert np.exp(act.ln_activity(w, celsius + KELVIN, act.IRON)) == pytest.approx(expected, abs=0.0005)


def test_very_little_carbon_is_dilute() -> None:
    # a goes as w when w is small: ten times the carbon, ten times the activity
    low, high = act.ln_activity(np.array([1e-7, 1e-6]), 1300.0, act.IRON)
    assert high - low == pytest.approx(np.log(10.0), abs=1e-4)


def test_no_carbon_is_finite_and_below_anything_real() -> None:
    ln_a = act.ln_activity(np.array([-1e-9, 0.0, 1e-12]), 1300.0, act.IRON)
    assert np.all(np.isfinite(ln_a))
    assert np.all(ln_a < -20.0)


@given(carbons, carbons, temperatures, alloys)
def test_activity_rises_with_carbon(w1: float, w2: float, T: float, alloy: act.Alloy) -> None:
    low, high = sorted((w1, w2))
    step = act.ln_activity(high, T, alloy) - act.ln_activity(low, T, alloy)
    assert step > 0.0 if high > low * (1.0 + 1e-9) else step >= -1e-9


@given(carbons, temperatures, alloys)
def test_slope_is_the_slope(w: float, T: float, alloy: act.Alloy) -> None:
    h = 1e-4 * w
    numeric = (act.ln_activity(w + h, T, alloy) - act.ln_activity(w - h, T, alloy)) / (2.0 * h)
    assert act.ln_activity_slope(w, T, alloy) == pytest.approx(float(numeric), rel=1e-6)


@given(carbons, temperatures, alloys)
def test_inverse_comes_back(w: float, T: float, alloy: act.Alloy) -> None:
    assert act.carbon_at(act.ln_activity(w, T, alloy), T, alloy) == pytest.approx(w, abs=1e-11)


def test_inverse_survives_what_a_solver_may_throw_at_it() -> None:
    w = act.carbon_at(np.array([-1e4, -700.0, -30.0, 0.0, 2.0, 50.0]), 1300.0, act.IRON)
    assert np.all(np.isfinite(w))
    assert np.all(np.diff(w) >= 0.0)
    assert 0.0 <= w[0] < w[3] < w[-1] < 0.2


@given(carbons, alloys)
def test_site_ratio_comes_back(w: float, alloy: act.Alloy) -> None:
    assert act.mass_fraction(act.site_ratio(w, alloy), alloy) == pytest.approx(w, rel=1e-12)


def test_carbon_of_the_composition_does_not_count_as_metal() -> None:
    # the same metal, weighed with and without its carbon
    lean, rich = act.alloy({"P": 0.003}), act.alloy({"C": 0.008, "P": 0.003 * (1.0 - 0.008)})
    assert rich.sites == pytest.approx(lean.sites, rel=1e-12)
    assert rich.a == pytest.approx(lean.a, rel=1e-12)


@pytest.mark.parametrize(
    ("element", "sign"), [("P", 1), ("Si", 1), ("Ni", 1), ("Cu", 1), ("Mn", -1), ("Cr", -1), ("S", 0)]
)
def test_other_elements_push_the_known_way(element: str, sign: int) -> None:
    # signs: Kirkaldy and Baganis 1978 and two open databases; sulphur is not assessed and must do nothing but dilute
    change = act.ln_activity(0.008, 1323.15, act.alloy({element: 0.005})) - act.ln_activity(0.008, 1323.15, act.IRON)
    if sign:
        assert np.sign(change) == sign
        assert abs(change) > 0.01
    else:
        assert abs(change) < 0.01


def test_one_carbon_under_many_temperatures() -> None:
    assert act.ln_activity(np.full((3, 1), 0.005), np.full(4, 1300.0), act.IRON).shape == (3, 4)
    assert act.ln_activity(0.005, np.full(4, 1300.0), act.IRON).shape == (4,)
    assert act.carbon_at(np.full((3, 1), -0.5), np.full(4, 1300.0), act.IRON).shape == (3, 4)


def test_alloys_of_an_ensemble_broadcast() -> None:
    many = act.Alloy(sites=np.full((5, 1, 1), 17.9), a=np.linspace(0, 1000, 2).reshape(1, 2, 1))
    w, T = np.full((5, 2, 7), 0.005), np.full((5, 1, 1), 1300.0)
    ln_a = act.ln_activity(w, T, many)
    assert ln_a.shape == (5, 2, 7)
    assert np.all(ln_a[:, 1] > ln_a[:, 0])
    assert act.carbon_at(ln_a, T, many) == pytest.approx(w, abs=1e-12)


@pytest.mark.parametrize(
    ("composition", "says"),
    [
        ({"Vibranium": 0.01}, "no activity coefficients for 'Vibranium'; known are C, P, Si, Mn, Cr, Ni, Cu, S"),
        ({"P": 0.3, "C": 1.2}, "C = 1.2 is not a mass fraction; write 0.003 for 0.3 %"),
        ({"P": -0.001}, "P = -0.001 is not a mass fraction"),
        ({"P": float("nan")}, "P = nan is not a mass fraction"),
        ({"Mn": 0.4, "Cr": 0.3}, "less than half is left for iron"),
    ],
)
def test_wrong_compositions_are_refused(composition: dict[str, float], says: str) -> None:
    with pytest.raises(ValueError, match=r"^composition: ") as error:
        act.alloy(composition)
    assert says in str(error.value)


def test_lines_at_points_of_the_diagram() -> None:
    # computed with Gustafson 1985 by an equilibrium program: Acm 1.701 % at 1050, A3 0.341 / 0.0120 % at 800 degC
    assert 100 * act.acm(1050 + KELVIN) == pytest.approx(1.701, abs=0.0005)
    assert 100 * act.a3(800 + KELVIN) == pytest.approx(0.341, abs=0.0005)
    assert 100 * act.ferrite_limit(800 + KELVIN) == pytest.approx(0.0120, abs=0.0001)


def test_ferrite_is_gone_above_912() -> None:
    T = np.array([912.0, 950.0, 1050.0, 1150.0]) + KELVIN
    assert np.all(act.a3(T) == 0.0)
    assert np.all(act.ferrite_limit(T) == 0.0)
    assert float(act.a3(911.0 + KELVIN)) > 0.0


@given(st.floats(700.0, 1150.0), st.floats(700.0, 1150.0))
def test_lines_run_one_way(t1: float, t2: float) -> None:
    low, high = sorted((t1, t2))
    assert act.acm(low + KELVIN) <= act.acm(high + KELVIN)
    assert act.a3(low + KELVIN) >= act.a3(high + KELVIN)
    assert act.ferrite_limit(low + KELVIN) >= act.ferrite_limit(high + KELVIN)


def test_cementite_needs_a_little_more_than_graphite() -> None:
    # activity on Acm 1.202, 1.104, 1.049, 1.028, 1.038 at 750, 850, 950, 1050, 1150 degC (equilibrium program)
    a = np.exp(act.ln_activity_cementite(np.array([750.0, 850.0, 950.0, 1050.0, 1150.0]) + KELVIN))
    assert a == pytest.approx([1.202, 1.104, 1.049, 1.028, 1.038], abs=0.001)


def test_phosphorus_asks_carbon_of_the_iron() -> None:
    # Bernhard et al. 2020 as evaluated by an equilibrium program, 0.3 % P at 900 degC: 0.159 para, 0.273 full
    assert 100 * act.single_phase_carbon(900 + KELVIN, 0.003) == pytest.approx(0.159, abs=0.002)
    assert 100 * act.single_phase_carbon(900 + KELVIN, 0.003, "full") == pytest.approx(0.273, abs=0.002)
    assert act.single_phase_carbon(1050 + KELVIN, 0.0005) == 0.0


@given(st.floats(850.0, 1150.0), st.floats(0.0005, 0.006))
def test_full_partition_asks_more_than_none(celsius: float, p: float) -> None:
    para, full = (act.single_phase_carbon(celsius + KELVIN, p, e) for e in ("para", "full"))  # type: ignore[arg-type]
    assert 0.0 <= para <= full < 0.008
