"""The fold: what it keeps, what it bounds, and that it does not care how the readings came."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import numpy as np
import pytest
from charges import PACK, PURE, at, bar, charge, fold, held, job, line, sealed, strip, times
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from soak.job.pack import Pack, Surface
from soak.physics.activity import acm
from soak.physics.spall import mean_loss
from soak.process.advance import GRID_S, advance, settle
from soak.process.charge import Charge
from soak.process.outcome import mean, wall_of
from soak.process.state import ARRAYS, ZERO_C, State, cold
from soak.trace import Reading

Array = NDArray[np.float64]
quick = settings(deadline=None, max_examples=7)

UP_AND_DOWN = line([(0, 20), (2, 980), (4, 980), (5, 640)])


def _same(a: State, b: State, rel: float) -> None:
    for name in ARRAYS:
        x, y = (np.asarray(getattr(s, name), dtype=float) for s in (a, b))
        scale = float(np.abs(x).max(initial=0.0)) or 1.0
        assert np.abs(x - y).max(initial=0.0) <= rel * scale, name


def _bitwise(a: State, b: State) -> bool:
    whole = all(np.array_equal(getattr(a, name), getattr(b, name)) for name in ARRAYS)
    return whole and (a.time_s, a.window, a.told) == (b.time_s, b.window, b.told)


def _mixed(members: int = 1, **override: object) -> Charge:
    """Strips, bars and narrow strips (whole sections), wall and core: six pieces."""
    return charge(job([strip(4, 4), bar(8, 2), strip(3, 2, width_mm=9)]), members, "oven", **override)


def _carbon_m(made: Charge, state: State) -> Array:
    """Carbon in each piece per unit of its surface, shape (member, piece) [m]."""
    return mean(made, state) * made.volume_m


# --- balance


def test_carbon_balance_of_every_member_and_piece() -> None:
    """Through ramp, hold and cooling: what came in over the surface is what the pieces gained, 1e-12 relative."""
    made = _mixed(members=4)
    state, _ = fold(made, UP_AND_DOWN)
    gained = _carbon_m(made, state) - made.volume_m * made.start
    assert (state.carbon_in > 1e-7).all()
    assert (len(made.flat), len(made.bars), state.carbon_in.shape) == (4, 2, (4, 6))
    assert np.abs(gained / state.carbon_in - 1.0).max() < 1e-12


@pytest.mark.parametrize(
    "surface", [Surface("carbon", 0.012), Surface("activity", 0.9), Surface("potential", 0.012, 1.3e-7)], ids=str
)
def test_carbon_balance_with_a_stated_surface(surface: Surface) -> None:
    made = charge(job([strip(4, 2), bar(8, 2)], pack=Pack("x", "x", surface=surface)))
    state, _ = fold(made, UP_AND_DOWN)
    gained = _carbon_m(made, state) - made.volume_m * made.start
    assert np.abs(gained / state.carbon_in - 1.0).max() < 1e-11


def test_mass_gained_is_the_mean_carbon_gained() -> None:
    # P-10: a kilogram of strip gains its mean rise in grams; surface over volume of a strip is 1/half
    made = charge(job([strip(3, 1, PURE)]))
    state, _ = fold(made, held(1000, 3))
    gain_per_kg = float(state.carbon_in[0, 0]) / made.pieces[0].half_m
    assert gain_per_kg == pytest.approx(float(mean(made, state)[0, 0]), rel=1e-6)


# --- bounds


@quick
@given(
    st.floats(850, 1100), st.floats(0.3, 3.0), st.floats(0.0, 0.009), st.sampled_from([2, 4, 8]), st.floats(650, 850)
)
def test_never_negative_never_above_saturation_and_none_leaves(
    celsius: float, hours: float, start: float, mm: int, low_c: float
) -> None:
    """Heat, then cool: never above cementite at the hottest (or the start), and no carbon leaves."""
    made = charge(job([strip(mm, 1, PURE, 6 * mm)]), start=start)
    trace = line([(0, celsius), (hours, celsius), (hours + 2, low_c)])
    top = max(float(acm(celsius + ZERO_C)), start)
    state, before = cold(made), 0.0
    for reading in trace:
        state, _ = advance(made, state, reading)
        assert float(state.carbon.min()) >= -1e-12
        assert float(state.carbon.max()) <= top + 1e-9
        inside = float(_carbon_m(made, state)[0, 0])
        assert inside >= before * (1 - 1e-12)
        before = inside


def test_what_stands_as_carbide_stays_on_cooling() -> None:
    made = charge(job([strip(3, 1, PURE)], pack=Pack("x", "x")), start=0.016)
    trace = line([(0, 1060), (0.5, 1060), (4, 730)])
    state, _ = fold(made, trace)
    assert float(mean(made, state)[0, 0]) >= 0.016
    assert float(acm(730 + ZERO_C)) < 0.008  # far more than austenite holds down there


def test_below_a1_nothing_happens() -> None:
    made = charge(job([strip(3, 1)]))
    state, _ = fold(made, held(720, 5))
    assert np.array_equal(state.carbon, cold(made).carbon)
    assert float(state.carbon_in[0, 0]) == 0.0


# --- monotone


def _mean_of(made: Charge, readings: list[Reading]) -> float:
    return float(mean(made, fold(made, readings)[0])[0, 0])


@quick
@given(st.floats(860, 1080), st.floats(5, 20), st.floats(0.5, 3.0))
def test_hotter_or_longer_is_more(celsius: float, more_c: float, hours: float) -> None:
    made = charge(job([strip(4, 1)]))
    base = _mean_of(made, held(celsius, hours))
    assert _mean_of(made, held(celsius + more_c, hours)) > base
    assert _mean_of(made, held(celsius, hours + 0.25)) > base


@quick
@given(st.sampled_from(["carbon", "activity", "potential"]), st.floats(0.3, 0.9), st.floats(1.02, 1.1))
def test_a_higher_potential_is_more(kind: str, value: float, more: float) -> None:
    size = value if kind == "activity" else value / 60
    beta = 1.3e-7 if kind == "potential" else None
    low, high = (
        charge(job([strip(4, 1, PURE)], pack=Pack("x", "x", surface=Surface(kind, size * f, beta))))  # type: ignore[arg-type]
        for f in (1.0, more)
    )
    assert _mean_of(high, held(980, 1)) > _mean_of(low, held(980, 1)) > 0.0


@pytest.mark.parametrize(
    ("name", "sign"), [("pack_conductance", 1), ("diffusivity", 1), ("ln_activity", -1), ("offset_k", 1)]
)
def test_each_doubt_pushes_the_way_it_should(name: str, sign: int) -> None:
    made = charge(measured="oven")
    change = {"pack_conductance": 1.5, "diffusivity": 1.1, "ln_activity": 0.1, "offset_k": 10.0}[name]
    value = getattr(made, name)
    moved = dataclasses.replace(made, **{name: value * change if value[0] else value + change})
    trace = line([(0, 20), (2, 980), (4, 980)])
    assert sign * (_mean_of(moved, trace) - _mean_of(made, trace)) > 1e-5


# --- how the readings came


def _wave(every_s: float, hours: float = 4.0) -> list[Reading]:
    """A ramp, a hold with a ripple of 3 K in 25 min, a fall: no straight line anywhere on the grid's points."""
    out = []
    for t in times(hours * 3600.0, every_s):
        up = min(980.0, 300.0 + 0.1 * t)
        down = max(0.0, t - 3 * 3600.0) * 0.06
        out.append(at(t, up - down + 3.0 * np.sin(t / 239.0)))
    return out


