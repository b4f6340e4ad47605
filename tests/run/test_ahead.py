"""What the carbon will be after the cool-down: the same fold, a little coarser; and when to look again."""

from __future__ import annotations

import pytest
from loops import OVEN, H, plan, task

from soak.job.target import Target
from soak.process.advance import advance, settle
from soak.process.outcome import reached
from soak.process.state import State, cold
from soak.run import ahead
from soak.run.clock import JumpClock
from soak.run.ideal import IdealOven, cooled
from soak.run.loop import run
from soak.run.task import View
from soak.trace import Reading


def _held(hours: float) -> State:
    """Member 0 after so long in the hold."""
    of, kept = task(0.02, plan(greatest_h=hours)), []
    run(of, IdealOven(OVEN), JumpClock(), None, cold(of.charge), see=lambda v: kept.append(v))
    last: View = [v for v in kept if v.index == 1][-1]
    return last.state


@pytest.mark.parametrize(("hours", "within"), [(0.2, 0.01), (2.0, 0.002)])
def test_the_look_is_what_the_fold_then_gives(hours: float, within: float) -> None:
    """Against the fold's own steps through the same power-off: 0.15 % too much carbon after 2 h of hold (its steps are
    coarser), 0.6 % just after the ramp, when the charge is still warming and the look decides nothing yet.
    """
    of, state = task(), _held(hours)
    seen = ahead.after_cooling(of.charge, state, OVEN.cooling, of.target)
    time_s, oven_c = state.window.last_s, state.window.last_k - 273.15  # type: ignore[union-attr]
    for _ in range(24 * 60):
        time_s += 60.0
        oven_c = cooled(OVEN.cooling, oven_c, 60.0)
        state, _ = advance(of.charge, state, Reading(time_s, oven_c))
    state, _ = settle(of.charge, state)
    assert seen == pytest.approx(float(reached(of.charge, state, of.target)[0].min()), rel=within)
    assert seen > 0.0


def test_looking_changes_nothing() -> None:
    of, state = task(), _held(0.5)
    before = state.carbon.copy()
    first = ahead.after_cooling(of.charge, state, OVEN.cooling, of.target)
    assert (state.carbon == before).all()
    assert ahead.after_cooling(of.charge, state, OVEN.cooling, of.target) == first


def test_before_any_reading() -> None:
    of = task()
    assert ahead.after_cooling(of.charge, cold(of.charge), OVEN.cooling, of.target) == pytest.approx(0.0008)


def test_when_to_look_again() -> None:
    """First after 5 min; then nine tenths of the way to where a straight line arrives; a minute to two hours."""
    of, state = task(0.02), _held(1.0)
    far = Target(0.02)
    first = ahead.look(of.charge, state, OVEN.cooling, far, 7200.0, None)
    assert (first.next_s, first.enough_s) == (7500.0, None)
    now = first.carbon

    def again(gain: float, target: float) -> ahead.Look:
        last = ahead.Look(7200.0 - 600.0, now - gain * 600.0, 0.0)
        return ahead.look(of.charge, state, OVEN.cooling, Target(target), 7200.0, last)

    rate = 1e-7  # 0.036 % an hour
    near = again(rate, now + rate * 1000.0)
    assert near.next_s == pytest.approx(7200.0 + 900.0)
    assert near.enough_s == pytest.approx(7200.0 + 1000.0)
    assert again(rate, 0.02).next_s == 7200.0 + 2 * H
    assert again(rate, now).next_s == 7200.0 + 60.0
    assert again(-rate, 0.02).next_s == 7200.0 + 300.0  # no gain: no straight line
    assert again(rate, now - 1e-4).enough_s == 7200.0  # enough already
