"""The coolest hold that serves, on the loop itself; and every way a plan is refused."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest
from plans import QUICK, at, default, refusal, small

from soak.job.canister import Vent
from soak.job.history import History
from soak.job.packing import Packing
from soak.job.stock import Iron
from soak.job.target import Limits, Target
from soak.plan import ceiling
from soak.plan.choose import ROOM, choose, spreads
from soak.process.outcome import breach_chance, mean, reached
from soak.process.state import cold
from soak.run.clock import JumpClock
from soak.run.guards import Thresholds
from soak.run.ideal import IdealOven
from soak.run.loop import Task, run

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import PACK, PIPE, PURE, bar, job, strip

# --- the default plan (decision 4)


def test_the_coolest_in_steps_of_ten_that_fits_the_time() -> None:
    p = default()
    assert p.chosen.met
    assert p.chosen.heat_on_h <= 5.5 * (1 - ROOM)  # a little is left, that a real oven's lag does not end the hold
    assert p.chosen.hold_c % 10 == 0
    cooler = next(t for t in p.trials if t.hold_c == p.chosen.hold_c - 10.0)
    assert cooler.met
    assert cooler.heat_on_h > 5.5 * (1 - ROOM)  # ten degrees cooler does not serve


def test_cooler_if_asked_takes_too_long() -> None:
    """Whoever asks may use all the time there is; 20 degC cooler it no longer does, whatever room is left."""
    hold_c = default().chosen.hold_c
    error = refusal(small(), at_c=hold_c - 20.0)
    assert error.code == "not-reachable"
    assert f"h of heat even at {hold_c - 20:.0f} degC; heat_on_max is 5.5 h" in error.text
    assert at(hold_c).chosen.heat_on_h <= 5.5
    assert at(hold_c).chosen == default().chosen  # the same loop, the same answer


def test_the_plan_is_what_the_ideal_run_took() -> None:
    p = default()
    kinds = [(s.kind, s.ends_on) for s in p.plan.segments]
    assert kinds == [("ramp", "temperature"), ("hold", "carbon"), ("cool", "temperature")]
    assert [s.hours for s in p.plan.segments] == [d.hours for d in p.outcome.done]
    assert p.plan.segments[1].to_c == p.chosen.hold_c
    assert p.plan.heat_on_h == pytest.approx(p.chosen.heat_on_h, abs=0.05)
    assert p.plan.limit_c == p.chosen.hold_c  # its own hottest point is the ceiling of every setpoint
    assert p.plan.segments[1].greatest_h == pytest.approx(5.5 - p.plan.segments[0].hours, abs=0.05)


def test_the_slowest_piece_gets_there() -> None:
    p = default()
    got = reached(p.charge, p.outcome.state, p.job.target)[0]
    assert got.min() == pytest.approx(0.005, rel=0.005)
    assert p.outcome.target_met


def test_plan_and_the_same_loop_on_five_second_ticks_agree() -> None:
    """Three periods, not one: 60 s and 5 s give the same mean carbon within 0.1 %."""
    p = at(default().chosen.hold_c)
    task = Task(p.charge, p.plan, p.job.target, QUICK.cooling, Thresholds(over_c=1200.0), tick_s=5.0)
    fine = run(task, IdealOven(QUICK), JumpClock(), None, cold(p.charge))
    a, b = mean(p.charge, p.outcome.state), mean(p.charge, fine.state)
    assert np.abs(b / a - 1.0).max() < 1e-3


def test_more_time_is_cooler() -> None:
    assert choose(small(hours=9.0), members=1).chosen.hold_c < default().chosen.hold_c


# --- decisions 3, 4, 5, 6


def test_alkali_is_kept_to_a_thousand() -> None:
    """Decision 4: more than 5 % alkali carbonate, 1000 degC at most, unless asked for."""
    strong = dataclasses.replace(PACK, energizer={"Na2CO3": 0.03, "K2CO3": 0.03})
    top = ceiling.usual(small(pack=strong))
    assert (top.hold_c, top.whose) == (1000.0, "alkali vapour from more than 5 % soda or potash (--at goes hotter)")
    assert ceiling.hard(small(pack=strong)).hold_c == 1100.0
    weak = dataclasses.replace(PACK, energizer={"Na2CO3": 0.05})
    assert ceiling.usual(small(pack=weak)).hold_c == 1100.0
    error = refusal(small(hours=4.0, pack=strong))
    assert "at 1000 degC" in error.text
    assert "no hotter because of alkali vapour from more than 5 % soda or potash (--at goes hotter)" in error.hint
    asked = choose(small(hours=4.0, pack=strong), at_c=1050.0, members=1)
    assert (asked.chosen.hold_c, asked.plan.limit_c, asked.asked) == (1050.0, 1050.0, True)


def test_a_drying_hold_opens_the_plan_unless_the_lute_is_dry() -> None:
    """Decision 6: one hour at 120 degC; done when the core is below 60 degC."""
    damp = choose(small(hours=7.0, canister=dataclasses.replace(PIPE, lute_dry=False)), at_c=1000.0, members=1)
    assert [(s.kind, s.to_c, s.ends_on) for s in damp.plan.segments] == [
        ("ramp", 120.0, "temperature"),
        ("hold", 120.0, "time"),
        ("ramp", 1000.0, "temperature"),
        ("hold", 1000.0, "carbon"),
        ("cool", 60.0, "temperature"),
    ]
    assert damp.plan.segments[1].hours == pytest.approx(1.0, abs=1e-6)
    assert len(default().plan.segments) == 3


def test_breach_is_refused_above_a_tenth_unless_a_reason_is_given() -> None:
    """Decision 3."""
    thin = dataclasses.replace(PIPE, wall_m=0.0006)
    error = refusal(small(canister=thin), at_c=1000.0)
    assert error.code == "breach"
    assert error.text.startswith("the canister pipe would breach in ")
    assert "of 100 such soaks: " in error.text
    assert "mm of wall left at its thinnest spot (" in error.text
    assert error.hint == 'use a thicker canister, or give a reason: --override "..."'
    assert error.nearest is not None
    assert error.nearest["breach_chance"] > 0.10
    assert error.nearest["hold_c"] == 1000.0
    accepted = choose(small(canister=thin), at_c=1000.0, override="a last soak, bedded in sand", members=2)
    assert accepted.overridden == "a last soak, bedded in sand"
    assert breach_chance(accepted.charge, accepted.outcome.state) > 0.10


def test_earlier_soaks_count_against_the_wall() -> None:
    worn = History(wall_lost_m=0.0015)
    error = refusal(small(), at_c=1000.0, history=worn)
    assert error.code == "breach"
    assert error.text.startswith("the canister pipe would breach in 50 of 100 such soaks: ")
    assert breach_chance(default().charge, default().outcome.state) == 0.0  # the same canister new


def test_a_canister_that_goes_through_before_the_carbon_is_in() -> None:
    """Air enters and no more carbon comes: not a matter of more time, and no reason given makes it one."""
    error = refusal(small(), at_c=1000.0, history=History(wall_lost_m=0.0018), override="the last soak")
    assert error.code == "breach"
    assert error.text.startswith("the canister pipe goes through after ")
    assert error.text.endswith(" h at 1000 degC, before 0.50 % C (mean) is in")
    assert error.hint.startswith("use a thicker canister, or ask for less: 5.5 h of heat at 1000 degC give 0.")


def test_doubts_of_this_oven_and_this_canister() -> None:
    """Decision 5: the oven's own sigma; alloys scale with a wider doubt."""
    assert spreads(small()) == {"temperature_offset_k": 12.0}
    better = dataclasses.replace(QUICK, sensor_sigma_c=5.0)
    alloy = dataclasses.replace(PIPE, material="310")
    wide = spreads(small(oven=better, canister=alloy))
    assert wide["temperature_offset_k"] == 5.0
    assert wide["scaling_rate"] == pytest.approx(1.0817, abs=1e-3)  # ln 4 at the 10 % and 90 % points