def test_polls_of_one_five_and_sixty_seconds_agree() -> None:
    """Within 0.05 % of the mean carbon, oven-measured, the whole chain of heat, gas and carbon."""
    made = charge(job([strip(4, 2)]), measured="oven")
    one, five, sixty = (mean(made, fold(made, _wave(every))[0]) for every in (1.0, 5.0, 60.0))
    assert five == pytest.approx(one, rel=5e-4)
    assert sixty == pytest.approx(one, rel=5e-4)


@quick
@given(st.lists(st.floats(0.01, 0.99), min_size=1, max_size=6), st.integers(0, 10**6))
def test_readings_put_between_change_nothing(shares: list[float], seed: int) -> None:
    """Between two readings the temperature is a straight line: saying so aloud gives the same state."""
    made = charge(measured="oven")
    rng = np.random.default_rng(seed)
    bare = [at(t, 900.0 + float(rng.uniform(-40, 40))) for t in np.cumsum(rng.uniform(20, 900, 12))]
    filled = [bare[0]]
    for a, b in pairwise(bare):
        for share in sorted(set(shares)):
            filled.append(at(a.time_s + share * (b.time_s - a.time_s), a.oven_c + share * (b.oven_c - a.oven_c)))  # type: ignore[operator]
        filled.append(b)
    _same(fold(made, bare)[0], fold(made, filled)[0], 1e-8)


