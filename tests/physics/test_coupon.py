"""The mass balance of a soaked piece, forward and back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.physics import coupon

shares = st.floats(0.0, 0.02)


def test_eight_grams_on_a_kilogram() -> None:
    # mass balance: 0.843 %, not the 0.850 % that the first mass would give
    assert coupon.carbon_after(1.0, 0.0005, 0.008) == pytest.approx(0.00843, abs=5e-6)


@given(st.floats(1e-4, 10.0), shares, shares)
def test_taken_and_after_are_inverse(mass: float, start: float, end: float) -> None:
    gained = coupon.carbon_gained(mass, start, end)
    assert coupon.carbon_after(mass, start, gained) == pytest.approx(end, abs=1e-12)


@given(
    st.floats(1e-3, 10.0),
    shares,
    shares,
    st.floats(0.0, 0.03),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1e-5),
    st.floats(0.0, 1e-5),
)
def test_weighing_back_gives_the_carbon_that_was_put_in(
    mass: float, start: float, end: float, feo: float, reduced: float, adhering: float, fallen: float
) -> None:
    gain = coupon.mass_gain(mass, start, end, coupon.slag_oxygen(mass, feo, reduced), adhering, fallen)
    after = mass + float(gain)
    w = coupon.Weighed(
        mass, after, start, 1e-4 * mass, adhering=adhering, fallen=fallen, feo=feo, reduced=reduced, reduced_sd=0.1
    )
    got = coupon.carbon_from(w)
    assert got.carbon == pytest.approx(end, abs=1e-9)
    assert got.if_none - 1e-12 <= got.carbon <= got.if_all + 1e-12
    if feo > 1e-6:
        learnt, _ = coupon.share_reduced(w, end, 1e-4)
        assert learnt == pytest.approx(reduced, abs=1e-4)


@given(st.floats(0.0, 0.03), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_slag_reduced_never_weighs_more(feo: float, one: float, other: float) -> None:
    less, more = sorted((one, other))
    gains = [coupon.mass_gain(1.0, 0.0005, 0.008, coupon.slag_oxygen(1.0, feo, r)) for r in (less, more)]
    assert gains[1] <= gains[0]


def test_nothing_happened() -> None:
    assert coupon.mass_gain(1.0, 0.004, 0.004) == 0.0
    assert coupon.carbon_from(coupon.Weighed(1.0, 1.0, 0.004, 0.0)) == coupon.Assay(0.004, 0.0, 0.004, 0.004)


def test_doubt_is_that_of_many_trials() -> None:
    # the stated sigma against 20 000 random weighings of the same piece; sampling leaves 0.5 %, curvature less
    w = coupon.Weighed(0.05, 0.0503, 0.0005, 5e-6, adhering_sd=8e-6, feo=0.016, reduced=0.5, reduced_sd=0.1)
    rng = np.random.default_rng(1)
    balance, crust, share = rng.normal(size=(3, 20000))
    oxygen = coupon.slag_oxygen(w.before, w.feo, 0.5 + 0.1 * share)
    gained = w.after - w.before + 2**0.5 * 5e-6 * balance - 8e-6 * crust + oxygen
    assert coupon.carbon_from(w).sd == pytest.approx(np.std(coupon.carbon_after(0.05, 0.0005, gained)), rel=0.02)


def test_an_assayed_strip_teaches_the_share() -> None:
    w = coupon.Weighed(1.0, 1.006, 0.0003, 1e-4, feo=0.01625)
    share, sd = coupon.share_reduced(w, 0.0081, 1.5e-4)
    learnt = coupon.Weighed(1.0, 1.006, 0.0003, 1e-4, feo=0.01625, reduced=share, reduced_sd=sd)
    assert coupon.carbon_from(learnt).carbon == pytest.approx(0.0081)
    blind = coupon.Weighed(1.0, 1.006, 0.0003, 1e-4, feo=0.01625, reduced=coupon.REDUCED.value)
    assert coupon.carbon_from(learnt).sd < 0.3 * coupon.carbon_from(blind).sd


def test_slag_without_its_share_is_refused() -> None:
    with pytest.raises(ValueError, match=r"this iron holds slag, .* weigh a clean steel coupon of the same thickness"):
        coupon.carbon_from(coupon.Weighed(1.0, 1.006, 0.0003, 1e-4, feo=0.016))


def test_masses_must_be_masses() -> None:
    with pytest.raises(ValueError, match=r"weighing: 0.0 kg before, 1.0 kg after; both must be above 0"):
        coupon.carbon_from(coupon.Weighed(0.0, 1.0, 0.0, 1e-4))


def test_no_slag_teaches_nothing() -> None:
    with pytest.raises(ValueError, match="holds no FeO"):
        coupon.share_reduced(coupon.Weighed(1.0, 1.006, 0.0003, 1e-4), 0.008, 1e-4)


def test_a_foil_ends_at_the_potential() -> None:
    tau = coupon.foil_time(2.5e-4, 2e-7)
    assert coupon.foil_step(0.001, 0.012, tau, 100 * float(tau)) == pytest.approx(0.012)
    halves = coupon.foil_step(coupon.foil_step(0.001, 0.012, tau, 300.0), 0.012, tau, 300.0)
    assert halves == pytest.approx(float(coupon.foil_step(0.001, 0.012, tau, 600.0)))


@given(shares, shares, st.floats(1e-5, 1e-3), st.floats(0.0, 1e6))
def test_a_foil_stays_between_start_and_potential(start: float, potential: float, h: float, dt: float) -> None:
    c = coupon.foil_step(start, potential, coupon.foil_time(h, 1e-7), dt)
    assert min(start, potential) - 1e-15 <= c <= max(start, potential) + 1e-15