# --- refusals before anything is tried


def test_more_than_saturation() -> None:
    error = refusal(small(carbon=0.019))
    assert (error.code, error.exit_code) == ("above-saturation", 4)
    assert error.text == "1.90 % C is above saturation: mild holds at most 1.84 % at 1100 degC (the oven bench)"
    assert error.hint == "ask for less carbon"
    assert error.nearest == {"carbon_pct": 1.65}  # nine tenths of it


def test_less_than_the_iron_has() -> None:
    error = refusal(job([strip(3, 2, Iron("old", "old", {"C": 0.007}))], target=Target(0.005), oven=QUICK))
    assert error.code == "already-there"
    assert error.text == "old already holds 0.70 % C, more than the target"
    assert error.hint == "ask for more carbon, or leave this iron out"


def test_does_not_fit_and_how_many_would() -> None:
    error = refusal(job([strip(3, 60)], target=Target(0.005), oven=QUICK))
    assert error.code == "does-not-fit"
    assert error.nearest is not None
    n = error.nearest["count_that_fits"]
    assert 0 < n < 60
    assert f"{n} of 60 strips fit" in error.text
    assert error.hint == f"{n} would fit: lay fewer, or narrow gap and cover"
    assert choose(job([strip(3, n)], target=Target(0.003), oven=QUICK), at_c=1000.0, members=1).fit.fits