def test_record_and_replay_exactly() -> None:
    made = _mixed(members=2)
    first, _ = fold(made, _wave(5.0, 1.5))
    again, _ = fold(made, [dataclasses.replace(r) for r in _wave(5.0, 1.5)])
    assert _bitwise(first, again)


def test_a_fold_may_stop_and_go_on_anywhere() -> None:
    """Resume: the state after half the readings takes the other half, bit for bit."""
    made = charge(members=2, measured="oven")
    readings = _wave(30.0, 2.0)
    whole = cold(made)
    for r in readings:
        whole, _ = advance(made, whole, r)
    for cut in (1, 57, 120, len(readings) - 1):
        state = cold(made)
        for r in readings[:cut]:
            state, _ = advance(made, state, r)
        state = dataclasses.replace(state)
        for r in readings[cut:]:
            state, _ = advance(made, state, r)
        assert _bitwise(state, whole)


def test_advance_leaves_the_old_state_alone() -> None:
    made = charge(measured="oven")
    state, _ = fold(made, line([(0, 20), (1, 900)]))
    kept = {name: getattr(state, name).copy() for name in ARRAYS}
    fold(made, line([(1.01, 900), (2, 950)]), state)
    assert all(np.array_equal(kept[name], getattr(state, name)) for name in ARRAYS)


# --- readings that tell nothing


def test_no_reading_is_not_a_guess() -> None:
    """None between two readings: the straight line goes on, as if nobody had looked."""
    made = charge(measured="oven")
    trace = line([(0, 20), (2, 980), (3, 980)])
    full = trace[:60] + trace[90:]
    holes = trace[:60] + [Reading(r.time_s, None, sensor_open=True) for r in trace[60:90]] + trace[90:]
    assert _bitwise(fold(made, full)[0], fold(made, holes)[0])


def test_which_temperature_is_followed() -> None:
    by_oven, by_iron = charge(measured="oven"), charge(measured="charge")
    state, _ = fold(by_iron, [Reading(t, 20.0, charge_c=950.0) for t in times(3600, 60)])
    assert float(state.piece_k[0, 0]) == pytest.approx(950 + ZERO_C)
    state, _ = fold(by_oven, [Reading(t, 950.0, charge_c=20.0) for t in times(3600, 60)])
    assert float(state.nodes[0, 0]) > 900.0
    state, _ = fold(by_iron, [Reading(t, 950.0) for t in times(3600, 60)])  # nothing measured the iron
    assert state.window is None


def test_time_that_runs_backwards_is_ignored() -> None:
    made = charge(measured="oven")
    state, _ = fold(made, line([(0, 20), (1, 900)]))
    for back in (state.window.last_s, 10.0, -5.0):  # type: ignore[union-attr]
        after, events = advance(made, state, at(back, 1100.0))
        assert after is state
        assert events == ()


def test_a_gap_is_bridged_by_a_straight_line() -> None:
    """Two hours without a reading, then the next: the same as a reading a minute on the line between."""
    made = charge(measured="oven")
    start = line([(0, 20), (2, 900)])
    gap = fold(made, [*start, at(4 * 3600.0, 980.0)])[0]
    told = fold(made, [*start, *_between(2 * 3600.0, 900.0, 4 * 3600.0, 980.0)])[0]
    _same(gap, told, 1e-9)
    assert gap.time_s == 4 * 3600.0


