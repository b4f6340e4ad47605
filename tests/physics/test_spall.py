"""The wall's segments: what falls, what grows, what a weighing teaches."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import scaling, spall

KELVIN = 273.15
growths = st.floats(1e-12, 1e-6)
fractions = st.floats(0.0, 1.0)


def _listed(k_dt: list[float], fraction: float) -> float:
    """The published algorithm as it is written, on a list of any length: mean loss."""
    segments, gone = [(1.0, 0.0)], 0.0
    for k in k_dt:
        segments = sorted(((a, q + k) for a, q in segments), key=lambda s: -s[1])
        left, kept = fraction, []
        for a, q in segments:
            taken = min(a, left)
            left -= taken
            gone += taken * q**0.5
            if a - taken > 1e-9:
                kept.append((a - taken, q))
        segments = [*kept, (fraction, 0.0)]
    return gone + sum(a * q**0.5 for a, q in segments)


def test_equal_soaks_settle_at_the_root_of_the_fraction() -> None:
    # interfacial model with a constant area fraction (Smialek 2003, seen): steady loss per soak sqrt(F)
    f = np.array([1.0, 0.5, 0.25, 0.1])
    wall = spall.bare(4)
    for _ in range(200):
        before, wall = spall.mean_loss(wall), spall.spall(spall.grow(wall, 1.0), f)
    assert spall.mean_loss(wall) - before == pytest.approx(np.sqrt(f), rel=1e-9)


def test_without_spalling_it_is_one_parabola() -> None:
    wall = spall.bare(1)
    for _ in range(9):
        wall = spall.spall(spall.grow(wall, 4e-8), 0.0)
    assert spall.mean_loss(wall) == pytest.approx(3 * 2e-4)
    assert spall.thickest_loss(wall) == pytest.approx(3 * 2e-4)


def test_with_full_spalling_losses_add_up() -> None:
    wall = spall.bare(1, gone=1e-3)
    for k in (1e-8, 4e-8, 9e-8):
        wall = spall.spall(spall.grow(wall, k))
    assert spall.mean_loss(wall) == pytest.approx(1e-3 + 6e-4)
    assert spall.thickest_loss(wall) == pytest.approx(1e-3 + 6e-4)
    assert wall.square.sum() == 0.0


def test_the_thickest_falls_first() -> None:
    wall = spall.spall(spall.grow(spall.bare(1), 1.0), 0.5)  # half bare, half with 1
    wall = spall.spall(spall.grow(wall, 3.0), 0.5)  # the old half, with 2, falls; the other keeps sqrt(3)
    assert spall.mean_loss(wall) == pytest.approx(0.5 * 2.0 + 0.5 * (1.0 + 3.0**0.5))
    assert spall.thickest_loss(wall) == pytest.approx(1.0 + 3.0**0.5)
    assert sorted(wall.square[wall.area > 0]) == pytest.approx([0.0, 3.0])


@given(st.lists(growths, min_size=1, max_size=40), st.floats(0.1, 1.0))
def test_a_fixed_number_of_segments_is_enough(k_dt: list[float], fraction: float) -> None:
    wall = spall.bare(1)
    for k in k_dt:
        wall = spall.spall(spall.grow(wall, k), fraction)
    assert spall.mean_loss(wall) == pytest.approx(_listed(k_dt, fraction), rel=1e-6)


@given(st.lists(st.tuples(growths, fractions), max_size=40), st.integers(2, 12))
def test_falling_moves_metal_and_makes_none(soaks: list[tuple[float, float]], segments: int) -> None:
    wall, before = spall.bare(1, segments=segments), 0.0
    for k, f in soaks:
        grown = spall.grow(wall, k)
        wall = spall.spall(grown, f)
        assert wall.area.sum() == pytest.approx(1.0)
        assert (wall.area >= 0.0).all()
        mean = float(spall.mean_loss(wall)[0])
        assert mean == pytest.approx(float(spall.mean_loss(grown)[0]), rel=1e-9)
        assert before <= mean
        assert mean <= spall.thickest_loss(wall)[0] * (1 + 1e-9)
        before = mean


@given(
    st.lists(st.tuples(growths, st.floats(1.0, 3.0)), min_size=1, max_size=30),
    st.floats(0.1, 1.0),
    st.integers(1, 10),
)
def test_more_heat_and_more_soaks_never_lose_less(
    soaks: list[tuple[float, float]], fraction: float, extra: int
) -> None:
    wall = spall.bare(2)  # the second member is hotter in every soak
    for k, more in [*soaks, *[(soaks[0][0], 1.0)] * extra]:
        before = spall.mean_loss(wall)
        wall = spall.spall(spall.grow(wall, k * np.array([1.0, more])), fraction)
        assert (spall.mean_loss(wall) >= before).all()
    cool, hot = spall.mean_loss(wall)
    assert cool <= hot * (1 + 1e-9)


@given(st.lists(growths, min_size=1, max_size=20), st.floats(0.1, 1.0), st.floats(0.1, 1.0))
def test_more_falling_never_loses_less(k_dt: list[float], one: float, other: float) -> None:
    wall, f = spall.bare(2), np.array(sorted((one, other)))
    for _ in range(3):  # the same soaks over and over
        for k in [k_dt[0]] * len(k_dt):
            wall = spall.spall(spall.grow(wall, k), f)
    least, most = spall.mean_loss(wall)
    assert least <= most * (1 + 1e-9)


def test_members_do_not_meet() -> None:
    f, k = np.array([1.0, 0.3, 0.0, 0.07]), np.array([1.0, 2.0, 0.5, 3.0])
    walls, alone = spall.bare(4), [spall.bare(1) for _ in f]
    for _ in range(30):
        walls = spall.spall(spall.grow(walls, k), f)
        alone = [spall.spall(spall.grow(w, k[i]), f[i]) for i, w in enumerate(alone)]
    assert spall.mean_loss(walls) == pytest.approx([float(spall.mean_loss(w)[0]) for w in alone])


def _through(celsius: list[float]) -> spall.Wall:
    wall = spall.bare(1)
    for c in celsius:
        wall = spall.step(wall, c + KELVIN, 1e-12, 60.0)
    return wall


@pytest.mark.parametrize(
    ("celsius", "falls"),
    [
        ([20, 699, 20], 0),  # never hot enough
        ([20, 900, 560, 900], 0),  # reloaded hot
        ([20, 900, 540], 1),
        ([20, 900, 540, 20, 100, 20], 1),  # once a cool-down
        ([20, 900, 20, 900, 20], 2),
    ],
)
def test_a_cool_down(celsius: list[float], falls: int) -> None:
    wall, each = _through([float(c) for c in celsius]), 6e-11
    spans = {0: [len(celsius)], 1: [3, len(celsius) - 3], 2: [3, 2]}[falls]
    assert spall.mean_loss(wall) == pytest.approx(sum((n * each) ** 0.5 for n in spans))


def test_only_the_members_that_cool_lose_scale() -> None:
    wall = spall.step(spall.bare(2), np.array([1200.0, 900.0]), 1e-12, 3600.0)  # the second stays below 700 degC
    wall = spall.step(wall, np.array([300.0, 300.0]), 0.0, 60.0)
    assert wall.gone.max(axis=-1) == pytest.approx([6e-5, 0.0])
    assert (wall.square * wall.area).sum(axis=-1) == pytest.approx([0.0, 3.6e-9])
    assert not wall.hot.any()


def test_broken_away_304_reaches_the_conservative_rule() -> None:
    # conservative rule for 304: 4.7 x the greater of K and the breakaway line, from 870 degC
    T = np.linspace(800.0, 1100.0, 61) + KELVIN
    _, high = scaling.rate_bounds("304", T)
    assert 4.7 * scaling.rate("304", T) * spall.breakaway_factor(T, True) == pytest.approx(high)
    np.testing.assert_array_equal(spall.breakaway_factor(T, False), np.ones_like(T))


def test_breakaway_is_a_switch_per_member() -> None:
    # 304 keeps chromia at 850 and forms loose iron oxide at 950 degC (seen); 980 degC tests hold it already
    onset = spall.breakaway_onset(np.array([0.0, 0.5, 1.0]))
    assert onset - KELVIN == pytest.approx([870, 925, 980])
    factor = spall.breakaway_factor(np.full(3, 900 + KELVIN), onset < 900 + KELVIN)
    assert factor[0] > 15
    assert factor[1:] == pytest.approx([1.0, 1.0])


@given(st.floats(1000.0, 1450.0), st.booleans())
def test_breaking_away_never_saves_metal(T: float, broken: bool) -> None:
    assert spall.breakaway_factor(T, broken) >= 1.0


def test_a_burning_fuel_multiplies_the_rate() -> None:
    # 1.6 x kp at 950 degC (Rahmel and Tobolski 1965, seen) is 1.26 in loss
    T = 950 + KELVIN
    dry, wet = (spall.grow(spall.bare(1), scaling.rate("steel", T) * f * 3600.0) for f in (1.0, scaling.wet_factor(T)))
    assert spall.mean_loss(wet) / spall.mean_loss(dry) == pytest.approx(1.6**0.5)


def test_fit_counts_the_law_as_one_weighing() -> None:
    assert spall.fitted_scale([]) == 1.0
    twice = spall.Weighing(2.0, 1.0, 2)
    assert spall.fitted_scale([twice]) == pytest.approx(2.0)
    assert spall.fitted_scale([twice] * 3) == pytest.approx(4.0**0.75)


def test_a_low_fit_waits_for_three_soaks() -> None:
    starved = spall.Weighing(0.1, 1.0, 2)
    assert spall.fitted_scale([starved]) == 0.25
    assert spall.fitted_scale([spall.Weighing(0.1, 1.0, 3)]) == pytest.approx(0.1)
    assert spall.fitted_scale([spall.Weighing(0.1, 1.0, 1)] * 3) == pytest.approx(0.01**0.75)


@given(st.lists(st.floats(0.2, 5.0), min_size=1, max_size=8))
def test_fit_lies_between_the_law_and_the_weighings(ratios: list[float]) -> None:
    scale = spall.fitted_scale([spall.Weighing(r, 1.0, 3) for r in ratios])
    squares = [1.0, *(r * r for r in ratios)]
    assert min(squares) * (1 - 1e-9) <= scale <= max(squares) * (1 + 1e-9)


def test_weighings_narrow_the_doubt() -> None:
    # x 2 read as the 90 % point: 0.54 in ln
    assert spall.scale_sd_ln(0) == pytest.approx(0.541, rel=0.01)
    assert spall.scale_sd_ln(3) == pytest.approx(0.5 * spall.scale_sd_ln(0))


@pytest.mark.parametrize(
    "bad", [spall.Weighing(0.0, 1e-4, 1), spall.Weighing(-1e-4, 1e-4, 1), spall.Weighing(1e-4, 0, 1)]
)
def test_a_canister_that_lost_nothing_is_refused(bad: spall.Weighing) -> None:
    with pytest.raises(ValueError, match="all must be above 0: take off the scale before weighing"):
        spall.fitted_scale([bad])