def test_the_canister_must_go_into_the_oven() -> None:
    error = refusal(small(oven=dataclasses.replace(QUICK, chamber_m=(0.07, 0.3, 0.3))))
    assert error.code == "canister-too-big"
    assert error.text == ("the canister (80 x 80 x 200 mm) does not go into the chamber of bench (70 x 300 x 300 mm)")
    assert error.hint == "use a smaller canister or another oven"


def test_no_vent() -> None:
    error = refusal(small(canister=dataclasses.replace(PIPE, vent=Vent("none"))))
    assert error.code == "no-vent"
    assert error.text == "the canister pipe declares no vent: gas made in the heat would burst it"
    assert error.hint.startswith("give it a hole or a tube of 3 to 6 mm")


@pytest.mark.parametrize(
    ("change", "at_c", "top", "whose"),
    [
        ({}, 1101.0, 1100, "the oven bench"),
        ({"canister": dataclasses.replace(PIPE, temperature_max_c=1040.0)}, 1050.0, 1040, "the canister pipe"),
        ({"limits": Limits(1020.0, 5.5)}, 1050.0, 1020, "the job's temperature_max"),
        (
            {
                "canister": dataclasses.replace(PIPE, material="304"),
                "oven": dataclasses.replace(QUICK, temperature_max_c=1300.0),
            },
            1200.0,
            1150,
            "the canister's 304 (no test of its scaling this hot)",
        ),
        (
            {"oven": dataclasses.replace(QUICK, temperature_max_c=1300.0)},
            1140.0,
            1130,
            "the canister's steel (carburized steel begins to melt at 1147 degC)",
        ),
    ],
)
def test_hotter_than_oven_canister_or_job_allow(change: dict[str, object], at_c: float, top: int, whose: str) -> None:
    error = refusal(small(**change), at_c=at_c)
    assert error.code == "hold-out-of-range"
    assert error.text == f"a hold at {at_c:.0f} degC is outside 850 to {top} degC ({whose})"
    assert error.hint == f"ask for 850 to {top} degC"


def test_cooler_than_carburizing_goes() -> None:
    error = refusal(small(), at_c=840.0)
    assert error.text == "a hold at 840 degC is outside 850 to 1100 degC (the oven bench)"


def test_the_hint_for_too_cool_a_hold_points_up() -> None:
    assert refusal(small(), at_c=840.0).hint == "ask for 850 to 1100 degC"


def test_an_oven_that_is_too_cool() -> None:
    error = refusal(small(oven=dataclasses.replace(QUICK, temperature_max_c=800.0)))
    assert error.code == "too-cool"
    assert error.text == "the oven bench allows 800 degC; carburizing needs 850 degC or more"
    assert error.hint == "use another oven or canister, or raise temperature_max"


# --- refusals after a trial


def test_not_within_the_time_and_what_it_would_need() -> None:
    error = refusal(small(hours=3.4))
    assert error.code == "not-reachable"
    assert error.text.startswith("0.50 % C (mean) needs 3.")
    assert error.text.endswith("h of heat even at 1100 degC; heat_on_max is 3.4 h")
    assert "use thinner stock, or ask for less: 3.4 h of heat at 1100 degC give 0." in error.hint
    assert error.hint.endswith("no hotter because of the oven bench")
    assert error.nearest is not None
    assert error.nearest["hold_c"] == 1100.0
    assert error.nearest["heat_on_h"] == pytest.approx(3.4, abs=0.05)
    # the nearest is no empty promise: asking for a little less than it works
    nearest = error.nearest["carbon_pct"] / 100
    assert choose(small(carbon=0.97 * nearest, hours=3.4), at_c=1100.0, members=1).chosen.heat_on_h <= 3.4


def test_not_even_in_a_day() -> None:
    """A bar too thick: the centre is not reached in the longest hold that is followed."""
    thick = job(
        [bar(24, 1, PURE)],
        target=Target(0.009, "centre"),
        oven=dataclasses.replace(QUICK, temperature_max_c=950.0),
        packing=Packing(0.01, 0.01),
    )
    error = refusal(thick)
    assert error.code == "not-reachable"
    assert error.text == "0.90 % C (centre) is not reached in a hold of 24 h at 950 degC"
    assert error.hint.startswith("use thinner stock or ask for less: 12 h of heat at 950 degC give 0.")


# --- ceilings


def test_candidates_end_at_the_ceiling() -> None:
    assert ceiling.candidates(ceiling.Ceiling(875.0, "x")) == (850.0, 860.0, 870.0, 875.0)
    assert ceiling.candidates(ceiling.Ceiling(870.0, "x")) == (850.0, 860.0, 870.0)
    assert ceiling.candidates(ceiling.Ceiling(850.0, "x")) == (850.0,)