def _between(t0: float, c0: float, t1: float, c1: float) -> list[Reading]:
    return [at(float(t), c0 + (c1 - c0) * (t - t0) / (t1 - t0)) for t in np.arange(t0 + 60.0, t1 + 1.0, 60.0)]


# --- the grid


def test_steps_are_on_the_grid_and_grow_only_while_the_oven_holds_still() -> None:
    made = charge(measured="oven")
    state, seen = cold(made), []
    for reading in line([(0, 20), (0.5, 900), (2, 900)], every_s=7.0):
        before = state.time_s
        state, _ = advance(made, state, reading)
        if state.time_s > before:
            seen.append((before, state.time_s))
    lengths = {round(b - a, 6) for a, b in seen if a >= 4500.0}
    assert all(b % GRID_S == 0.0 for _, b in seen)
    assert {round(b - a, 6) for a, b in seen if b <= 1740.0} == {GRID_S}  # climbing
    assert lengths == {300.0}  # steady


def test_the_end_of_a_trace_is_settled_once() -> None:
    made = charge(measured="oven")
    state, _ = advance(made, cold(made), at(0.0, 950.0))
    assert settle(made, state) == (state, ())  # nothing gathered yet
    state, _ = advance(made, state, at(30.0, 950.0))
    settled, _ = settle(made, state)
    assert (state.time_s, settled.time_s) == (0.0, 30.0)
    assert settle(made, settled)[0] is settled


def test_before_any_reading_there_is_nothing_to_settle() -> None:
    made = charge()
    state = cold(made)
    assert settle(made, state)[0] is state


# --- laws called outside their range


def test_hotter_than_the_laws_were_checked_is_said_once() -> None:
    made = charge(measured="charge")
    _, events = fold(made, held(1160, 1))
    texts = [e.text for e in events if e.code == "out-of-range"]
    assert texts == [
        "carbon activity and diffusivity: used at 1160 degC, checked from -273 to 1150 degC",
        "pack conductance: used at 1160 degC, checked from -273 to 1100 degC",
        "pack conductivity: used at 1160 degC, checked from -273 to 1120 degC",
    ]
    assert {e.severity for e in events} == {"warning"}
    _, events = fold(made, held(1099, 1))
    assert events == []


# --- gas and wall


def test_a_sealed_charge_keeps_its_co() -> None:
    made = sealed(charge(measured="oven"))
    state, _ = fold(made, line([(0, 20), (2, 980)]))
    assert float(state.co[0]) == pytest.approx(0.35, abs=1e-12)


def test_the_energizers_gas_comes_and_goes() -> None:
    """Decision 1: CO rises toward 1 while gas is made, then nitrogen comes back through vent and lute, toward 0.35."""
    made = charge(job([strip(4, 2)], pack=dataclasses.replace(PACK, energizer={"CaCO3": 0.10})), measured="oven")
    state, co = cold(made), []
    for reading in line([(0, 20), (2.5, 1000), (30, 1000)]):
        state, _ = advance(made, state, reading)
        co.append(float(state.co[0]))
    assert co[0] == 0.35
    assert max(co) > 0.98
    assert 0.35 <= co[-1] < 0.36
    top = int(np.argmax(co))
    assert all(a >= b - 1e-12 for a, b in pairwise(co[top:]))


def test_what_is_spent_is_spent() -> None:
    made = charge(measured="oven")
    hot, _ = fold(made, line([(0, 20), (2, 980), (3, 980)]))
    cool, _ = fold(made, line([(3.01, 980), (9, 100)]), hot)
    assert float(hot.lime[0]) > 0.99
    assert np.array_equal(hot.lime, cool.lime)
    assert (cool.peak >= hot.peak).all()
    lost = [float(mean_loss(wall_of(state))[0]) for state in (cold(made), hot, cool)]
    assert lost[0] == 0.0
    assert lost[2] > lost[1] > 0.0
